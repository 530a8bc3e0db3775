"""What happens to a site rather than on a line: set-ups, PINs, a backup put back."""

from washmon.line.event_base import Anchoring, Happened
from washmon.line.registers import Thing
from washmon.line.setup import LineSetup, Role
from washmon.line.training import Course, Trained


class SetupSaved(Anchoring, frozen=True, kw_only=True, tag="setup saved"):
    """A set-up was written down (on the site's chain, not on a shift's)."""

    setup: LineSetup


class PinSet(Anchoring, frozen=True, kw_only=True, tag="PIN set"):
    """Somebody (``who``) has a new PIN, on the site's chain; only its hash is ever written.

    ``role`` is what they sign as with it: a role that is only changed in the set-up signs nothing.
    """

    who: str
    hash: str
    role: Role | None = None


class PinReset(Anchoring, frozen=True, kw_only=True, tag="PIN reset"):
    """A manager took somebody's PIN away, so that a new one can be chosen, for ``role``."""

    who: str
    role: Role | None = None


class PinMistaken(Happened, frozen=True, kw_only=True, tag="PIN mistaken"):
    """A wrong PIN was given for the person in ``by``."""


class BackupRestored(Anchoring, frozen=True, kw_only=True, tag="backup restored"):
    """A backup took the place of the database, on the site's chain: what it lacked is gone.

    ``backup`` is the name of its file.
    """

    backup: str


class ThingRegistered(Anchoring, frozen=True, kw_only=True, tag="registered"):
    """An instrument, pack, container or paper is registered, changed or retired."""

    what: Thing


class RegistersUsed(Anchoring, frozen=True, kw_only=True, tag="registers used"):
    """What a shift used of the registers.

    It is written when the shift ended, and again when a later correction changed it: the newest of
    a shift holds. ``drawn`` is in the unit of each container, mL or g.
    """

    shift: str
    drawn: dict[str, float]
    made_with: dict[str, str]


class CourseSet(Anchoring, frozen=True, kw_only=True, tag="course set"):
    """Which scenarios people are trained with, and what passes."""

    course: Course


class TrainingSigned(Anchoring, frozen=True, kw_only=True, tag="training signed"):
    """A trainer (``by``) signed a practice attempt off."""

    what: Trained


SiteEvent = (
    SetupSaved
    | PinSet
    | PinReset
    | PinMistaken
    | BackupRestored
    | ThingRegistered
    | RegistersUsed
    | CourseSet
    | TrainingSigned
)
"""All that stands on the site's chain."""
