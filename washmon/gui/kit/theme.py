"""The look in one place: colours by their meaning, type, and the style sheet made of them."""

from enum import IntEnum
from functools import cache
from math import floor
from string import Template

from msgspec import Struct
from msgspec.structs import asdict
from PySide6.QtCore import QCoreApplication, QEvent, Qt
from PySide6.QtGui import QColor, QFont, QFontDatabase, QPalette
from PySide6.QtWidgets import QApplication, QWidget

from washmon import data

FAMILY = "Atkinson Hyperlegible Next"
_PROPERTY = "washmonTheme"
_SCALE = "washmonScale"
_USUAL_PX = (1366, 768)
_STEPS, _LARGEST = 8, 2.5
"""Type grows by eighths of its usual size, to two and a half times."""


_STILL = "* { widget-animation-duration: 0; }\n"


class Size(IntEnum):
    """The few sizes of type, in points."""

    TINY = 9
    SMALL = 10
    BODY = 12
    LEAD = 13
    TITLE = 16
    LARGE = 20
    HUGE = 30


class Theme(Struct, frozen=True):
    """Colours by what they mean, as ``#rrggbb``; lengths in device-independent pixels.

    ``*_ink`` is the shade of a state that may be text on ``card`` and ``paper``; ``on_*`` is text
    upon a filled shape of that colour.
    """

    name: str
    paper: str
    card: str
    ink: str
    soft_ink: str
    hairline: str
    border: str  # edge of what can be typed into or pressed: 3:1
    hand: str
    hand_held: str
    hand_soft: str
    on_hand: str
    watch: str
    watch_ink: str
    on_watch: str
    act: str
    act_ink: str
    on_act: str
    stop: str
    stop_ink: str
    on_stop: str
    forecast: str
    trough: str
    band: str  # operating band on the scale
    band_edge: str
    field: str  # operating band behind a trend
    target: str
    critical: str
    quiet: str  # earlier fills: 3:1
    hint: str  # what stands in an empty field: 4.5:1
    line_px: int = 1


BRIGHT = Theme(
    name="bright",
    paper="#EEF0EE",
    card="#FFFFFF",
    ink="#16232A",
    soft_ink="#51626B",
    hairline="#C9D1D3",
    border="#7B8B92",
    hand="#0B5A6B",
    hand_held="#08434F",
    hand_soft="#E2EEF0",
    on_hand="#FFFFFF",
    watch="#F2C230",
    watch_ink="#755400",
    on_watch="#16232A",
    act="#CA4F0C",
    act_ink="#B04205",
    on_act="#FFFFFF",
    stop="#87081C",
    stop_ink="#87081C",
    on_stop="#FFFFFF",
    forecast="#1F6FB2",
    trough="#E3E7E6",
    band="#B3C0C2",
    band_edge="#75868C",
    field="#EDF1F1",
    target="#16232A",
    critical="#87081C",
    quiet="#869499",
    hint="#66757C",
)

DARK = Theme(
    name="dark",
    paper="#0F1619",
    card="#182125",
    ink="#EDF2F3",
    soft_ink="#A8B7BD",
    hairline="#36444A",
    border="#75868D",
    hand="#58BFD2",
    hand_held="#84D5E3",
    hand_soft="#1F343A",
    on_hand="#06232A",
    watch="#F2C12B",
    watch_ink="#F2C12B",
    on_watch="#16232A",
    act="#FB9352",
    act_ink="#FF9857",
    on_act="#2A1200",
    stop="#F66083",
    stop_ink="#FF829E",
    on_stop="#2B0611",
    forecast="#6CB4F3",
    trough="#2A363B",
    band="#4C5E65",
    band_edge="#8FA1A8",
    field="#202C31",
    target="#EDF2F3",
    critical="#FF829E",
    quiet="#7E9097",
    hint="#93A4AB",
)

HIGH_CONTRAST = Theme(
    name="high-contrast",
    paper="#FFFFFF",
    card="#FFFFFF",
    ink="#000000",
    soft_ink="#26323A",
    hairline="#000000",
    border="#000000",
    hand="#003A47",
    hand_held="#000000",
    hand_soft="#DDF3F8",
    on_hand="#FFFFFF",
    watch="#FFC400",
    watch_ink="#4D3600",
    on_watch="#000000",
    act="#783800",
    act_ink="#783800",
    on_act="#FFFFFF",
    stop="#8D0033",
    stop_ink="#8D0033",
    on_stop="#FFFFFF",
    forecast="#00457F",
    trough="#FFFFFF",
    band="#A9B4B8",
    band_edge="#000000",
    field="#E8ECED",
    target="#000000",
    critical="#8D0033",
    quiet="#5A676D",
    hint="#4A575D",
    line_px=2,
)

THEMES = {theme.name: theme for theme in (BRIGHT, DARK, HIGH_CONTRAST)}


def apply(app: QApplication, theme: Theme, *, still: bool = False) -> None:
    """Give the whole program ``theme``: bundled type, palette and style sheet.

    Where it is to stand ``still``, nothing moves by itself.
    """
    load_fonts()
    # A new style gives widgets the type back that they were made with, before the window grew.
    chosen = [(widget, widget.font()) for widget in app.allWidgets() if has_own_type(widget)]
    app.setProperty(_PROPERTY, theme.name)
    app.setStyle("Fusion")
    app.setFont(font(Size.BODY))
    app.setPalette(_palette(theme))
    app.setStyleSheet(style_sheet(theme) + (_STILL if still else ""))
    for widget, own in chosen:
        widget.setFont(own)


def has_own_type(widget: QWidget) -> bool:
    """Tell whether a widget was given a type that is not that of the program."""
    return widget.testAttribute(Qt.WidgetAttribute.WA_SetFont)


def scale() -> float:
    """Return how many times its usual size type has in a window as large as the one in use."""
    app = QApplication.instance()
    kept = app.property(_SCALE) if app is not None else None
    return float(kept) if kept else 1.0


def scale_for(width_px: int, height_px: int) -> float:
    """Return how large type is in a window of this size; never smaller than usual."""
    grown = min(width_px / _USUAL_PX[0], height_px / _USUAL_PX[1])
    return min(max(floor(grown * _STEPS) / _STEPS, 1.0), _LARGEST)


def px(length: float) -> int:
    """Return a length that grows with the type."""
    return round(length * scale())


def grow(app: QApplication, to: float) -> None:
    """Give all type of the program another scale; does nothing where it has it already."""
    before = scale()
    if to == before:
        return
    app.setProperty(_SCALE, to)
    app.setFont(font(Size.BODY))
    for widget in app.allWidgets():
        if has_own_type(widget):
            chosen = widget.font()
            chosen.setPointSizeF(round(chosen.pointSizeF() / before) * to)
            widget.setFont(chosen)
        else:  # under a style sheet Qt gives the new type to top levels only
            widget.setFont(QFont())
            QCoreApplication.sendEvent(widget, QEvent(QEvent.Type.FontChange))


def current() -> Theme:
    """Return the theme in force; the bright one before any was applied."""
    app = QApplication.instance()
    name = app.property(_PROPERTY) if app is not None else None
    return THEMES.get(str(name), BRIGHT)


def load_fonts() -> None:
    """Load the bundled type once; Qt falls back to its own where a file is missing."""
    if FAMILY in QFontDatabase.families():
        return
    for path in sorted(data.resource("fonts").glob("*.ttf")):
        QFontDatabase.addApplicationFont(str(path))


def font(size: Size, weight: QFont.Weight = QFont.Weight.Normal, *, tabular: bool = False) -> QFont:
    """Return the program's type; ``tabular`` digits stand still while a number changes."""
    return QFont(_font(size * scale(), weight, tabular))


@cache
def _font(points: float, weight: QFont.Weight, tabular: bool) -> QFont:  # noqa: FBT001 - its key
    chosen = QFont(FAMILY)
    chosen.setPointSizeF(points)
    chosen.setWeight(weight)
    if tabular:
        chosen.setFeature(QFont.Tag("tnum"), 1)
    return chosen


def with_alpha(colour: str, share: float) -> QColor:
    """Return ``colour`` let through: ``share`` 0 is clear, 1 is solid."""
    shade = QColor(colour)
    shade.setAlphaF(share)
    return shade


def style_sheet(theme: Theme) -> str:
    """Return the style sheet under ``resources/styles`` with this theme's colours in it."""
    sheet = data.resource("styles", "washmon.qss").read_text(encoding="utf-8")
    icons = data.resource("icons").as_posix()
    # Fields are 44 px high at rest and in focus: their border grows inward.
    rest, focus = theme.line_px, theme.line_px + 1
    sizes = {"focus_px": focus, "rest_px": 44 - 2 * rest, "held_px": 44 - 2 * focus}
    return Template(sheet).substitute(asdict(theme), **sizes, icons=icons)


def _palette(theme: Theme) -> QPalette:
    palette = QPalette()
    role = QPalette.ColorRole
    for which, colour in (
        (role.Window, theme.paper),
        (role.WindowText, theme.ink),
        (role.Base, theme.card),
        (role.AlternateBase, theme.field),
        (role.Text, theme.ink),
        (role.PlaceholderText, theme.hint),
        (role.Button, theme.card),
        (role.ButtonText, theme.ink),
        (role.Highlight, theme.hand),
        (role.HighlightedText, theme.on_hand),
        (role.Link, theme.hand),
        (role.ToolTipBase, theme.card),
        (role.ToolTipText, theme.ink),
    ):
        palette.setColor(which, QColor(colour))
    return palette
