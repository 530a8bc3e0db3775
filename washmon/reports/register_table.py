"""The registers as a CSV file: one row per instrument, pack, container and paper."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from washmon.line.flags import Amount
from washmon.line.message import say
from washmon.line.register_state import State, Stock, worst_first
from washmon.line.registers import Container, Device, Pack, Paper, Thing
from washmon.reports.cells import Cell, Column, written
from washmon.reports.csv_export import CsvPart, rows_in_csv
from washmon.reports.files import written_aside
from washmon.reports.tables import Table
from washmon.units import UnitSystem

_NAMES: dict[type, str] = {
    Device: "instrument",
    Pack: "pack",
    Container: "container",
    Paper: "paper",
}


@dataclass(frozen=True, slots=True)
class RegisterStanding:
    """A thing of the registers, and how it stands."""

    thing: Thing
    state: State
    stock: Stock


def standings(stock: Stock, today: date) -> Iterator[RegisterStanding]:
    """Yield all that is registered, what presses first."""
    for thing, state in worst_first(stock, today):
        yield RegisterStanding(thing, state, stock)


def said_of(row: RegisterStanding) -> str:
    """Return in metric units how a thing stands."""
    said = " ".join(say(one, UnitSystem.METRIC) for one in row.state.words)
    return said.replace("\N{NO-BREAK SPACE}", " ")


def _field(name: str) -> Callable[[RegisterStanding], Cell]:
    def read(row: RegisterStanding) -> Cell:
        value = getattr(row.thing, name, None)
        if isinstance(value, tuple):
            return " ".join(value)
        found: Cell = value.value if isinstance(value, Amount) else value
        return found

    return read


def _left(row: RegisterStanding) -> Cell:
    amount = row.stock.left(row.thing) if isinstance(row.thing, Container) else None
    return None if amount is None else amount.value


def _unit(row: RegisterStanding) -> Cell:
    full = row.thing.full if isinstance(row.thing, Container) else None
    return None if full is None else full.unit


REGISTER_COLUMNS: tuple[Column[RegisterStanding], ...] = (
    Column(
        "thing",
        "one of: instrument, pack, container, paper",
        lambda row: _NAMES[type(row.thing)],
    ),
    Column("key", "what readings, doses and checks call it by", _field("key")),
    Column("name", "its name", _field("name")),
    Column(
        "kind", "what it is: meter, kit, test strips, reagent, or the kind of paper", _field("kind")
    ),
    Column("serial", "of an instrument: its serial number", _field("serial")),
    Column("lot", "of a pack or container: its lot", _field("lot")),
    Column(
        "measures",
        "what is measured with it, as in the readings, with spaces between",
        _field("measures"),
    ),
    Column(
        "check_days", "days between two checks at the most; empty if none", _field("check_days")
    ),
    Column("checked_on", "when it last passed a check", _field("checked_on")),
    Column("due_on", "the last day on which it may be used unchecked", _field("due_on")),
    Column("unfit_since", "the day of the check that found it unfit", _field("unfit_since")),
    Column("product", "of a container: the product of the set-up", _field("product")),
    Column("opened_on", "when it was opened", _field("opened_on")),
    Column("use_by", "until when it is good", _field("use_by")),
    Column("full", "of a container: what it holds when full, in its unit", _field("full")),
    Column("left", "of a container: what is left by what was poured, in its unit", _left),
    Column("unit", "of a container: mL or g", _unit),
    Column("reorder_at", "more is ordered at this amount, in its unit", _field("reorder_at")),
    Column("strength", "as on its label, counted as that of its product", _field("strength")),
    Column("file", "of a paper: the name of its file", _field("file")),
    Column("size", "of a paper: bytes", _field("size")),
    Column("sha256", "of a paper: SHA-256 of its file", _field("sha256")),
    Column("review_on", "of a paper: when it is to be reviewed", _field("review_on")),
    Column("retired_on", "since when it is not used any more", _field("retired_on")),
    Column(
        "presses",
        "stop, act or watch, as something about it presses; empty if nothing does",
        lambda row: row.state.level,
    ),
    Column("words", "how it stands, in words", said_of),
)
REGISTERS: Table[RegisterStanding] = Table(
    "registers",
    "one row per instrument, pack, container and paper, as registered; what presses first",
    REGISTER_COLUMNS,
    lambda _shift: (),
)
"""Belongs to no shift: its rows are those of :func:`standings`."""


def registers_csv(stock: Stock, today: date) -> CsvPart:
    """Return the whole file."""
    rows = [[column.name for column in REGISTER_COLUMNS]]
    rows += [
        [written(column.cell(row)) for column in REGISTER_COLUMNS]
        for row in standings(stock, today)
    ]
    return rows_in_csv(rows)


def write_registers(target: Path, stock: Stock, today: date) -> int:
    """Write the file, whole or not at all; return how many rows it has.

    Raises:
        ExportError: with a sentence; the target is as it was.
    """
    part = registers_csv(stock, today)
    with written_aside(target) as file:
        file.write(part.text.encode())
    return part.rows - 1
