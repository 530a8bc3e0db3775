"""The list of shifts as a model: what a row says, and which rows match what was typed."""

from collections.abc import Collection, Mapping, Sequence
from enum import StrEnum
from typing import NamedTuple

from PySide6.QtCore import QModelIndex
from PySide6.QtWidgets import QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.state_mark import MarkState
from washmon.gui.kit.text import Tone
from washmon.gui.logbook.logbook_words import DASH, LOOKS, clock, day
from washmon.gui.logbook.table import Cell, FactsModel, Index, Row
from washmon.line.flags import Level
from washmon.line.journal import IMPORTED
from washmon.line.signing import SigningStage
from washmon.store.shift import ShiftRow

_BATCHES_COLUMN = 5
_STATE_COLUMN = 6
_NOWHERE = QModelIndex()


class FlagsUp(NamedTuple):
    """How many flags are up in a running shift, and the gravest of their levels."""

    chain: str
    up: int
    worst: Level | None


class ShiftsModel(FactsModel):
    """Shifts, newest first; the numbers of batches may come later than the rows."""

    def __init__(self, parent: QWidget | None = None) -> None:
        heads = (tr("Day"), tr("Time"), tr("Line"), tr("Lots"), tr("Supervisor"))
        super().__init__((*heads, tr("Batches"), tr("State")), parent)
        self.shifts: tuple[ShiftRow, ...] = ()
        self._batches: dict[str, int] = {}
        self._flags: dict[str, FlagsUp] = {}

    def show_shifts(self, shifts: Sequence[ShiftRow]) -> None:
        """Show these shifts."""
        self.beginResetModel()
        self.shifts = tuple(shifts)
        self.endResetModel()

    def put_batches(self, counted: Mapping[str, int]) -> None:
        """Fill in how many batches some shifts washed, by chain."""
        self._batches |= counted
        told = [at for at, shift in enumerate(self.shifts) if shift.chain in counted]
        if told:
            self.dataChanged.emit(
                self.index(told[0], _BATCHES_COLUMN), self.index(told[-1], _BATCHES_COLUMN)
            )

    def put_flags(self, flags: FlagsUp) -> None:
        """Say of a running shift what is up in it."""
        self._flags[flags.chain] = flags
        for at, shift in enumerate(self.shifts):
            if shift.chain == flags.chain:
                self.dataChanged.emit(self.index(at, _STATE_COLUMN), self.index(at, _STATE_COLUMN))

    def rowCount(self, parent: Index = _NOWHERE) -> int:
        """Return the number of shifts."""
        return 0 if parent.isValid() else len(self.shifts)

    def row(self, at: int) -> Row:
        """Return the cells of a shift, made when they are looked at."""
        return self._row(self.shifts[at])

    def _row(self, shift: ShiftRow) -> Row:
        count = self._batches.get(shift.chain)
        return (
            Cell(day(shift.started_at)),
            Cell(f"{clock(shift.started_at)}–{clock(shift.ended_at) if shift.ended_at else ''}"),
            Cell(shift.line),
            Cell(shift.lots),
            Cell(shift.supervisor),
            Cell(DASH if count is None else str(count), number=True),
            _state(shift, self._flags.get(shift.chain)),
        )


def _state(shift: ShiftRow, flags: FlagsUp | None = None) -> Cell:
    said = [tr("Practice")] if shift.practice else []
    if shift.chain.startswith(IMPORTED):
        said.append(tr("Imported"))
    if shift.ended_at is None:
        said.append(tr("Running"))
    elif shift.practice:
        said.append(tr("Ended"))  # practice is not signed
    else:
        said.append(_stage_word(shift.stage))
    told = flags if flags is not None and flags.up and shift.ended_at is None else None
    if told is not None:
        said.append(tr("1 flag up") if told.up == 1 else tr("{count} flags up", count=told.up))
    if shift.open_holds:
        open_words = (
            tr("1 hold open")
            if shift.open_holds == 1
            else tr("{count} holds open", count=shift.open_holds)
        )
        return Cell(" · ".join((*said, open_words)), Tone.STOP, MarkState.STOP)
    if told is not None and told.worst is not None:
        look = LOOKS[told.worst]
        return Cell(" · ".join(said), look.tone, look)
    return Cell(" · ".join(said), Tone.PLAIN if shift.ended_at else Tone.HAND)


def _stage_word(stage: SigningStage) -> str:
    match stage:
        case SigningStage.SIGNED:
            return tr("Signed, waits for review")
        case SigningStage.CHANGED:
            return tr("Changed since signed, waits for review")
        case SigningStage.REVIEWED:
            return tr("Reviewed")
    return tr("Ended, unsigned")


class Only(StrEnum):
    """Which shifts are to be shown, beside days, line and words.

    A review follows a signature: what was never signed is unsigned and waits for no review; what
    was changed after signing waits for one, as the bar on its page says.
    """

    ALL = "all"
    UNSIGNED = "unsigned"
    UNREVIEWED = "waits for review"
    OPEN_HOLDS = "open holds"
    OUTSIDE = "out of limits"

    def takes(self, shift: ShiftRow) -> bool:
        """Tell whether a shift is one of these."""
        match self:
            case Only.UNSIGNED:
                return shift.stage is SigningStage.UNSIGNED and not shift.practice
            case Only.UNREVIEWED:
                return (
                    shift.stage in {SigningStage.SIGNED, SigningStage.CHANGED}
                    and not shift.practice
                )
            case Only.OPEN_HOLDS:
                return shift.open_holds > 0
            case Only.OUTSIDE:
                return shift.outside > 0
        return True


def matching(
    shifts: Sequence[ShiftRow], line: str, named: Collection[str] | None, only: Only = Only.ALL
) -> list[ShiftRow]:
    """Return the shifts of a line (empty for all) that are so; ``named`` are chains."""
    return [
        shift
        for shift in shifts
        if only.takes(shift)
        and line in {"", shift.line}
        and (named is None or shift.chain in named)
    ]
