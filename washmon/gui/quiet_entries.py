"""What is entered without a sheet: a flag that was seen or is wanted back, a line that goes on."""

from PySide6.QtCore import QObject, Signal

from washmon.gui.client import RecorderClient
from washmon.gui.context import Person
from washmon.line.events import Event, LineResumed
from washmon.line.flag_events import Acknowledged, FlagUnshelved
from washmon.recorder import Answer, Failed, Refused


class QuietEntries(QObject):
    """Sends them, and says only why one was not taken.

    Signals:
        refused(str): a sentence.
    """

    refused = Signal(str)

    def __init__(self, client: RecorderClient, parent: QObject) -> None:
        super().__init__(parent)
        self._client = client
        self._person: Person | None = None

    def acknowledge(self, person: Person, tank: int, rule: str) -> None:
        """Somebody has seen a flag."""
        seen = Acknowledged(at=self._client.clock(), by=person.initials, tank=tank, rule=rule)
        self._send(seen, person)

    def bring_back(self, person: Person, tank: int, rule: str) -> None:
        """Somebody wants a shelved flag back."""
        back = FlagUnshelved(at=self._client.clock(), by=person.initials, tank=tank, rule=rule)
        self._send(back, person)

    def go_on(self, person: Person) -> None:
        """The line goes on after a pause."""
        on = LineResumed(at=self._client.clock(), by=person.initials)
        self._send(on, person)

    def _send(self, event: Event, person: Person) -> None:
        self._person = person
        self._client.enter(event, self._answer)

    def _answer(self, answer: Answer) -> None:
        person = self._person
        match answer:
            case Refused() if person is not None:
                self.refused.emit(person.say(answer.faults[0].message))
            case Failed() if person is not None:
                self.refused.emit(person.say(answer.sentence))
