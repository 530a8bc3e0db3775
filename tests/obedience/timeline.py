"""One shift retold: each line a moment, with the truth, what the Board said, and what was done."""

from tests.obedience.adapter import next_step
from tests.obedience.floor import Floor
from tests.obedience.world import World
from washmon.line.events import Method
from washmon.line.flags import Condition
from washmon.line.message import say
from washmon.planning.advice import Advice
from washmon.units import UnitSystem

_MARKS = {
    Condition.STOP: "STOP",
    Condition.ACT: "act",
    Condition.WATCH: "watch",
    Condition.IN_LIMITS: "ok",
    Condition.UNKNOWN: "?",
}


class Timeline:
    """Keeps the lines; a shift that nobody wants retold keeps none."""

    def __init__(self, *, kept: bool) -> None:
        self._kept = kept
        self.lines: list[str] = []
        self._said: dict[int, str] = {}

    def did(self, floor: Floor, what: str) -> None:
        """Write down what was done, with the truth after it."""
        if not self._kept:
            return
        truth = "  ".join(
            f"T{number} {vessel.basin.free:5.1f}/{vessel.basin.ph:4.2f}/{vessel.basin.held.ntu:.0f}"
            for number, vessel in floor.tanks.items()
        )
        over = {name for vessel in floor.tanks.values() for name in vessel.over}
        mark = f"  << OVER {', '.join(sorted(over))}" if over else ""
        self.lines.append(f"{floor.minutes:6.1f} b{floor.washed:<3} | {truth} | {what}{mark}")

    def told(self, floor: Floor, advice: Advice, taste: UnitSystem) -> None:
        """Write down what the Board says, where it is not what it said before."""
        if not self._kept:
            return
        for one in advice.tanks:
            flags = ", ".join(f"{flag.level[0]}:{flag.rule}" for flag in one.flags) or "-"
            said = say(one.step.say, taste)
            deed = next_step(advice, one.tank, taste).deed
            line = f"T{one.tank} {_MARKS[one.condition]:5} [{flags}] {said} => {deed}"
            if one.second is not None and one.second.step is not None:
                line += f" ; second: {say(one.second.step.say, taste)}"
            if self._said.get(one.tank) != line:
                self._said[one.tank] = line
                self.lines.append(f"{floor.minutes:6.1f} b{floor.washed:<3} |   BOARD {line}")


def heading(world: World) -> list[str]:
    """Return what is true of a world and what its set-up says, in a few lines."""
    setup, gauges, m = world.setup, world.gauges, world.mechanism
    product, told = setup.sanitizers[0], setup.source
    acid = setup.acids[0] if setup.acids else None
    share, caustic = world.strength_share, world.caustic
    pads = gauges.pads if gauges.level_by is Method.STRIP else ""
    by_acid = f"{acid.name} {acid.strength_pct} %" if acid else "none"
    lines = [
        f"seed {world.seed}: {len(world.batches)} batches, {setup.commodity}, {setup.taste}",
        f"  measures {', '.join(setup.measures) or 'usual'}; breaks {world.breaks}",
        f"  {product.name} {product.strength} ({product.basis}), true share {share:.2f}",
        f"  caustic {caustic:.2f}; acid {by_acid}; {m.family}, pace {world.pace:.2f}",
        f"  source {world.source[0]:.0f} mg/L pH {world.source[1]:.2f}, slips {world.slips}",
        f"  told of it {told.alkalinity_mg_l} mg/L pH {told.ph}",
        f"  level by {gauges.level_by} {pads} {gauges.level_bias:+.3f}±{gauges.level_error:.2f}",
        f"  pH by {gauges.ph_by} {gauges.ph_step} off {gauges.ph_bias:+.2f}±{gauges.ph_error:.2f}",
    ]
    for tank in setup.tanks:
        limits = tank.limits
        lines.append(
            f"  T{tank.number} {tank.volume_l:g} L {tank.stage}: {limits.critical_low_mg_l:g}/"
            f"{limits.low_mg_l:g}/{limits.target_mg_l:g}/{limits.high_mg_l:g}/"
            f"{limits.label_max_mg_l:g}, pH {tank.ph.low}/{tank.ph.target}/{tank.ph.high}, mix "
            f"{tank.mix_minutes:g}, checks {tank.check_batches}/{tank.check_minutes}, fill "
            f"{tank.batches_per_fill} b {tank.hours_per_fill} h {tank.turbidity_max_ntu} NTU, "
            f"second {tank.second_volume_l}"
        )
    usual = sum(one.demand for one in world.batches) / len(world.batches) * world.released
    lines.append(f"  mean use {usual:.1f} mg/L a batch in T1, lots " + _lots(world))
    return lines


def _lots(world: World) -> str:
    found: dict[str, list[float]] = {}
    for batch in world.batches:
        found.setdefault(batch.lot, []).append(batch.demand * world.released)
    return ", ".join(f"{lot} {sum(use) / len(use):.1f}" for lot, use in found.items())
