"""One entry on its way to the journal, and what became of it in sentences."""

from typing import NamedTuple

from PySide6.QtCore import QObject, Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.confirm import SecretQuestion
from washmon.line.check import Fault
from washmon.line.events import Event
from washmon.recorder import Answer, Doubtful, Failed, Refused, Saved


class _Sent(NamedTuple):
    event: Event
    chain: str | None
    sure: bool
    asks: bool
    """Whether a PIN that it turns out to need is asked for here."""


class Sending(QObject):
    """Sends one entry at a time; where one turns out to need a PIN, it is asked for and sent again.

    Whoever asks for PINs by a field of their own gives ``pin``, be it empty.

    Signals:
        saved(Saved): it is on the disk.
        refused(dict): a sentence for each field at fault; ``""`` is for the whole.
        doubted(tuple): sentences; send it again as ``sure`` if it is true all the same.
    """

    saved = Signal(object)
    refused = Signal(object)
    doubted = Signal(object)

    def __init__(self, client: RecorderClient, parent: QObject) -> None:
        super().__init__(parent)
        self._client = client
        self._on_its_way = False
        self._person: UserContext | None = None
        self._sent: _Sent | None = None
        self.question: SecretQuestion | None = None

    @property
    def busy(self) -> bool:
        """Whether an entry is on its way."""
        return self._on_its_way or self.question is not None

    def send(
        self,
        event: Event,
        person: UserContext,
        *,
        chain: str | None = None,
        sure: bool = False,
        pin: str | None = None,
    ) -> None:
        """Send an entry; answers are said as ``person`` reads. Does nothing while busy."""
        if not self.busy:
            self._person = person
            self._sent = _Sent(event, chain, sure, pin is None)
            self._send(pin or "")

    def _send(self, pin: str) -> None:
        if (sent := self._sent) is not None:
            self._on_its_way = True
            self._client.enter(sent.event, self._answer, chain=sent.chain, sure=sent.sure, pin=pin)

    def _answer(self, answer: Answer) -> None:
        person = self._person
        if person is None:
            return
        self._on_its_way = False
        match answer:
            case Saved():
                self.saved.emit(answer)
            case Refused():
                self._refuse(_by_field(answer.faults, person))
            case Doubtful():
                self.doubted.emit(tuple(person.say(doubt) for doubt in answer.doubts))
            case Failed():
                self.refused.emit({"": person.say(answer.sentence)})

    def _refuse(self, faults: dict[str, str]) -> None:
        sent, window = self._sent, _window_of(self)
        if sent is None or not sent.asks or set(faults) != {"pin"} or window is None:
            self.refused.emit(faults)
            return
        said = tr("This is done with the PIN of {who}.", who=sent.event.by)
        self.question = SecretQuestion(window, said, faults["pin"])
        self.question.answered.connect(self._hear_pin)

    @Slot(bool)
    def _hear_pin(self, given: bool) -> None:  # noqa: FBT001 - a slot
        question, self.question = self.question, None
        if given and question is not None:
            self._send(question.secret.text)
        else:
            self.refused.emit({"": tr("Nothing was saved: it is done with a PIN.")})


def _window_of(child: QObject) -> QWidget | None:
    """Return the window in which something is asked."""
    parent: QObject | None = child
    while parent is not None and not isinstance(parent, QWidget):
        parent = parent.parent()
    return None if parent is None else parent.window()


def saved_words(answer: Saved, what: str) -> str:
    """Return what is said of a saved entry: where it is."""
    if answer.kept_here:
        return tr("Kept here, not yet on the server: {what}", what=what)
    return tr("Saved: {what}", what=what)


def _by_field(faults: tuple[Fault, ...], person: UserContext) -> dict[str, str]:
    said: dict[str, list[str]] = {}
    for fault in faults:
        said.setdefault(fault.field, []).append(person.say(fault.message))
    return {field: " ".join(dict.fromkeys(sentences)) for field, sentences in said.items()}
