"""Contrast, and that colours live in one file."""

import re
from pathlib import Path

import pytest
from PySide6.QtGui import QFontMetricsF
from PySide6.QtWidgets import QApplication, QListWidget, QWidget
from pytestqt.qtbot import QtBot

import washmon.gui
from washmon import data
from washmon.gui.kit import theme
from washmon.gui.kit.boxes import keep_width
from washmon.gui.kit.text import ShortText, Text, Tone
from washmon.gui.kit.theme import HIGH_CONTRAST, THEMES, Size, Theme

TEXT_PAIRS = (
    *((ink, ground) for ink in ("ink", "soft_ink") for ground in ("paper", "card", "hand_soft")),
    *(
        (ink, ground)
        for ink in ("watch_ink", "act_ink", "stop_ink", "hand")
        for ground in ("paper", "card")
    ),
    ("hand", "hand_soft"),
    ("on_hand", "hand"),
    ("on_hand", "hand_held"),
    ("on_watch", "watch"),
    ("on_act", "act"),
    ("on_stop", "stop"),
    ("ink", "field"),
    ("soft_ink", "field"),
    ("critical", "field"),
    ("critical", "card"),
    ("target", "field"),
    ("soft_ink", "trough"),
    ("hint", "card"),
)
GRAPHIC_PAIRS = (
    ("border", "card"),
    ("border", "paper"),
    ("hand", "paper"),
    ("act", "card"),
    ("act", "paper"),
    ("stop", "card"),
    ("stop", "paper"),
    ("forecast", "card"),
    ("forecast", "field"),
    ("band_edge", "card"),
    ("band_edge", "trough"),
    ("target", "band"),
    ("critical", "trough"),
    ("quiet", "card"),
    ("ink", "watch"),  # the triangle's edge: its fill alone would be too pale on white
)


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.2 defines it (w3.org/TR/WCAG22/#dfn-relative-luminance)."""
    channels = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
    red, green, blue = (
        c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio (w3.org/TR/WCAG22/#dfn-contrast-ratio)."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_the_contrast_formula_agrees_with_the_ends_that_wcag_names() -> None:
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21)
    assert contrast("#777777", "#777777") == pytest.approx(1)


@pytest.mark.parametrize("shades", THEMES.values(), ids=THEMES)
@pytest.mark.parametrize(("ink", "ground"), TEXT_PAIRS)
def test_text_stands_out_from_its_ground(shades: Theme, ink: str, ground: str) -> None:
    """WCAG 2.2, 1.4.3 (AA, 4.5:1); the high-contrast theme holds 1.4.6 (AAA, 7:1)."""
    least = 7.0 if shades is HIGH_CONTRAST else 4.5
    assert contrast(getattr(shades, ink), getattr(shades, ground)) >= least


@pytest.mark.parametrize("shades", THEMES.values(), ids=THEMES)
@pytest.mark.parametrize(("shape", "ground"), GRAPHIC_PAIRS)
def test_shapes_stand_out_from_their_ground(shades: Theme, shape: str, ground: str) -> None:
    """WCAG 2.2, 1.4.11: 3:1 for what must be seen to understand."""
    if shades.name == "dark" and (shape, ground) == ("ink", "watch"):
        shape, ground = "watch", "card"  # on a dark ground it is the fill that stands out
    assert contrast(getattr(shades, shape), getattr(shades, ground)) >= 3


def test_no_widget_has_a_colour_of_its_own() -> None:
    literal = re.compile(r"#[0-9A-Fa-f]{6}\b|QColor\(\s*[\"'0-9]|Qt\.(?:red|blue|green|yellow)\b")
    package = Path(washmon.gui.__file__).parent
    found = [
        f"{path.name}: {hit.group()}"
        for path in package.rglob("*.py")
        if path.name != "theme.py"
        for hit in literal.finditer(path.read_text(encoding="utf-8"))
    ]
    assert found == []


def test_the_style_sheet_takes_its_colours_from_the_theme() -> None:
    sheet = data.resource("styles", "washmon.qss").read_text(encoding="utf-8")
    assert not re.search(r"#[0-9A-Fa-f]{6}\b", sheet)
    for shades in THEMES.values():
        filled = theme.style_sheet(shades)
        assert shades.hand in filled
        for icon in re.findall(r'url\("([^"]+)"\)', filled):
            assert Path(icon).is_file()


def test_the_theme_in_force_is_the_one_that_was_applied(themed_app: QApplication) -> None:
    for shades in THEMES.values():
        theme.apply(themed_app, shades)
        assert theme.current() is shades
        assert themed_app.palette().window().color().name().upper() == shades.paper


def test_the_bundled_type_is_loaded_and_its_digits_can_stand_still() -> None:
    moving = QFontMetricsF(theme.font(Size.HUGE))
    still = QFontMetricsF(theme.font(Size.HUGE, tabular=True))
    assert theme.font(Size.BODY).exactMatch()
    assert moving.horizontalAdvance("1") < moving.horizontalAdvance("0")
    assert len({still.horizontalAdvance(digit) for digit in "0123456789"}) == 1


def test_a_label_changes_its_colour_with_its_tone(qtbot: QtBot) -> None:
    label = Text("7.6")
    qtbot.addWidget(label)
    label.ensurePolished()
    calm = label.palette().windowText().color().name()
    label.set_tone(Tone.ACT)
    assert label.palette().windowText().color().name().upper() == theme.BRIGHT.act_ink
    assert calm.upper() == theme.BRIGHT.ink
    assert label.tone is Tone.ACT


def test_a_short_text_keeps_the_whole_in_its_tip(qtbot: QtBot) -> None:
    label = ShortText()
    qtbot.addWidget(label)
    label.setText("A very long name of a tank that nobody can fit")
    assert label.minimumSizeHint().width() < label.sizeHint().width()
    assert label.toolTip() == label.text()


def test_type_is_never_under_nine_points_and_grows_with_the_window(qapp: QApplication) -> None:
    assert min(Size) == 9
    assert theme.scale_for(910, 512) == theme.scale_for(1366, 768) == 1.0
    assert theme.scale_for(1920, 1080) == 1.375
    assert theme.scale_for(3840, 2160) == theme.scale_for(9999, 9999) == 2.5
    label = Text("48", Size.HUGE, bold=True)
    theme.grow(qapp, 2.0)
    assert label.font().pointSizeF() == 2 * Size.HUGE
    assert Text("7.1", Size.TINY).font().pointSizeF() == 2 * Size.TINY
    theme.grow(qapp, 1.375)
    theme.grow(qapp, 1.0)
    assert label.font().pointSizeF() == Size.HUGE
    label.deleteLater()


@pytest.mark.parametrize("first", [1.0, 2.0])
def test_another_theme_leaves_type_as_large_as_the_window_asks_for(
    themed_app: QApplication, qtbot: QtBot, first: float
) -> None:
    theme.grow(themed_app, first)
    label = Text("48", Size.HUGE, bold=True)
    qtbot.addWidget(label)
    label.show()
    theme.grow(themed_app, 1.375)
    theme.apply(themed_app, theme.DARK)
    assert label.font().pointSizeF() == 1.375 * Size.HUGE


def test_a_width_grows_with_type_also_deep_within_a_window(
    themed_app: QApplication, qtbot: QtBot
) -> None:
    window = QWidget()
    qtbot.addWidget(window)
    inner, most = QWidget(window), QWidget(window)
    listed = QListWidget(inner)
    keep_width(inner, 200)
    keep_width(most, 300, most=True)
    window.show()
    assert (inner.width(), most.maximumWidth()) == (200, 300)
    theme.grow(themed_app, 1.5)
    assert (inner.width(), most.maximumWidth()) == (300, 450)
    assert listed.font().pointSizeF() == 1.5 * Size.BODY
