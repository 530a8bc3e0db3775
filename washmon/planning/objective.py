"""What the planner aims at: chances it accepts and minutes it reckons with, each with its reason.

All are common practice, no published source, unless a line says otherwise. Raise :data:`VERSION`
whenever one of them changes: a journaled plan names the version by which it was chosen.
"""

from msgspec import Struct

from washmon.line.events import Method

VERSION = 1

RISK = 0.02
"""Accepted chance that a batch meets less than the critical low. It is reached only by the last
batch before a check, so over all batches it is several times less."""
LOW_RISK = 0.5
"""Accepted chance that a batch meets less than the operating low, which is there to warn: as likely
as not."""
HIGH_CHANCE = 0.25
"""Accepted chance that a dose lifts the level over the operating high."""
PH_RISK = 0.05
"""Accepted chance that the pH falls under its low limit before it is read again."""
HORIZON = 20
"""Batches looked ahead: what lasts longer is as good as this."""
FAR_MIN = 120.0
"""Minutes that a plan looks ahead at the most."""
SETTLED_MIN = 5.0
"""After mixing: by then the fast demand has had its share (Weng et al.: half within 5 min)."""
STEADY_MIN = 10.0
"""So long a step once said stands, unless a limit is touched or somebody answers it: whoever turns
to fetch the product finds the same words when coming back, as long as they are still right."""
NO_DOSE_RISK = 0.03
"""Chance that the next batch meets less than the critical low, over which water that no dose can
help is changed: fed on, it would be found too low soon, with a batch to hold."""
WORTH_ALWAYS = 0.15
"""Of a full dose: less is never worth a walk where nothing presses; so much always is where the
water is not good for two batches more."""
WORTH_UNREAD = 3
"""A dose into water that was not read since is worth a walk where it lasts so many batches."""
PAUSE_MIN = 10.0
"""After a pause of so long each tank is read once before it washes on."""
TOGETHER_BATCHES = 1
"""A check that is due so soon joins the round that is made now: one walk, one set of strips."""
UNSURE_AFTER_ACID = 3
"""Batches until a check, where the water's buffer is not known narrowly yet."""
PH_JUMP = 0.8
"""So far no pH rises by itself between two readings; by strip each may be off by 0.3."""
SURPRISE = 0.02
"""A reading so far off what was predicted, or farther, comes once in fifty: it is told."""


class Work(Struct, frozen=True, kw_only=True):
    """Minutes of a person's time that each thing takes, walk and writing down included."""

    strip: float = 2.0
    kit: float = 4.0
    meter: float = 3.0
    """A check of level and pH by these methods."""
    dose: float = 2.5
    acid: float = 2.5
    exchange: float = 12.0
    swap: float = 5.0
    change: float = 30.0
    """Draining, cleaning, refilling; the first dose, its wait and its check count apart."""
    standstill: float = 1.0
    """A minute in which the line stands still counts as much as a minute of work."""

    def check(self, method: Method) -> float:
        """Return the minutes of a check by a method."""
        return {Method.STRIP: self.strip, Method.KIT: self.kit}.get(method, self.meter)


WORK = Work()
