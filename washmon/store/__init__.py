"""The journal on disk; the only room that knows SQL. What goes wrong: :mod:`.errors`."""

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
)
from washmon.store.reading import RawEntry, SavedSetup, TankSummaryRow
from washmon.store.shift import ShiftRow
from washmon.store.store import Store

__all__ = [
    "CannotWrite",
    "Damaged",
    "DiskFull",
    "Fault",
    "LaterVersion",
    "NotADatabase",
    "OlderVersion",
    "RawEntry",
    "SavedSetup",
    "ShiftRow",
    "Store",
    "StoreBug",
    "StoreInUse",
    "StoreUnavailable",
    "TankSummaryRow",
]
