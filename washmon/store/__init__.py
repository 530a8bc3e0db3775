"""The journal on disk; the only room that knows SQL. What goes wrong: :mod:`.errors`."""

from washmon.store.backups import Backup, back_up, backups_of, restore
from washmon.store.check import Fault
from washmon.store.errors import (
    CannotWrite,
    Damaged,
    DiskFull,
    LaterVersion,
    NotADatabase,
    OlderVersion,
    StoreBug,
    StoreInUse,
    StoreUnavailable,
    Unreachable,
)
from washmon.store.finding import LotBatch, LotFound, SummaryRows, TankSummaryRow, Wanted
from washmon.store.reading import SavedSetup
from washmon.store.rows import RawEntry
from washmon.store.salvage import Salvaged, salvage
from washmon.store.shift import ShiftRow, What
from washmon.store.store import Store

__all__ = [
    "Backup",
    "CannotWrite",
    "Damaged",
    "DiskFull",
    "Fault",
    "LaterVersion",
    "LotBatch",
    "LotFound",
    "NotADatabase",
    "OlderVersion",
    "RawEntry",
    "Salvaged",
    "SavedSetup",
    "ShiftRow",
    "Store",
    "StoreBug",
    "StoreInUse",
    "StoreUnavailable",
    "SummaryRows",
    "TankSummaryRow",
    "Unreachable",
    "Wanted",
    "What",
    "back_up",
    "backups_of",
    "restore",
    "salvage",
]
