"""The hands of the supervisor: each act is done to the hidden water and written down."""

from tests.obedience.adapter import Deed, Todo
from tests.obedience.floor import Floor, Read
from tests.obedience.pen import Pen
from tests.obedience.program import Program
from tests.obedience.sheds import WHO
from tests.obedience.timeline import Timeline
from tests.obedience.watching import Watch
from washmon.line.events import (
    AcidAdded,
    BatchWashed,
    DoseAdded,
    HoldPlaced,
    LinePaused,
    LineResumed,
    ReadingTaken,
    SecondSwapped,
    TankFilled,
    WaterExchanged,
)
from washmon.line.flags import Amount
from washmon.rules.in_question import since_last_good_check


class Hands:
    """Do what a todo asks for; each method passes its minutes and enters what was done."""

    def __init__(self, floor: Floor, pen: Pen, watch: Watch, lines: Timeline) -> None:
        self._floor, self._pen, self._watch, self._lines = floor, pen, watch, lines

    def do(self, todo: Todo) -> None:
        """Do anything but a check.

        Raises:
            Refused: the program would not take the entry.
        """
        self._watch.done(todo)
        match todo.deed:
            case Deed.LEAVE:
                self._floor.spend(self._floor.costs.airing)
                self._lines.did(self._floor, "left the tank, aired the room")
                self.fill(todo.tank)
            case Deed.HOLD:
                self._hold(todo)
            case Deed.SWAP:
                self._swap(todo.tank)
            case Deed.CHANGE | Deed.FILL:
                self.fill(todo.tank, second=todo.second)
            case Deed.EXCHANGE:
                self._exchange(todo)
            case _:
                self._add(todo)

    def _add(self, todo: Todo) -> None:
        floor, amount = self._floor, todo.amount or 0.0
        kind: type[DoseAdded | AcidAdded] = DoseAdded if todo.deed is Deed.DOSE else AcidAdded

        def event() -> DoseAdded | AcidAdded:
            return kind(
                at=Program.at(floor.minutes),
                by=WHO,
                tank=todo.tank,
                product=todo.product,
                amount=Amount(amount, todo.unit),
                second=todo.second,
            )

        if self._pen.already(event(), floor.minutes):
            self._lines.did(floor, f"{todo.deed} T{todo.tank} was done before: wrote it down")
            return
        pour = floor.dose if todo.deed is Deed.DOSE else floor.acid
        pour(todo.tank, amount, second=todo.second)
        beside = " beside" if todo.second else ""
        self._lines.did(floor, f"{todo.deed} T{todo.tank}{beside}: {amount:.4g} {todo.unit}")
        self._pen.write(event(), floor.minutes)
        floor.spend(floor.costs.entry)

    def _hold(self, todo: Todo) -> None:
        floor = self._floor
        state = self._pen.program.state
        batches = todo.batches or since_last_good_check(state.tank(todo.tank))
        floor.spend(floor.costs.hold)
        self._lines.did(floor, f"hold T{todo.tank}: {len(batches)} batches")
        self._pen.program.enter(
            HoldPlaced(
                at=Program.at(floor.minutes),
                by=WHO,
                tank=todo.tank,
                batches=batches,
                reason="as the Board asks",
            ),
            floor.minutes,
        )

    def fill(self, tank: int, *, second: bool = False) -> None:
        """Fill a tank, change its water, or fill the vessel beside it.

        Raises:
            Refused: the program would not take the entry.
        """
        floor = self._floor
        litres = floor.fill(tank, second=second)
        if not second:
            self._watch.filled(tank)
        self._lines.did(floor, f"filled T{tank}{' beside' if second else ''}")
        at = Program.at(floor.minutes)
        event = TankFilled(at=at, by=WHO, tank=tank, volume_l=litres, second=second)
        self._pen.write(event, floor.minutes)

    def _swap(self, tank: int) -> None:
        floor = self._floor
        floor.swap(tank)
        self._watch.filled(tank)
        self._lines.did(floor, f"swapped T{tank}")
        event = SecondSwapped(at=Program.at(floor.minutes), by=WHO, tank=tank)
        self._pen.program.enter(event, floor.minutes)

    def _exchange(self, todo: Todo) -> None:
        floor = self._floor
        whole = floor.setup.tank(todo.tank).volume_l
        litres = min(todo.litres or whole / 3.0, whole)
        floor.exchange(todo.tank, litres)
        self._lines.did(floor, f"exchanged {litres:.0f} L of T{todo.tank}")
        at = Program.at(floor.minutes)
        event = WaterExchanged(at=at, by=WHO, tank=todo.tank, volume_l=litres)
        self._pen.write(event, floor.minutes)

    # -- measuring ------------------------------------------------------------------------------

    def check(self, todo: Todo, place: int) -> None:
        """Measure a tank, as the first or a further one of a round.

        Raises:
            Refused: the program would not take the entry.
        """
        floor = self._floor
        self._watch.done(todo)
        own = not todo.second
        found = floor.check(
            todo.tank,
            level=not todo.ph_only,
            ph=True,
            cloudiness=todo.cloudiness,
            place=place,
            second=todo.second,
        )
        if own:
            self._watch.read(todo.tank)
        beside = " beside" if todo.second else ""
        self._lines.did(floor, f"read T{todo.tank}{beside}: {_said(found)}")
        self._pen.write(self._reading(found, second=todo.second), floor.minutes)

    def _reading(self, found: Read, *, second: bool) -> ReadingTaken:
        gauges = self._floor.world.gauges
        peracetic = self._floor.setup.tank(found.tank).peracetic is not None
        return ReadingTaken(
            at=Program.at(found.minute),
            by=WHO,
            tank=found.tank,
            fac_mg_l=None if peracetic else found.level,
            fac_method=gauges.level_by,
            paa_mg_l=found.level if peracetic else None,
            paa_method=gauges.level_by,
            ph=found.ph,
            ph_method=gauges.ph_by,
            turbidity_ntu=found.ntu,
            look=found.look,
            second=second,
        )

    # -- breaks ---------------------------------------------------------------------------------

    def pause(self) -> None:
        """Enter that nothing is fed for a while."""
        minutes = self._floor.minutes
        self._pen.write(LinePaused(at=Program.at(minutes), by=WHO), minutes)

    def resume(self) -> None:
        """Enter that the line goes on."""
        minutes = self._floor.minutes
        self._pen.write(LineResumed(at=Program.at(minutes), by=WHO), minutes)

    # -- washing --------------------------------------------------------------------------------

    def wash(self) -> None:
        """Send the next batch in and enter it; its minutes pass later.

        Raises:
            Refused: the program would not take the entry.
        """
        floor, tally = self._floor, self._floor.tally
        self._watch.fed()
        under = tally.under_critical
        batch = floor.wash()
        mark = "  << UNDER CRITICAL" if tally.under_critical > under else ""
        self._lines.did(floor, f"washed {batch.lot} {batch.kg:g} kg{mark}")
        event = BatchWashed(
            at=Program.at(floor.minutes),
            by=WHO,
            tanks=tuple(floor.tanks),
            lot=batch.lot,
            weight_kg=batch.told_kg,
        )
        self._pen.write(event, floor.minutes)


def _said(found: Read) -> str:
    parts = (("", found.level), ("pH ", found.ph), ("NTU ", found.ntu), ("card ", found.look))
    return ", ".join(f"{name}{value}" for name, value in parts if value is not None)
