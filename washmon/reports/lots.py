"""The lots of a shift: where each came from, what was washed of it, and where that was sent."""

from dataclasses import dataclass

from washmon.line.events import BatchWashed, LotSent
from washmon.line.sent import NOT_RECORDED, destinations, discarded, is_lot, recipient
from washmon.line.setup import Lot
from washmon.line.state import ShiftState
from washmon.reports.lines import Line, lines


@dataclass(frozen=True, slots=True)
class LotRow:
    """A lot in one shift; ``produce`` and ``source`` say NOT_RECORDED where nobody told."""

    shift: ShiftState
    code: str
    produce: str
    source: str
    batches: tuple[Line[BatchWashed], ...]
    sent: tuple[tuple[LotSent, int], ...]
    """What was told of it, each with its number of batches."""
    discarded: int
    not_recorded: int
    """Batches of which nobody told where they went."""

    @property
    def weighed_kg(self) -> float:
        """The weight of those batches that were weighed."""
        return sum((one.event.weight_kg or 0.0 for one in self.batches), 0.0)

    @property
    def went(self) -> str:
        """Where its batches went, in words."""
        said = [f"{recipient(sent)}: {count}" for sent, count in self.sent]
        if self.discarded:
            said.append(f"discarded: {self.discarded}")
        if self.not_recorded:
            said.append(f"{NOT_RECORDED}: {self.not_recorded}")
        return "; ".join(said)


def lot_rows(shift: ShiftState) -> list[LotRow]:
    """Return the lots of a shift, in the order in which they came up."""
    batches = lines(shift, BatchWashed)
    told, nowhere = destinations(shift), discarded(shift)
    rows = []
    for code in shift.lot_codes:
        named = lot_of(shift, code)
        own = tuple(one for one in batches if is_lot(one.event.lot, code))
        sent: dict[int, tuple[LotSent, int]] = {}
        for line in own:
            for one in told.get(line.seq, ()):
                sent[id(one)] = (one, sent.get(id(one), (one, 0))[1] + 1)
        untold = [one for one in own if one.seq not in told]
        rows.append(
            LotRow(
                shift=shift,
                code=code,
                produce=named.produce or shift.setup.commodity or NOT_RECORDED,
                source=named.source or NOT_RECORDED,
                batches=own,
                sent=tuple(sent.values()),
                discarded=sum(one.seq in nowhere for one in untold),
                not_recorded=sum(one.seq not in nowhere for one in untold),
            )
        )
    return rows


def lot_of(shift: ShiftState, code: str) -> Lot:
    """Return what was told of a lot at the start; of one that came up later, its code alone."""
    named = (one for one in shift.started.lots if is_lot(one.code, code))
    return next(named, Lot(code=code, produce=""))
