"""One entry on its way to the journal, and what became of it in sentences."""

from PySide6.QtCore import QObject, Signal, Slot

from washmon.gui.client import RecorderClient
from washmon.gui.context import Person
from washmon.line.check import Fault
from washmon.line.events import Event
from washmon.recorder import Doubtful, Failed, Refused, Saved


class Sending(QObject):
    """Sends one entry at a time.

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
        self._ticket: int | None = None
        self._person: Person | None = None
        client.answered.connect(self._answer)

    @property
    def busy(self) -> bool:
        """Whether an entry is on its way."""
        return self._ticket is not None

    def send(
        self,
        event: Event,
        person: Person,
        *,
        chain: str | None = None,
        sure: bool = False,
        pin: str = "",
    ) -> None:
        """Send an entry; answers are said as ``person`` reads. Does nothing while busy."""
        if not self.busy:
            self._person = person
            self._ticket = self._client.enter(event, chain=chain, sure=sure, pin=pin)

    @Slot(int, object)
    def _answer(self, ticket: int, answer: object) -> None:
        person = self._person
        if ticket != self._ticket or person is None:
            return
        self._ticket = None
        match answer:
            case Saved():
                self.saved.emit(answer)
            case Refused():
                self.refused.emit(_by_field(answer.faults, person))
            case Doubtful():
                self.doubted.emit(tuple(person.say(doubt) for doubt in answer.doubts))
            case Failed():
                self.refused.emit({"": person.say(answer.sentence)})


def _by_field(faults: tuple[Fault, ...], person: Person) -> dict[str, str]:
    said: dict[str, list[str]] = {}
    for fault in faults:
        said.setdefault(fault.field, []).append(person.say(fault.message))
    return {field: " ".join(dict.fromkeys(sentences)) for field, sentences in said.items()}
