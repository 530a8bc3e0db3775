"""Guides that are opened again and again: hidden after each test, deleted after each module."""

from collections.abc import Iterator

import pytest
from PySide6.QtWidgets import QApplication

from tests.gui.setup_guide import guides


@pytest.fixture(scope="module", autouse=True)
def guides_are_deleted(qapp: QApplication) -> Iterator[None]:
    """Delete them before the application goes, and before others wait for them at a new theme."""
    del qapp
    yield
    guides.delete_all()


@pytest.fixture(autouse=True)
def guides_are_hidden() -> Iterator[None]:
    yield
    guides.put_away()
