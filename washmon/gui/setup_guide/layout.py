"""How fields stand on a page: sections of twelve columns, and pages that scroll."""

from collections.abc import Iterator, Mapping
from typing import TypeVar

import msgspec
from msgspec import Struct
from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QFrame, QGridLayout, QScrollArea, QSizePolicy, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.boxes import Scrolled, keep_width, vbox
from washmon.gui.kit.buttons import PressButton
from washmon.gui.kit.card import Card
from washmon.gui.kit.form_fields import FormField
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.line.setup import LineSetup

COLUMNS = 12
WIDEST_PX = 1240
"""Fields wider than this are harder to read, not easier."""
_NARROW_PX = 600
"""A narrower section has half as much in a row."""
FieldT = TypeVar("FieldT", bound=FormField)
StructT = TypeVar("StructT", bound=Struct)


class Section(Card):
    """A card with a heading and rows of widgets on a grid of twelve columns."""

    def __init__(self, heading: str, lead: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent, margin_px=14)
        if heading:
            self.body.addWidget(Text(heading, Size.LEAD, bold=True, parent=self))
        self.lead = Text(lead, Size.SMALL, tone=Tone.SOFT, wrapped=True, parent=self)
        self.lead.setVisible(bool(lead))
        self.body.addWidget(self.lead)
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(12)
        self._grid.setVerticalSpacing(10)
        for column in range(COLUMNS):
            self._grid.setColumnStretch(column, 1)
            self._grid.setColumnMinimumWidth(column, 1)
        self.body.addLayout(self._grid)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
        self._rows: list[tuple[tuple[QWidget, int], ...]] = []
        self._narrow = False

    def row(self, *widgets: tuple[QWidget, int]) -> None:
        """Add a row of (widget, columns)."""
        self._rows.append(widgets)
        self._place(widgets)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Break the rows in two where they would cut words."""
        super().resizeEvent(event)
        narrow = self.width() < theme.px(_NARROW_PX)
        if narrow != self._narrow:
            self._narrow = narrow
            for widgets in self._rows:
                for widget, _ in widgets:
                    self._grid.removeWidget(widget)
            for widgets in self._rows:
                self._place(widgets)

    def _place(self, widgets: tuple[tuple[QWidget, int], ...]) -> None:
        row, column = self._grid.rowCount(), 0
        for widget, columns in widgets:
            span = columns
            if self._narrow:
                span = COLUMNS if columns >= COLUMNS // 2 else COLUMNS // 2
            if column + span > COLUMNS:
                row, column = row + 1, 0
            self._grid.addWidget(widget, row, column, 1, span, Qt.AlignmentFlag.AlignTop)
            column += span


class More(QWidget):
    """A section that few need, behind a button; open where something in it is filled in."""

    def __init__(self, what: str, section: Section, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.button = PressButton(tr("More: {what}", what=what), parent=self)
        self.button.setCheckable(True)
        self.button.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        self.section = section
        vbox(self.button, section, on=self, gap_px=6)
        section.hide()
        self.button.toggled.connect(section.setVisible)

    def open(self, *, filled: bool) -> None:
        """Open it where it is filled, close it where not."""
        self.button.setChecked(filled)


class Scroller(QScrollArea):
    """A column of widgets that scrolls where it does not fit; add to ``column``."""

    def __init__(self, parent: QWidget | None = None, *, widest_px: int = WIDEST_PX) -> None:
        super().__init__(parent)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setWidgetResizable(True)
        inner = Scrolled(self)
        inner.setObjectName("scrolled")
        self.column = vbox(on=inner, gap_px=10, margins_px=(0, 0, 6, 0))
        keep_width(inner, widest_px, most=True)
        self.setWidget(inner)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)


def fill(outer: QWidget, inner: QWidget) -> None:
    """Let one widget be all that another holds."""
    vbox(inner, on=outer)


class FieldForm(QWidget):
    """A group of fields, each under a name that is the end of its path."""

    left = Signal()
    changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._fields: dict[str, FormField] = {}

    def enter(self, name: str, field: FieldT) -> FieldT:
        """Keep a field under its name and pass on what happens in it."""
        self._fields[name] = field
        field.left.connect(self.left)
        field.changed.connect(self.changed)
        return field

    def show_parts(self, whole: Struct) -> None:
        """Let each field show the part of a set-up that it is named by."""
        for name, field in self._fields.items():
            if field.focusable:
                field.put(_part(whole, name))

    def onto(self, whole: StructT) -> StructT:
        """Return ``whole`` with what is written here; what has no field stays as it came."""
        named = self._fields.items()
        return _with_parts(whole, {name: one.read() for name, one in named if one.focusable})

    def fields(self, path: str = "") -> Iterator[tuple[str, FormField]]:
        """Yield each field with its whole path."""
        for name, field in self._fields.items():
            yield ".".join(part for part in (path, name) if part), field


def _part(whole: Struct, path: str) -> object:
    """Return a part by its path, such as ``chlorine.low_mg_l``; none of what is not there."""
    found: object = whole
    for name in path.split("."):
        found = getattr(found, name, None)
    return found


def _with_parts(whole: StructT, parts: Mapping[str, object]) -> StructT:
    """Return ``whole`` with new parts by their paths; what is not there has none."""
    own: dict[str, object] = {}
    within: dict[str, dict[str, object]] = {}
    for path, value in parts.items():
        head, _, rest = path.partition(".")
        if rest:
            within.setdefault(head, {})[rest] = value
        else:
            own[head] = value
    for head, inner in within.items():
        before = getattr(whole, head)
        if before is not None:
            own[head] = _with_parts(before, inner)
    return msgspec.structs.replace(whole, **own)


class FormPage(FieldForm):
    """One step of the guide."""

    def __init__(self, title: str, lead: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.title = title
        self.lead = lead
        self.outer = vbox(on=self, gap_px=10)

    def owns(self, path: str) -> bool:
        """Tell whether a fault at this path is mended here."""
        return path.split(".", 1)[0] in self.roots

    roots: frozenset[str] = frozenset()
    """The first words of the paths that this page is about."""

    def place(self, _path: str) -> str:
        """Say where a path leads on this page."""
        return self.title

    def show_field(self, path: str) -> None:
        """Bring the field of a path into view, where the page shows one part at a time."""

    def enter_on(self, focus: QWidget | None) -> bool:
        """Put the keyboard on the next field; False when the next page is due."""
        waiting = self._waiting()
        inside = [at for at, field in enumerate(waiting) if focus and field.isAncestorOf(focus)]
        if inside and inside[0] + 1 < len(waiting):
            waiting[inside[0] + 1].focus()
            return True
        if not self.turn_on():
            return False
        if fresh := self._waiting():
            fresh[0].focus()
        return True

    def bring(self, draft: LineSetup) -> None:
        """Make ready to be shown, with the set-up as it is written by now."""

    def put_away(self) -> None:
        """Make ready to be left."""

    def _waiting(self) -> list[FormField]:
        """Return the fields in sight that can be filled in."""
        return [field for _, field in self.fields() if field.focusable and field.isVisible()]

    def turn_on(self) -> bool:
        """Go on within the page; False when there is no further part and the next page is due."""
        return False
