"""What is true behind the scenes of a practice shift, and what the trainer may change in it."""

from enum import StrEnum

from msgspec import Struct

from washmon.sessions.practice.parameters import Dirtiness


class SamplePlace(StrEnum):
    """Where samples are taken of a tank: it matters as long as a dose has not mixed in."""

    ANYWHERE = "anywhere"
    INLET = "inlet"
    """Where doses go in."""
    OUTLET = "outlet"
    """Where a dose comes last."""


class Source(Struct, frozen=True, kw_only=True):
    """What comes out of the tap; ``demand_mg_l`` is the chlorine that it uses up by itself."""

    alkalinity_mg_l: float = 100.0
    ph: float = 7.4
    celsius: float = 12.0
    chloride_mg_l: float = 20.0
    ntu: float = 1.0
    demand_mg_l: float = 1.0


class World(Struct, frozen=True, kw_only=True):
    """The truth that nobody on the line is told.

    Shares are against what set-up or label say: ``strength`` of the hypochlorite, ``volume`` of
    each tank, ``strip`` of what a fresh strip would show. ``None`` lets the seed decide.
    """

    commodity: str = "leafy_greens"
    dirtiness: Dirtiness = Dirtiness.USUAL
    source: Source = Source()
    pulp_c: float = 14.0
    air_c: float = 20.0
    strength_share: float | None = None
    volume_share: float | None = None
    strip_share: float = 1.0
    decay_share: float = 1.0
    """Loss of chlorine to light and air against the usual: 2 or more in the sun."""
    demand_share: float = 1.0
    """Chlorine demand of the produce against the usual of its commodity and dirtiness."""
    acid_share: float = 1.0
    """What the produce takes from the alkalinity, against the usual of its commodity."""
    mixing_share: float = 1.0
    """How fast a dose mixes in, against the usual."""
    samples_at: SamplePlace = SamplePlace.ANYWHERE
    makeup_l_min: float = 0.0
    """Fresh water that runs into each tank all the time; as much runs over."""
    float_valve: bool = True
    """Whether what leaves with the produce is replaced by fresh water."""
