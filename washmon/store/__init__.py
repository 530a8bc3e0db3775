"""The journal on disk; the only room that knows SQL. What goes wrong: :mod:`.errors`."""

from washmon.store.backups import Backup, back_up, backups_of, restore
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
from washmon.store.journal_check import JournalFault
from washmon.store.rows import RawEntry
from washmon.store.salvage import Salvaged, salvage
from washmon.store.searching import LotBatch, LotFound, SummaryRows, TankSummaryRow, Wanted
from washmon.store.shift import NameKind, ShiftRow
from washmon.store.site_chain import SavedSetup
from washmon.store.store import Store

__all__ = [
    "Backup",
    "CannotWrite",
    "Damaged",
    "DiskFull",
    "JournalFault",
    "LaterVersion",
    "LotBatch",
    "LotFound",
    "NameKind",
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
    "back_up",
    "backups_of",
    "restore",
    "salvage",
]
