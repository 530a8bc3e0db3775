"""The kinds of event: each declared once, with all that holds of it wherever it is shown.

Fold, checks, the line that says what was entered, the list of corrections, Logbook, print, CSV,
replay and the menu read :data:`KINDS`. What an entry is typed into is a sheet: of each
:class:`EntryKind` there is a form in ``gui/entry/forms.py``.
"""

from collections.abc import Callable, Iterator
from enum import StrEnum
from typing import Any

from msgspec import Struct

from washmon.line import events, flag_events, folds, learned, practice_events, site_events, words
from washmon.line.events import Corrected, Event
from washmon.line.flags import StepKind
from washmon.line.message import Message, Phrase
from washmon.line.setup import LineSetup
from washmon.line.state import ShiftState

Sentence = Callable[[Any, LineSetup], Iterator[Message]]
Fold = Callable[[ShiftState, int, Any], ShiftState]


class EntryKind(StrEnum):
    """What can be entered during a shift, each on a sheet of its own; in the order of the menu."""

    READING = "reading"
    BATCH = "batch"
    DOSE = "dose"
    ACID = "acid"
    WATER = "water change"
    HOLD = "hold"
    NOTE = "note"
    SHELVE = "shelve"
    INSTRUMENT = "instrument check"
    SENT = "sent"
    CLOCK = "times were wrong"
    PAUSE = "pause"
    RESUME = "resume"
    HAND_OVER = "hand-over"
    RELEASE = "release"
    CORRECTION = "correction"


class EventKind(Struct, frozen=True, kw_only=True):
    """What holds of a kind of event. All texts are English, translated where they are shown.

    Args:
        event: its type.
        name: over what is listed of it.
        sentence: tells it: a head, and details.
        fold: what it does to the state of a shift.
        sheet: on which it is entered, and corrected if it can be.
        needs: texts that a person must write in it.
        answers: steps that it says were taken.
        in_order: it is folded in the order of what happened, not of what was written down.
        after_end: it may come after the end of its shift.
        is_now: it has no time of its own to enter.
        action: what it is called in the CSV file of actions; empty where it stands in another.
        in_actions: the Logbook lists it among the actions, not on a page of its own.
        menu: how the menu of the window offers it; empty where a button of the row does.
        of_site: it stands on the site's own chain, not on that of a shift.
    """

    event: type[Event]
    name: str
    sentence: Sentence
    fold: Fold = folds.unchanged
    sheet: EntryKind | None = None
    needs: tuple[str, ...] = ()
    answers: tuple[StepKind, ...] = ()
    in_order: bool = False
    after_end: bool = False
    is_now: bool = False
    action: str = ""
    in_actions: bool = True
    menu: str = ""
    of_site: bool = False


_ALL = (
    EventKind(
        event=site_events.SetupSaved, of_site=True, name="Set-up", sentence=words.setup_saved
    ),
    EventKind(
        event=events.ShiftStarted,
        name="Start of shift",
        sentence=words.started,
        action="shift started",
    ),
    EventKind(
        event=events.TankFilled,
        name="Filling",
        sentence=words.filled,
        fold=folds.filled,
        sheet=EntryKind.WATER,
        answers=(StepKind.LEAVE, StepKind.CHANGE_WATER, StepKind.FILL),
        in_order=True,
        action="filled",
    ),
    EventKind(
        event=events.WaterExchanged,
        name="Water exchange",
        sentence=words.exchanged,
        fold=folds.exchanged,
        sheet=EntryKind.WATER,
        answers=(StepKind.LOWER,),
        in_order=True,
        action="water exchanged",
    ),
    EventKind(
        event=events.SecondSwapped,
        name="Swap of water",
        sentence=words.plainly("Second fill of tank {tank} swapped in"),
        fold=folds.swapped,
        sheet=EntryKind.WATER,
        in_order=True,
        action="second fill swapped in",
    ),
    EventKind(
        event=events.DoseAdded,
        name="Dose",
        sentence=words.dosed,
        fold=folds.dosed,
        sheet=EntryKind.DOSE,
        answers=(StepKind.DOSE,),
        in_order=True,
        action="dose",
    ),
    EventKind(
        event=events.AcidAdded,
        name="Acid",
        sentence=words.acidified,
        fold=folds.acidified,
        sheet=EntryKind.ACID,
        answers=(StepKind.ACID,),
        in_order=True,
        action="acid",
    ),
    EventKind(
        event=events.ReadingTaken,
        name="Reading",
        sentence=words.read,
        fold=folds.read,
        sheet=EntryKind.READING,
        answers=(StepKind.CHECK, StepKind.WARM),
        in_order=True,
    ),
    EventKind(
        event=events.BatchWashed,
        name="Batch",
        sentence=words.washed,
        fold=folds.washed,
        sheet=EntryKind.BATCH,
        answers=(StepKind.CONTACT,),
        in_order=True,
    ),
    EventKind(
        event=events.LinePaused,
        name="Pause of the line",
        sentence=words.plainly("Line paused", "{reason}"),
        fold=folds.paused,
        sheet=EntryKind.PAUSE,
        needs=("reason",),
        in_order=True,
        action="line paused",
        menu="Pause the line",
    ),
    EventKind(
        event=events.LineResumed,
        name="Line goes on",
        sentence=words.plainly("Line goes on"),
        fold=folds.resumed,
        sheet=EntryKind.RESUME,
        in_order=True,
        action="line resumed",
    ),
    EventKind(
        event=events.ClockChanged,
        name="Clock",
        sentence=words.clock_changed,
        sheet=EntryKind.CLOCK,
        after_end=True,
        is_now=True,
        action="clock set",
        menu="Times were wrong",
    ),
    EventKind(
        event=events.NoteWritten,
        name="Note",
        sentence=words.noted,
        fold=folds.noted,
        sheet=EntryKind.NOTE,
        needs=("text",),
        after_end=True,
        action="note",
    ),
    EventKind(
        event=events.LotSent,
        name="Sent",
        sentence=words.sent,
        sheet=EntryKind.SENT,
        needs=("lot", "to"),
        after_end=True,
        action="sent",
        menu="Where a lot was sent",
    ),
    EventKind(
        event=events.InstrumentChecked,
        name="Instrument check",
        sentence=words.verified,
        fold=folds.verified,
        sheet=EntryKind.INSTRUMENT,
        answers=(StepKind.VERIFY,),
        action="instrument check",
        menu="Check of an instrument",
    ),
    EventKind(
        event=events.RegistersTold,
        name="Registers",
        sentence=words.registers_told,
        fold=folds.registered,
        action="registers changed",
    ),
    EventKind(
        event=events.HoldPlaced,
        name="Hold",
        sentence=words.held,
        fold=folds.held,
        sheet=EntryKind.HOLD,
        answers=(StepKind.HOLD,),
        after_end=True,
        action="hold",
    ),
    EventKind(
        event=events.HoldReleased,
        name="Decision on a hold",
        sentence=words.released,
        fold=folds.released,
        sheet=EntryKind.RELEASE,
        after_end=True,
        action="release",
        menu="Decide about held product",
    ),
    EventKind(
        event=flag_events.Acknowledged,
        name="Flag seen",
        sentence=words.acknowledged,
        fold=folds.acknowledged,
        action="flag seen",
        in_actions=False,
    ),
    EventKind(
        event=flag_events.FlagShelved,
        name="Flag shelved",
        sentence=words.shelved,
        fold=folds.shelved,
        sheet=EntryKind.SHELVE,
        is_now=True,
        action="flag shelved",
    ),
    EventKind(
        event=flag_events.FlagUnshelved,
        name="Flag brought back",
        sentence=words.unshelved,
        fold=folds.unshelved,
        action="flag brought back",
    ),
    EventKind(
        event=events.Corrected,
        name="Correction",
        sentence=words.corrected,
        sheet=EntryKind.CORRECTION,
        after_end=True,
        action="correction",
        in_actions=False,
    ),
    EventKind(
        event=events.HandedOver,
        name="Hand-over",
        sentence=words.handed_over,
        fold=folds.handed_over,
        sheet=EntryKind.HAND_OVER,
        is_now=True,
        action="hand-over",
        menu="Hand over the shift",
    ),
    EventKind(
        event=events.ShiftEnded,
        name="End of shift",
        sentence=words.ended,
        fold=folds.ended,
        action="shift ended",
    ),
    EventKind(
        event=events.ShiftSigned,
        name="Signature",
        sentence=words.plainly("Shift signed by {by}", "{role}"),
        after_end=True,
        action="signature",
    ),
    EventKind(
        event=events.ShiftReviewed,
        name="Review",
        sentence=words.plainly("Shift reviewed by {by}", "{role}", "{note}"),
        after_end=True,
        action="review",
    ),
    EventKind(
        event=flag_events.FlagsChanged,
        name="Flags",
        sentence=words.flags_changed,
        fold=folds.flags_changed,
    ),
    EventKind(
        event=learned.UsualLearned,
        name="Learned",
        sentence=words.plainly("The forecast begins with what the shifts before taught"),
        fold=folds.learned,
    ),
    EventKind(event=practice_events.BehindTheScenes, name="Practice", sentence=words.behind),
    EventKind(
        event=site_events.PinSet,
        of_site=True,
        name="PIN",
        sentence=words.plainly("New PIN of {who}"),
    ),
    EventKind(
        event=site_events.PinReset,
        of_site=True,
        name="PIN",
        sentence=words.plainly("PIN of {who} taken away"),
    ),
    EventKind(
        event=site_events.PinMistaken,
        of_site=True,
        name="Wrong PIN",
        sentence=words.plainly("A wrong PIN for {by}"),
    ),
    EventKind(
        event=site_events.BackupRestored,
        of_site=True,
        name="Backup put back",
        sentence=words.plainly("The backup {backup} was put in the place of the database"),
    ),
    EventKind(
        event=site_events.ThingRegistered, of_site=True, name="Registers", sentence=words.registered
    ),
    EventKind(
        event=site_events.RegistersUsed,
        of_site=True,
        name="Used",
        sentence=words.plainly("Registers after shift {shift}"),
    ),
    EventKind(event=site_events.CourseSet, of_site=True, name="Course", sentence=words.course_set),
    EventKind(
        event=site_events.TrainingSigned, of_site=True, name="Training", sentence=words.trained
    ),
)

KINDS: dict[type, EventKind] = {one.event: one for one in _ALL}
ACTIONS: tuple[type[Event], ...] = tuple(one.event for one in _ALL if one.action)
"""What the CSV file of actions and the printed record list, in the order of their names."""
LISTED_ACTIONS = tuple(event for event in ACTIONS if KINDS[event].in_actions)


def phrases(event: Event, setup: LineSetup) -> tuple[Phrase, ...]:
    """Return an event as a head and its details, each whole and to be translated by itself.

    ``setup`` is the one that its shift runs on. :func:`washmon.line.message.spoken` makes one line
    of them.
    """
    found: tuple[Phrase, ...] = tuple(KINDS[type(event)].sentence(event, setup))
    if isinstance(event, Corrected) and event.instead is not None:
        return (found[0], phrases(event.instead, setup), *found[1:])
    return found


def entry_kind(event: Event) -> EntryKind:
    """Return on which sheet an entry was made.

    Raises:
        KeyError: on none, so it can't be corrected.
    """
    sheet = KINDS[type(event)].sheet
    if sheet is None:
        raise KeyError(type(event))
    return sheet


def entry_for(step: StepKind) -> EntryKind | None:
    """Return the sheet on which it is said that a step was taken, if there is one for it."""
    return next((one.sheet for one in _ALL if step in one.answers), None)


def menu_words(kind: EntryKind) -> str:
    """Return how the menu offers a kind of entry; empty where it does not."""
    return next((one.menu for one in _ALL if one.sheet is kind and one.menu), "")
