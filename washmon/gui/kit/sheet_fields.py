"""The fields of an entry sheet: which one has the keyboard, what pad and offered words do to it."""

from PySide6.QtCore import QObject, Qt, Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.entry_field import EntryField
from washmon.gui.kit.sheet_frame import SheetFrame
from washmon.gui.kit.sheet_spec import FieldKind, FieldSpec


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
