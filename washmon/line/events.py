"""Everything that can happen on a line, as the journal keeps it.

Events are the truth: nothing is edited or deleted. ``at`` is when it happened, ``by`` the initials
of who says so. When it was written down stands in the journal entry around it
(:mod:`washmon.line.journal`). Fields may be added with a default; none may be renamed or removed,
or old shifts would no longer open.
"""

from datetime import date
from enum import StrEnum

from msgspec import UNSET, Struct, UnsetType

from washmon.line.event_base import Anchoring, Happened, Signature
from washmon.line.flag_events import Acknowledged, FlagShelved, FlagUnshelved
from washmon.line.flags import Amount
from washmon.line.learned import OfProgram
from washmon.line.practice_events import BehindTheScenes
from washmon.line.registers import Registers, Thing
from washmon.line.setup import LineSetup, Look, Lot, Role
from washmon.line.site_events import SiteEvent


class Method(StrEnum):
    """How a value was come by."""

    STRIP = "strip"
    KIT = "kit"
    METER = "meter"


class Instrument(StrEnum):
    """What is measured with, as far as it can be wrong without looking wrong."""

    PH_METER = "pH meter"
    CHLORINE = "chlorine kit or meter"
    ORP_PROBE = "ORP probe"
    STRIPS = "test strips"
    TURBIDITY = "turbidity meter"
    THERMOMETER = "thermometer"


class Decision(StrEnum):
    """What is done with held product."""

    WASH_AGAIN = "wash again"
    DIVERT = "divert"
    DISCARD = "discard"
    RELEASE = "release"


class Pause(StrEnum):
    """Why a line stands still, most often."""

    BREAK = "break"
    BREAKDOWN = "breakdown"


class Limit(StrEnum):
    """What put batches in question."""

    UNCHECKED = "water not found good yet"
    LOW = "critical low"
    LABEL = "label maximum"
    PH = "pH"
    TEMPERATURE = "temperature"
    CONTACT = "contact time"


class Checked(Struct, frozen=True, kw_only=True):
    """One line of the pre-wash check list."""

    item: str
    done: bool


class ShiftStarted(Anchoring, frozen=True, kw_only=True, tag="shift started"):
    """A shift began, with the set-up it runs on; ``by`` is its supervisor.

    ``after`` names the chain and hash that the journal ended with, so that a shift that vanishes
    is missed.
    """

    setup: LineSetup
    lots: tuple[Lot, ...]
    checks: tuple[Checked, ...] = ()
    after: tuple[str, str] | None = None
    practice: bool = False
    imported: str = ""
    """The file that the shift was taken over from, where it was kept in a spreadsheet."""
    registers: Registers | UnsetType = UNSET
    """What was in use then; the program writes it as it takes the entry, where anything is."""


class TankFilled(Happened, frozen=True, kw_only=True, tag="tank filled"):
    """A fill began: the tank was filled, or its water changed. ``volume_l`` in litres.

    A ``second`` fill is made ready in a vessel of its own, until it is swapped in.
    """

    tank: int
    volume_l: float
    doubts: tuple[str, ...] = ()
    second: bool = False


class WaterExchanged(Happened, frozen=True, kw_only=True, tag="water exchanged"):
    """Part of the water was drained and as much fresh water put in, within the same fill."""

    tank: int
    volume_l: float
    doubts: tuple[str, ...] = ()
    second: bool = False


class SecondSwapped(Happened, frozen=True, kw_only=True, tag="second fill swapped in"):
    """The second fill of a tank took the place of its water, which was drained."""

    tank: int
    doubts: tuple[str, ...] = ()


class DoseAdded(Happened, frozen=True, kw_only=True, tag="dose added"):
    """Sanitizer went into a tank; ``as_entered`` is what the person wrote."""

    tank: int
    product: str
    amount: Amount
    as_entered: str = ""
    doubts: tuple[str, ...] = ()
    second: bool = False
    container: str | UnsetType = UNSET
    """The key of what it was poured from, where that is registered."""


class AcidAdded(Happened, frozen=True, kw_only=True, tag="acid added"):
    """Acid went into a tank; ``as_entered`` is what the person wrote."""

    tank: int
    product: str
    amount: Amount
    as_entered: str = ""
    doubts: tuple[str, ...] = ()
    second: bool = False
    container: str | UnsetType = UNSET


class ReadingTaken(Happened, frozen=True, kw_only=True, tag="reading taken"):
    """What was measured in a tank; each value may be missing.

    Chlorine in mg/L as Cl2, peracetic acid and hydrogen peroxide in mg/L, turbidity in NTU,
    temperatures in degrees Celsius, ORP in mV.
    """

    tank: int
    fac_mg_l: float | None = None
    fac_method: Method = Method.STRIP
    total_mg_l: float | None = None
    ph: float | None = None
    ph_method: Method = Method.METER
    turbidity_ntu: float | None = None
    look: Look | None = None
    water_c: float | None = None
    pulp_c: float | None = None
    orp_mv: float | None = None
    doubts: tuple[str, ...] = ()
    paa_mg_l: float | None = None
    paa_method: Method = Method.STRIP
    peroxide_mg_l: float | None = None
    second: bool = False
    made_with: dict[str, str] | UnsetType = UNSET
    """By field, the key of the instrument or pack, where one is registered."""
    reagents: dict[str, str] | UnsetType = UNSET
    """By field, the key of the reagent that an instrument used, where one is registered."""


class BatchWashed(Happened, frozen=True, kw_only=True, tag="batch washed"):
    """A batch went through these tanks; ``contact_s`` is the time it stayed in each, in seconds."""

    tanks: tuple[int, ...]
    lot: str
    weight_kg: float | None = None
    contact_s: float | None = None
    doubts: tuple[str, ...] = ()


class LinePaused(Happened, frozen=True, kw_only=True, tag="line paused"):
    """Nothing is fed for a while; the water grows older all the same.

    ``reason`` is one of :class:`Pause`, or a person's own words. The line goes on with
    :class:`LineResumed`, or with the next batch or reading of water in use.
    """

    reason: str = Pause.BREAK


class LineResumed(Happened, frozen=True, kw_only=True, tag="line resumed"):
    """The line goes on after a pause."""


class ClockChanged(Happened, frozen=True, kw_only=True, tag="clock changed"):
    """The computer's clock was set ``by_s`` seconds forward (or back), or had been wrong by that.

    All entries before it count as so much later; ``at`` is a time of the clock as it is since.
    """

    by_s: int
    reason: str = ""


class NoteWritten(Happened, frozen=True, kw_only=True, tag="note written"):
    """A remark on a tank, or on the line."""

    text: str
    tank: int | None = None


class InstrumentChecked(Happened, frozen=True, kw_only=True, tag="instrument checked"):
    """An instrument was tried against a standard, or a new pack of strips was opened.

    ``standard`` and ``found`` are in the unit of what it measures: pH, mg/L or mV. ``fit`` says
    whether it may be used from then on, after it was adjusted if it was.
    """

    instrument: Instrument
    standard: float | None = None
    found: float | None = None
    against: str = ""
    """What it was tried against: buffers, a standard solution, a kit; with lots."""
    adjusted: bool = False
    fit: bool = True
    lot: str = ""
    """Of the strips in use from then on."""
    use_by: date | None = None
    doubts: tuple[str, ...] = ()
    which: str | UnsetType = UNSET
    """The key of the instrument or pack, where it is registered."""


class HoldPlaced(Happened, frozen=True, kw_only=True, tag="hold placed"):
    """Batches (by their place in the journal) must not be sold until somebody decides.

    The program writes the last two as it takes the entry; what a person sends there is not kept.
    """

    tank: int
    batches: tuple[int, ...]
    reason: str
    chances: tuple[float | None, ...] = ()
    """How likely each batch was washed in less free chlorine than the critical low, 0 to 1, as it
    was estimated then; None where it was not, and nothing at all where none was."""
    failed: tuple[Limit, ...] = ()
    """What put them in question; nothing where no rule did."""


class HoldReleased(Happened, frozen=True, kw_only=True, tag="hold released"):
    """What was decided for all batches of one hold (by its place in the journal).

    With ``decision`` and ``reason`` (what was done to the product, and why) the other texts make up
    the corrective action: what was found, done to the water, and done so that it does not recur.
    """

    hold: int
    decision: Decision
    reason: str
    found: str = ""
    water: str = ""
    prevention: str = ""
    doubts: tuple[str, ...] = ()


class HandedOver(Happened, frozen=True, kw_only=True, tag="handed over"):
    """The shift went to another person (initials), who ``confirmed`` it at the same sheet."""

    to: str
    note: str = ""
    confirmed: bool = False


class ShiftEnded(Anchoring, frozen=True, kw_only=True, tag="shift ended"):
    """The shift is over; open holds go to a named person."""

    note: str = ""
    holds_to: str | None = None
    doubts: tuple[str, ...] = ()


class ShiftSigned(Signature, frozen=True, kw_only=True, tag="shift signed"):
    """Who led the shift stands by its record; ``doubts`` say what it lacked."""

    role: Role
    doubts: tuple[str, ...] = ()


class ShiftReviewed(Signature, frozen=True, kw_only=True, tag="shift reviewed"):
    """A manager has gone through the record; ``doubts`` say what it lacked.

    ``days`` are the working days that it took, by the site's calendar then (the recorder writes
    them; None in older journals). ``together``: with others in which nothing deviates.
    """

    role: Role
    note: str = ""
    doubts: tuple[str, ...] = ()
    days: int | None = None
    together: bool = False


class LotSent(Happened, frozen=True, kw_only=True, tag="lot sent"):
    """Produce of a lot left: ``to`` a customer or with a load, under the number of a document.

    Which batches it is about says :func:`washmon.line.sent.destinations`.
    """

    lot: str
    to: str
    reference: str = ""
    sent_kg: float | None = None
    doubts: tuple[str, ...] = ()


class RegistersTold(Happened, frozen=True, kw_only=True, tag="registers told"):
    """What was registered, changed or retired while a shift ran; the recorder tells it."""

    things: tuple[Thing, ...]


WaterEvent = (
    TankFilled | WaterExchanged | SecondSwapped | DoseAdded | AcidAdded | ReadingTaken | BatchWashed
)
"""What touches water or produce."""

Correctable = (
    TankFilled
    | WaterExchanged
    | SecondSwapped
    | DoseAdded
    | AcidAdded
    | ReadingTaken
    | BatchWashed
    | LinePaused
    | LineResumed
    | NoteWritten
    | HoldPlaced
    | InstrumentChecked
    | LotSent
)


class Corrected(Happened, frozen=True, kw_only=True, tag="corrected"):
    """An earlier entry was wrong: this is right instead, or (``None``) it never happened."""

    entry: int
    reason: str
    instead: Correctable | None = None
    doubts: tuple[str, ...] = ()


Event = (
    SiteEvent
    | ShiftStarted
    | TankFilled
    | WaterExchanged
    | SecondSwapped
    | DoseAdded
    | AcidAdded
    | ReadingTaken
    | BatchWashed
    | LinePaused
    | LineResumed
    | ClockChanged
    | NoteWritten
    | InstrumentChecked
    | HoldPlaced
    | HoldReleased
    | Acknowledged
    | FlagShelved
    | FlagUnshelved
    | HandedOver
    | ShiftEnded
    | OfProgram
    | Corrected
    | BehindTheScenes
    | ShiftSigned
    | ShiftReviewed
    | RegistersTold
    | LotSent
)
