"""Visible text passes one door."""

from collections.abc import Iterator

import pytest
from PySide6.QtCore import QCoreApplication, QTranslator
from PySide6.QtWidgets import QApplication

from washmon.gui.i18n import tr


class Spanish(QTranslator):
    """Knows one sentence, with its value in another place."""

    def translate(
        self, context: str, source_text: str, disambiguation: str | None = None, n: int = -1
    ) -> str:
        del disambiguation, n
        known = {"Saved: tank {tank}, {level}": "Guardado: {level} en el tanque {tank}"}
        return known.get(source_text, "") if context == "washmon" else ""

    def isEmpty(self) -> bool:  # noqa: N802 (Qt's name)
        return False


@pytest.fixture
def spanish(themed_app: QApplication) -> Iterator[None]:
    translator = Spanish(themed_app)
    QCoreApplication.installTranslator(translator)
    yield
    QCoreApplication.removeTranslator(translator)


def test_values_are_put_into_the_words() -> None:
    assert tr("Saved: tank {tank}, {level}", tank=1, level="48 ppm") == "Saved: tank 1, 48 ppm"


def test_braces_stay_where_no_values_are_given() -> None:
    assert tr("100 % {sic}") == "100 % {sic}"


@pytest.mark.usefixtures("spanish")
def test_a_translation_may_move_the_values() -> None:
    shown = tr("Saved: tank {tank}, {level}", tank=1, level="48 ppm")
    assert shown == "Guardado: 48 ppm en el tanque 1"
