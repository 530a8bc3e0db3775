"""The preview: what each row of a log comes to, before anything is taken."""

from collections.abc import Sequence

from washmon.gui.context import Person
from washmon.gui.i18n import tr
from washmon.gui.kit.state_mark import Look
from washmon.gui.kit.text import Tone
from washmon.gui.logbook.table import Cell, ListedPage, Listing, Row
from washmon.line.events import Event
from washmon.line.setup import LineSetup
from washmon.rules.event_text import event_text
from washmon.sessions.imported.heads import LogRow
from washmon.sessions.imported.log_rows import Changed, Found, Known, Left, Taken

_SHOWN = 300
"""Rows that are new, or known, are shown up to so many; all others are."""
_LONGEST = 300
_EVENTS = 4


class RowsList(ListedPage):
    """Rows that can't be taken stand first, then those that changed, the new and the known."""

    def __init__(self) -> None:
        super().__init__(tr("Choose the log, saved as CSV from the spreadsheet."))
        self.shown: tuple[LogRow, ...] = ()

    def show_nothing(self, words: str) -> None:
        """List nothing, and say why."""
        self.shown = ()
        self.show_listing(Listing((), ()))
        self.nothing.setText(words)

    def show_found(self, found: Sequence[Found], person: Person, setup: LineSetup) -> None:
        """List what the rows come to."""
        listed = [
            *_of(found, Left),
            *_of(found, Changed),
            *_of(found, Taken)[:_SHOWN],
            *_of(found, Known)[:_SHOWN],
        ]
        self.shown = tuple(one.row for one in listed)
        rows = tuple(_listed(one, person, setup) for one in listed)
        heads = (tr("Row"), tr("When"), tr("State"), tr("What it comes to"))
        self.show_listing(Listing(heads, rows))


def counted(found: Sequence[Found]) -> str:
    """Return how many rows are new, known, changed and not to be taken."""
    new, known, changed, left = (len(_of(found, kind)) for kind in (Taken, Known, Changed, Left))
    said = [tr("{new} of {all} rows are new.", new=new, all=len(found))]
    if known:
        said.append(tr("{known} were imported before.", known=known))
    if changed:
        said.append(
            tr("{changed} say something else than was imported: correct those in the Logbook.",
               changed=changed)
        )  # fmt: skip
    if left:
        said.append(
            tr("{left} can't be taken, each with its reason: Enter on a row mends its cells.",
               left=left)
        )  # fmt: skip
    return " ".join(said)


def _of(found: Sequence[Found], kind: type[Found]) -> list[Found]:
    return [one for one in found if isinstance(one, kind)]


def _listed(one: Found, person: Person, setup: LineSetup) -> Row:
    number = Cell(str(one.row.number), number=True)
    match one:
        case Left(row, why):
            cells = " | ".join(" ".join(cell.split()) for cell in row.cells if cell.strip())
            told = f"{person.say(why)}  ({cells[:_LONGEST]})"
            return number, Cell(""), Cell(tr("can't be taken"), Tone.ACT, Look.ACT), Cell(told)
        case Changed(_, events, before):
            now, was = _said(events, person, setup), _said(before, person, setup)
            told = tr("{now}  (imported before: {was})", now=now, was=was)
            state = Cell(tr("changed since"), Tone.ACT, Look.ACT)
        case Known(_, events):
            told, state = _said(events, person, setup), Cell(tr("known"), Tone.SOFT)
        case Taken(_, events):
            told, state = _said(events, person, setup), Cell(tr("new"))
    return number, Cell(f"{events[0].at:%Y-%m-%d %H:%M}"), state, Cell(told[:_LONGEST])


def _said(events: Sequence[Event], person: Person, setup: LineSetup) -> str:
    return "; ".join(event_text(event, setup, person.say) for event in events[:_EVENTS])
