"""One thing of the registers in a form: registered anew, or changed."""

from PySide6.QtCore import Qt, QTimer, Signal, Slot
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import foot_row, page_column
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.confirm import leave_or_ask
from washmon.gui.kit.file_asking import FileField
from washmon.gui.kit.form import Form
from washmon.gui.kit.form_fields import ChoiceField, FormField, TextField
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.text import Text
from washmon.gui.kit.theme import Size
from washmon.gui.registers.forms import About, ThingForm, form_of, forms, key_for
from washmon.gui.registers.written import Written
from washmon.line.registers import Thing, named

KIND = "what"


class ThingPage(QWidget):
    """Asks for what is known of a thing.

    Signals:
        written(object): the thing, to be sent to the journal.
        left(): the person went back; nothing is kept.
    """

    written = Signal(object)
    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._about: About | None = None
        self._form: ThingForm | None = None
        self._first: dict[str, str] = {}
        self.fields: dict[str, FormField] = {}
        """Those of the thing, by key."""
        self.kind: ChoiceField | None = None
        self.title = Text("", Size.LARGE, bold=True)
        self.form = Form()
        self.message = MessageLine()
        self.back = PressButton(tr("Back"), Rank.SECONDARY, "Esc", bound=False, then=self._leave)
        self.save = PressButton(tr("Save"), Rank.PRIMARY, tr("Enter"), bound=False, then=self._save)
        page_column(self, self.title, (self.form, 1), foot_row(self.back, self.message, self.save))

    def open(self, about: About, kind: str = "") -> None:
        """Ask for something new of a kind, or for the changes of the thing it is about."""
        self._about = about
        self.message.clear()
        if about.thing is not None:
            self._ask_for(form_of(about.thing))
            self.title.setText(tr("Change {name}", name=about.thing.name))
        else:
            self._ask_for(forms().get(kind) or next(iter(forms().values())))
            self.title.setText(tr("Register"))

    @property
    def unsaved(self) -> bool:
        """Whether something is written here that is not in the journal."""
        return self.isVisible() and self._texts() != self._first

    def _texts(self) -> dict[str, str]:
        return {key: field.text for key, field in self.fields.items()}

    def _ask_for(self, form: ThingForm) -> None:
        self._form = form
        self.form.clear()
        if self._about is None:
            return
        if self._about.thing is None:
            offered = tuple((key, one.name) for key, one in forms().items())
            chosen = next(key for key, one in forms().items() if one.kind is form.kind)
            self.kind = ChoiceField(KIND, tr("What is it?"), offered, value=chosen)
            self.kind.changed.connect(self._change_kind)
            self.form.add(self.kind)
        rows = form.fields(self._about)
        for row in rows:
            self.form.add_row(*row) if len(row) > 1 else self.form.add(row[0])
        self.fields = {field.key: field for row in rows for field in row}
        self._first = self._texts()
        typed = (one for one in self.fields.values() if isinstance(one, TextField | FileField))
        next(typed).setFocus(Qt.FocusReason.OtherFocusReason)
        QTimer.singleShot(0, self, self._to_top)  # once all of it has been laid out

    @Slot()
    def _to_top(self) -> None:
        self.form.verticalScrollBar().setValue(0)

    @Slot()
    def _change_kind(self) -> None:
        if self.kind is not None:
            self._ask_for(forms()[self.kind.text])

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Take Esc as going back, Enter as saving."""
        if event.key() == Qt.Key.Key_Escape:
            self._leave()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._save()
        else:
            super().keyPressEvent(event)

    @Slot()
    def _leave(self) -> None:
        """Go back; what is written here and not saved is asked about."""
        leave_or_ask(self, self.left.emit, unsaved=self.unsaved)

    @Slot()
    def _save(self) -> None:
        if self._about is None or self._form is None:
            return
        written = Written(self._texts(), self._about.person)
        thing = self._form.read(written, self._about)
        if written.faults:
            self.show_faults(written.faults)
            return
        self.written.emit(self._with_key(thing))

    def _with_key(self, thing: Thing) -> Thing:
        if self._about is None or thing.key:
            return thing
        return named(thing, key_for(thing, self._about.stock.registers))

    @Slot(object)
    def show_faults(self, faults: dict[str, str]) -> None:
        """Say each fault beside its field, and at the foot what belongs to none."""
        known = self.form.fields()
        self.form.show_faults(faults)
        rest = [said for key, said in faults.items() if key not in known]
        self.message.warn(" ".join(rest)) if rest else self.message.clear()
