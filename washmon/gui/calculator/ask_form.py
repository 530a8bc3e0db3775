"""The questions of one calculation, as fields that can be typed into or pressed.

Values as they are written into a field: exact enough to be read back, without their unit.
"""

from collections.abc import Mapping
from datetime import date

from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QFrame, QGridLayout, QScrollArea, QSizePolicy, QWidget

from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.boxes import vbox
from washmon.gui.kit.card import Card
from washmon.gui.kit.form_fields import ChoiceField, FormField, ListField, TextField
from washmon.gui.kit.text import Text
from washmon.gui.kit.theme import Size
from washmon.line.calculations.asking import Field, is_asked, kind_of
from washmon.line.calculations.result import Calculation
from washmon.units import Kind, show, symbol

_DECIMALS = 2


def written(value: float | str | date | None, kind: Kind | None, person: UserContext) -> str:
    """Return a value as somebody would type it."""
    if value is None:
        return ""
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, str) or kind is None:
        return str(value)
    point = person.decimal_point
    text = show(value, kind, person.taste, point, decimals=_DECIMALS, with_unit=False)
    head, _, tail = text.partition(point)
    tail = tail.rstrip("0")
    return f"{head}{point}{tail}" if tail else head


def unit_of(asked: Field, kind: Kind | None, person: UserContext) -> str:
    """Return the unit that a bare number in a field has."""
    if asked.unit:
        return tr(asked.unit)
    return symbol(kind, person.taste) if kind is not None else ""


_MOST_TOGGLES = 3
_COLUMNS = 6
_WIDE_PX = 220
_NARROW_PX = 440
"""In a narrower card each field has a line of its own, so that no label is cut."""


class AskForm(QScrollArea):
    """Cards of fields; ``changed`` names the field that was changed."""

    changed = Signal(str)

    def __init__(
        self, calculation: Calculation, person: UserContext, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._asked = calculation.fields
        self._person = person
        self.fields: dict[str, FormField] = {}
        self._groups: list[_Group] = []
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        inside = QWidget()
        inside.setObjectName("scrolled")
        column = vbox(on=inside, gap_px=10, margins_px=(0, 0, 6, 0))
        for name in dict.fromkeys(field.group for field in self._asked):
            group = _Group(tr(name))
            for field in self._asked:
                if field.group == name:
                    self.fields[field.key] = self._make(field)
                    group.hold(self.fields[field.key])
            self._groups.append(group)
            column.addWidget(group)
        column.addStretch(1)
        self.setWidget(inside)
        self.suit()

    def texts(self) -> dict[str, str]:
        """Return what is written, by key."""
        return {key: field.text for key, field in self.fields.items()}

    def put(self, texts: Mapping[str, str]) -> None:
        """Put texts in place; a field that is not named keeps its own."""
        for key, text in texts.items():
            if key in self.fields:
                self.fields[key].put(text)
        self.suit()

    def suit(self) -> None:
        """Ask only what counts with the answers so far, each in its unit."""
        texts = self.texts()
        for asked in self._asked:
            field = self.fields[asked.key]
            field.setVisible(is_asked(asked, self._asked, texts))
            if isinstance(field, TextField):
                self._suit_text(field, asked)
        for group in self._groups:
            group.arrange()

    def show_faults(self, faults: Mapping[str, str]) -> None:
        """Show each sentence under its field, and none under the others."""
        for key, field in self.fields.items():
            field.show_fault(faults.get(key, ""))

    def focus_first(self) -> None:
        """Put the keyboard on the first field."""
        next(iter(self.fields.values())).setFocus(Qt.FocusReason.OtherFocusReason)

    def keeps_focus(self, key: str) -> bool:
        """Tell whether the keyboard is in this field."""
        proxy = self.fields[key].focusProxy() if key in self.fields else None
        return proxy is not None and proxy.hasFocus()

    def _suit_text(self, field: TextField, asked: Field) -> None:
        kind = kind_of(asked, self._asked, self.texts())
        bare = not field.text or field.text[-1].isdigit() or field.text[-1] in "¼½¾⅓⅔⅛⅜⅝⅞.,"
        field.set_unit(unit_of(asked, kind, self._person) if bare else "")
        field.editor.setPlaceholderText(_empty(asked, self._person))

    def _make(self, field: Field) -> FormField:
        label, hint = tr(field.label), tr(field.hint) if field.hint else ""
        choices = tuple((choice.key, tr(choice.words)) for choice in field.choices)
        usual = field.usual if isinstance(field.usual, str) else ""
        made: FormField
        if not choices:
            made = TextField(field.key, label, hint=hint)
        elif len(choices) <= _MOST_TOGGLES:
            made = ChoiceField(field.key, label, choices, value=usual, hint=hint)
        else:
            made = ListField(field.key, label, choices, value=usual, hint=hint)
        made.changed.connect(self._tell)
        return made

    @Slot()
    def _tell(self) -> None:
        field = self.sender()
        if isinstance(field, FormField):
            self.suit()
            self.changed.emit(field.key)


class _Group(Card):
    """Fields of one subject, two side by side where they are short; six columns."""

    def __init__(self, heading: str, parent: QWidget | None = None) -> None:
        super().__init__(parent, margin_px=14)
        self._fields: list[FormField] = []
        self._shown: list[FormField] = []
        self._ends: list[QWidget] = []
        self._narrow = False
        self.body.addWidget(Text(heading, Size.LEAD, bold=True, parent=self))
        self._grid = QGridLayout()
        self._grid.setHorizontalSpacing(12)
        self._grid.setVerticalSpacing(10)
        for column in range(_COLUMNS):
            self._grid.setColumnStretch(column, 1)
            self._grid.setColumnMinimumWidth(column, 1)
        self.body.addLayout(self._grid)

    def hold(self, field: FormField) -> None:
        """Take one more field."""
        field.setParent(self)
        # Columns of one width, whatever their fields would like.
        field.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Minimum)
        self._fields.append(field)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Put the fields under each other where there is no room for two."""
        super().resizeEvent(event)
        self.arrange()

    def arrange(self) -> None:
        """Close the gaps of fields that are not asked."""
        shown = [field for field in self._fields if not field.isHidden()]
        narrow = self.width() < theme.px(_NARROW_PX)
        self.setVisible(bool(shown))
        if shown == self._shown and narrow == self._narrow:
            return
        self._shown, self._narrow = shown, narrow
        for field in self._fields:
            self._grid.removeWidget(field)
        for end in self._ends:
            self._grid.removeWidget(end)
            end.deleteLater()
        self._ends.clear()
        row = column = 0
        for field in shown:
            span = _COLUMNS if narrow else _span(field)
            if column == 4:
                span = min(span, _COLUMNS - column)
            if column + span > _COLUMNS:
                self._close(row, column)
                row, column = row + 1, 0
            self._grid.addWidget(field, row, column, 1, span, Qt.AlignmentFlag.AlignTop)
            column += span
        self._close(row, column)

    def _close(self, row: int, column: int) -> None:
        """Fill the end of a row: left empty, it would pull the columns out of line."""
        if 0 < column < _COLUMNS:
            self._ends.append(QWidget(self))
            self._grid.addWidget(self._ends[-1], row, column, 1, _COLUMNS - column)


def _span(field: FormField) -> int:
    if isinstance(field, ListField):
        return _COLUMNS
    if isinstance(field, ChoiceField):
        return 4 if field.row.sizeHint().width() > _WIDE_PX else 3
    return 3


def _empty(asked: Field, person: UserContext) -> str:
    """Return what stands greyed in an empty field: what is taken in its place."""
    if asked.optional:
        return tr("not known")
    if asked.usual is None:
        return "" if asked.kind else tr("year-month-day")
    if isinstance(asked.usual, float) and asked.kind is not None:
        return written(asked.usual, asked.kind, person)
    return tr(str(asked.usual))
