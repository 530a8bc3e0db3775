"""What an entry sheet is made of, and how it lies over the lower half of its parent.

The fields of an entry sheet: which one has the keyboard, what pad and offered words do to it.

Words that can be taken into a text field by one press, each with a key of its own.
"""

from PySide6.QtCore import QEvent, QObject, Qt, Signal, Slot
from PySide6.QtWidgets import QFrame, QGridLayout, QSizePolicy, QVBoxLayout, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.boxes import STRETCH, hbox
from washmon.gui.kit.buttons import AnywayButton, PressButton, Rank
from washmon.gui.kit.entry_field import EntryField, FieldArea, FieldGrid
from washmon.gui.kit.letter_keys import SHEET
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.number_pad import NumberPad
from washmon.gui.kit.sheet_spec import FieldKind, FieldSpec
from washmon.gui.kit.text import Text, Tone, plain_tip
from washmon.gui.kit.theme import Size

MOST = 4
_ACROSS = 2
_GAP_PX = 8


class OfferRow(QWidget):
    """Keeps its height while it offers more or less, so that nothing moves under a hand.

    Signals:
        taken(str): these words were chosen.
    """

    taken = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._words: tuple[str, ...] = ()
        self.buttons: list[PressButton] = []
        self._grid = grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setSpacing(_GAP_PX)
        for at in range(MOST):
            button = PressButton(
                "", Rank.KEY, f"Alt+{at + 1}", key_first=True, parent=self, then=self._take
            )
            button.setFocusPolicy(Qt.FocusPolicy.NoFocus)  # the field keeps the keyboard
            button.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
            button.setObjectName(str(at))
            self.buttons.append(button)
        for place in range(_ACROSS):
            grid.setColumnStretch(place, 1)
            grid.setRowMinimumHeight(place, self.buttons[0].sizeHint().height())
        self.hide()

    def offer(self, words: tuple[str, ...]) -> None:
        """Offer these, as far as there is room."""
        self._words = words[:MOST]
        whole = len(self._words) <= MOST // _ACROSS  # each has a line of its own
        for at, button in enumerate(self.buttons):
            text = self._words[at] if at < len(self._words) else ""
            if not text:
                self._grid.removeWidget(button)
            elif whole:
                self._grid.addWidget(button, at, 0, 1, _ACROSS)
            else:
                self._grid.addWidget(button, at // _ACROSS, at % _ACROSS)
            button.set_label(text)
            button.setToolTip(plain_tip(text))
            button.setVisible(bool(text))

    @Slot()
    def _take(self) -> None:
        at = int(self.sender().objectName())
        if at < len(self._words):
            self.taken.emit(self._words[at])


_HEIGHT_PX = 430
_WITH_SIDE_PX = 1180
"""So wide is a sheet that has room for something beside its fields."""
_SIDE_PX = 400
_MARGIN_PX, _BETWEEN_PX = 20, 24


class SheetFrame(QFrame):
    """Title, note, fields, message, number pad and buttons; at the left what was lent to it."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setObjectName(SHEET)
        self._over = parent
        self._side: QWidget | None = None
        self._wants_side = False
        self.title = Text("", Size.TITLE, bold=True)
        self.note = Text("", Size.SMALL, tone=Tone.SOFT, wrapped=True)
        self.meaning = Text("", Size.BODY, tone=Tone.HAND, wrapped=True)
        self.grid = self.make_grid()
        self.area = FieldArea(self.grid)
        self.offers = OfferRow()
        self.message = MessageLine()
        self.pad = NumberPad()
        self.save = PressButton(tr("Save"), Rank.PRIMARY)
        self.leave = PressButton(tr("Leave"), Rank.SECONDARY, "Esc", bound=False)
        self.anyway = AnywayButton(tr("Save it all the same"))
        self._lay_out()
        self.meaning.hide()
        parent.installEventFilter(self)
        self.hide()

    def make_grid(self) -> FieldGrid:
        """Return what lays the fields out."""
        return FieldGrid(self)

    def lend_side(self, side: QWidget) -> None:
        """Put something at the left, to be shown where :meth:`want_side` asks for it."""
        self._side = side
        self._row.insertWidget(0, side)
        side.setVisible(False)

    def want_side(self, *, wanted: bool) -> None:
        """Show what was lent, where there is room for it."""
        if wanted is not self._wants_side:
            self._wants_side = wanted
            self._fit()

    @property
    def _roomy(self) -> bool:
        return self._side is not None and self._over.width() >= theme.px(_WITH_SIDE_PX)

    def column_px(self) -> int:
        """Return how wide the fields have it, with what may be shown beside them."""
        beside = theme.px(_SIDE_PX) + _BETWEEN_PX if self._roomy else 0
        pad = 0 if self.pad.isHidden() else _BETWEEN_PX + self.pad.sizeHint().width()
        around = 2 * _MARGIN_PX + pad
        return self._over.width() - around - beside

    def call_it(self, title: str) -> None:
        """Say what it is for, to eyes and ears."""
        self.title.setText(title)
        self.setAccessibleName(title)

    def put_away(self) -> None:
        """Hide; the keyboard goes to what lies under it, and nowhere else."""
        focus = self.window().focusWidget()
        if focus is not None and self.isAncestorOf(focus):
            self._over.setFocus()
        self.hide()

    def say_meaning(self, words: str) -> None:
        """Say in one line under the fields what the values would mean."""
        if words != self.meaning.text():
            self.meaning.setText(words)
            self.setAccessibleDescription(words)
            self.meaning.setVisible(bool(words))
            self._fit()

    def _lay_out(self) -> None:
        self._head = hbox(self.title, STRETCH, gap_px=16)
        foot = hbox(self.anyway, (self.message, 1), self.save, self.leave, gap_px=8)
        self._column = column = QVBoxLayout()
        column.setSpacing(10)
        column.addLayout(self._head)
        for widget in (self.note, self.area, self.offers, self.meaning):
            column.addWidget(widget)
        column.addStretch(1)
        column.addLayout(foot)
        self._row = hbox(
            (column, 1),
            self.pad,
            on=self,
            gap_px=_BETWEEN_PX,
            margins_px=(_MARGIN_PX, 14, _MARGIN_PX, 16),
        )
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)  # a click beside a field leaves it its focus

    def _fit(self) -> None:
        """Cover the lower half of the parent: less where it is tall, more if fields need it."""
        room = self._over.rect()
        if self._side is not None:
            self._side.setFixedWidth(theme.px(_SIDE_PX))
            self._side.setVisible(self._wants_side and self._roomy)
        # The width first: it decides into how many lines the fields break.
        self.resize(room.width(), self.height())
        self._row.activate()
        for one in (self.grid, self.area):  # what is around may remember other lines than these
            one.updateGeometry()
        self._row.activate()
        half = min(room.height() // 2, theme.px(_HEIGHT_PX))
        needed = max(self.sizeHint().height(), self.heightForWidth(room.width()))
        height = min(max(half, needed), room.height())
        self.setGeometry(0, room.height() - height, room.width(), height)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Keep to the lower half of the parent."""
        if watched is self._over and event.type() is QEvent.Type.Resize and self.isVisible():
            self._fit()
        return False


class SheetFields(SheetFrame):
    """Walks through the fields; ``changed`` tells that something was typed or chosen."""

    changed = Signal()

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._current: EntryField | None = None
        self._kept = False
        """Whether what stands in the fields from the start was typed by hand."""
        self.pad.typed.connect(self._type)
        self.pad.erased.connect(self._erase)
        self.offers.taken.connect(self._take_words)
        self.changed.connect(self._offer_words)

    def field(self, key: str) -> EntryField:
        """Return one field by its key.

        Raises:
            KeyError: the sheet has no such field now.
        """
        return self.grid.fields[key]

    def values(self) -> dict[str, str]:
        """Return what stands in the fields, raw."""
        return {key: field.text for key, field in self.grid.fields.items()}

    @property
    def is_typed(self) -> bool:
        """Whether anything stands here that a hand wrote, and that would be lost."""
        fields = self.grid.fields.values()
        return self._kept or any(
            one.text != one.spec.value for one in fields if one.spec.kind is not FieldKind.CHOICE
        )

    def _ask_for(self, fields: tuple[FieldSpec, ...], typed: dict[str, str]) -> None:
        """Make the fields, with room for words to take where a field has any."""
        self.grid.ask(fields, typed, self._enter_field, self._edit)
        self._current = None  # the one that had the keyboard is gone
        self.offers.setVisible(any(spec.offers for spec in fields))

    def _walk(self) -> list[EntryField]:
        """Return the fields that Enter visits, in order."""
        return [field for field in self.grid.fields.values() if not field.spec.aside]

    def _step(self, by: int) -> bool:
        """Move to the next or the last field; tell whether there was one."""
        fields = list(self.grid.fields.values())
        at = fields.index(self._current) if self._current in fields else -1
        ahead = fields[at + 1 :] if by > 0 else fields[:at][::-1] if at > 0 else []
        goal = next((field for field in ahead if not field.spec.aside), None)
        if goal is not None:
            goal.setFocus(Qt.FocusReason.TabFocusReason)
        return goal is not None

    def _turn_choice(self) -> None:
        """Turn the next choice after the field that has the keyboard, which keeps it."""
        fields = list(self.grid.fields.values())
        at = fields.index(self._current) if self._current in fields else -1
        choices = [one for one in (*fields[at + 1 :], *fields) if one.spec.kind is FieldKind.CHOICE]
        turned = [one for one in choices if one.spec.hint] or choices
        if turned:
            turned[0].turn()

    @Slot(str)
    def _type(self, sign: str) -> None:
        if self._current is not None:
            self._current.type(sign)

    @Slot()
    def _erase(self) -> None:
        if self._current is not None:
            self._current.erase()

    @Slot(QObject)
    def _enter_field(self, field: QObject) -> None:
        if isinstance(field, EntryField):
            self._current = field
            self.area.ensureWidgetVisible(field, 0, 0)
            self.pad.set_typing(possible=field.spec.kind is FieldKind.NUMBER)
            self._name_next()
            self._offer_words()

    @Slot()
    def _edit(self) -> None:
        self.changed.emit()

    def _next_word(self) -> str:
        """Return what going on does from here."""
        walk = self._walk()
        return tr("Save") if walk and self._current is walk[-1] else tr("Next")

    def _name_next(self) -> None:
        self.pad.name_next(self._next_word())

    @Slot()
    def _offer_words(self) -> None:
        field, values = self._current, self.values()
        offered = () if field is None else field.spec.offers
        self.offers.offer(tuple(one.words for one in offered if one.fits(values)))

    @Slot(str)
    def _take_words(self, words: str) -> None:
        if self._current is not None:
            self._current.put(words)
            self._current.setFocus(Qt.FocusReason.OtherFocusReason)
