"""What is entered without a sheet: a flag that was seen or is wanted back, a line that goes on."""

from PySide6.QtCore import QObject, Signal, Slot

from washmon.gui.client import RecorderClient
from washmon.gui.context import Person
from washmon.line.events import Acknowledged, FlagUnshelved, LineResumed
from washmon.recorder import Failed, Refused


class QuietEntries(QObject):
    """Sends them, and says only why one was not taken.

    Signals:
        refused(str): a sentence.
    """

    refused = Signal(str)

    def __init__(self, client: RecorderClient, parent: QObject) -> None:
        super().__init__(parent)
        self._client = client
        self._sent: dict[int, Person] = {}
        client.answered.connect(self._answer)

    def acknowledge(self, person: Person, tank: int, rule: str) -> None:
        """Somebody has seen a flag."""
        seen = Acknowledged(at=self._client.clock(), by=person.initials, tank=tank, rule=rule)
        self._sent[self._client.enter(seen)] = person

    def bring_back(self, person: Person, tank: int, rule: str) -> None:
        """Somebody wants a shelved flag back."""
        back = FlagUnshelved(at=self._client.clock(), by=person.initials, tank=tank, rule=rule)
        self._sent[self._client.enter(back)] = person

    def go_on(self, person: Person) -> None:
        """The line goes on after a pause."""
        on = LineResumed(at=self._client.clock(), by=person.initials)
        self._sent[self._client.enter(on)] = person

    @Slot(int, object)
    def _answer(self, ticket: int, answer: object) -> None:
        person = self._sent.pop(ticket, None)
        if person is None:
            return
        match answer:
            case Refused():
                self.refused.emit(person.say(answer.faults[0].message))
            case Failed():
                self.refused.emit(person.say(answer.sentence))
