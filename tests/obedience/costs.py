"""How many minutes each act takes one person, for the Board's supervisor and for every habit alike.

All of it is common practice, no published source: what counts is that everybody pays the same.
"""

from msgspec import Struct, structs

from washmon.line.events import Method


class Costs(Struct, frozen=True, kw_only=True):
    """Minutes of one pair of hands. Acts of one person follow each other."""

    batch: float = 3.2
    """Through the line, at a pace of 1; worlds have paces of 0.7 to 1.4."""
    strip: float = 0.9
    """A strip for the level in one tank: draw, dip, wait, compare."""
    kit: float = 2.0
    meter: float = 1.5
    ph: float = 0.4
    """pH beside the level, by strip or meter; alone it takes as much again for the way there."""
    cloudiness: float = 0.3
    further_strip: float = 0.5
    """Of the time of one tank's check, for each further tank of the same round by strips."""
    further_other: float = 0.85
    """The same by kit or meter: samples are measured one after another."""
    entry: float = 0.1
    """Writing one thing down."""
    addition: float = 1.0
    """Measure out, pour, stir."""
    fill: float = 3.0
    """Drain, rinse out and set the hose; the water runs in at ``flow_l_min`` besides."""
    flow_l_min: float = 100.0
    fill_most: float = 30.0
    exchange: float = 2.0
    """Open drain and hose; what is exchanged runs at the same flow."""
    swap: float = 3.0
    second_fill: float = 1.0
    """Set a hose into the second vessel and take it out; meanwhile the hands are free."""
    hold: float = 1.0
    airing: float = 15.0
    look: float = 0.0
    """A glance at the Board."""

    def level(self, method: Method) -> float:
        """Return the minutes of one level by a method."""
        return {Method.STRIP: self.strip, Method.KIT: self.kit}.get(method, self.meter)

    def further(self, method: Method) -> float:
        """Return what share of them each further tank of a round takes."""
        return self.further_strip if method is Method.STRIP else self.further_other

    def filling(self, volume_l: float) -> float:
        """Return the minutes of draining and filling a tank."""
        return min(self.fill_most, self.fill + volume_l / self.flow_l_min)

    def exchanging(self, volume_l: float) -> float:
        """Return the minutes of exchanging so much water."""
        return min(self.fill_most, self.exchange + 2.0 * volume_l / self.flow_l_min)


COSTS = Costs()


def listed(costs: Costs = COSTS) -> str:
    """Return them in one line, as they are printed above each table."""
    return ", ".join(f"{name} {value:g}" for name, value in structs.asdict(costs).items())
