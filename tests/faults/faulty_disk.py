"""A disk that fails, under the very SQLite that the store uses: its calls to the system, wrapped.

SQLite asks for files through a table of functions (https://www.sqlite.org/vfs.html); the wrapped
one is made the usual one, counts the calls that can fail, and lets one of them fail, or all from
there on. It needs SQLite as a library of its own, which it is wherever Python was not built into
one file.
"""

import ctypes
import re
import sqlite3
import time
from collections.abc import Callable
from enum import StrEnum
from pathlib import Path
from typing import Any, Self

OK, BUSY, FULL, IOERR = 0, 5, 13, 10
IOERR_READ, IOERR_WRITE, IOERR_FSYNC, IOERR_TRUNCATE = (IOERR | code << 8 for code in (1, 3, 4, 6))
_SLOW_S = 0.01
_P, _I, _L = ctypes.c_void_p, ctypes.c_int, ctypes.c_int64


class Fault(StrEnum):
    """What one call to the system answers."""

    FULL = "the disk is full"
    ERROR = "input or output fails"
    SHORT = "half of it is written, then the disk is full"
    FSYNC = "what was written does not reach the disk"
    SLOW = "it takes its time"
    LOCK = "somebody else has the lock"
    VANISH = "the file is taken away"


class _Vfs(ctypes.Structure):
    _fields_ = (
        ("iVersion", _I),
        ("szOsFile", _I),
        ("mxPathname", _I),
        ("pNext", _P),
        ("zName", ctypes.c_char_p),
        ("pAppData", _P),
        *((name, _P) for name in ("xOpen", "xDelete", "xAccess", "xFullPathname")),
        *((name, _P) for name in ("xDlOpen", "xDlError", "xDlSym", "xDlClose")),
        *((name, _P) for name in ("xRandomness", "xSleep", "xCurrentTime", "xGetLastError")),
        *((name, _P) for name in ("xCurrentTimeInt64", "xSetSystemCall", "xGetSystemCall")),
        ("xNextSystemCall", _P),
    )


class _Methods(ctypes.Structure):
    _fields_ = (
        ("iVersion", _I),
        *((name, _P) for name in ("xClose", "xRead", "xWrite", "xTruncate", "xSync")),
        *((name, _P) for name in ("xFileSize", "xLock", "xUnlock", "xCheckReservedLock")),
        *((name, _P) for name in ("xFileControl", "xSectorSize", "xDeviceCharacteristics")),
        *((name, _P) for name in ("xShmMap", "xShmLock", "xShmBarrier", "xShmUnmap")),
        *((name, _P) for name in ("xFetch", "xUnfetch")),
    )


_OPEN = ctypes.CFUNCTYPE(_I, _P, _P, _P, _I, _P)
_KINDS: dict[str, Any] = {
    "xRead": ctypes.CFUNCTYPE(_I, _P, _P, _I, _L),
    "xWrite": ctypes.CFUNCTYPE(_I, _P, _P, _I, _L),
    "xTruncate": ctypes.CFUNCTYPE(_I, _P, _L),
    "xSync": ctypes.CFUNCTYPE(_I, _P, _I),
    "xLock": ctypes.CFUNCTYPE(_I, _P, _I),
}
_ANSWERS = {
    Fault.FULL: {"xWrite": FULL, "xTruncate": FULL},
    Fault.ERROR: {
        "xRead": IOERR_READ,
        "xWrite": IOERR_WRITE,
        "xTruncate": IOERR_TRUNCATE,
        "xSync": IOERR_FSYNC,
    },
    Fault.SHORT: {"xWrite": FULL},
    Fault.FSYNC: {"xSync": IOERR_FSYNC},
    Fault.SLOW: {"xWrite": OK, "xSync": OK},
    Fault.LOCK: {"xLock": BUSY},
    Fault.VANISH: {"xWrite": OK, "xSync": OK},
}
"""Which calls each fault strikes, and what these answer."""


def library() -> ctypes.CDLL | None:
    """Return the library that Python's sqlite3 calls, if it is one of its own."""
    sqlite3.connect(":memory:").close()
    maps = Path("/proc/self/maps")
    found = re.findall(r"/\S*libsqlite3\S*", maps.read_text()) if maps.exists() else []
    return ctypes.CDLL(found[0]) if found else None


class FaultyDisk:
    """Fails once, at the call that is asked for, while it is in use; counts those calls."""

    def __init__(self) -> None:
        found = library()
        if found is None:
            raise OSError("SQLite is no library of its own here.")
        self._sqlite = found
        self._sqlite.sqlite3_vfs_find.restype = ctypes.POINTER(_Vfs)
        self._usual = self._sqlite.sqlite3_vfs_find(None)
        self._kept: list[object] = []
        self._tables: dict[int, _Methods] = {}
        self._fault: Fault | None = None
        self._at, self._stays = -1, False
        self.vanish: Callable[[], None] = lambda: None
        self.calls = 0
        """So many calls came by that the fault could strike."""
        self._vfs = _Vfs.from_buffer_copy(self._usual.contents)
        self._vfs.zName = b"faulty"
        self._vfs.pNext = None
        usual_open = _OPEN(self._usual.contents.xOpen)

        def opened(vfs: int, name: int, file: int, flags: int, out: int) -> int:
            answer = usual_open(vfs, name, file, flags, out)
            at = ctypes.cast(file, ctypes.POINTER(_P))
            if answer == OK and at[0]:
                at[0] = self._wrapped(at[0])
            return int(answer)

        self._vfs.xOpen = self._keep(_OPEN(opened))

    def __enter__(self) -> Self:
        self._sqlite.sqlite3_vfs_register(ctypes.byref(self._vfs), 1)
        return self

    def __exit__(self, *_: object) -> None:
        self._sqlite.sqlite3_vfs_register(self._usual, 1)
        self._sqlite.sqlite3_vfs_unregister(ctypes.byref(self._vfs))

    def strike(self, fault: Fault | None, at: int = -1, *, stays: bool = False) -> None:
        """Let a fault come about at a call, counted from now; one that ``stays``, at all later."""
        self._fault, self._at, self._stays, self.calls = fault, at, stays, 0

    def _keep(self, function: object) -> int | None:
        self._kept.append(function)
        return ctypes.cast(function, _P).value  # type: ignore[arg-type]

    def _wrapped(self, usual: int) -> int:
        """Return the address of a table like the usual one, its functions wrapped."""
        if any(ctypes.addressof(one) == usual for one in self._tables.values()):
            return usual
        if usual not in self._tables:
            table = _Methods.from_buffer_copy(_Methods.from_address(usual))
            for name, kind in _KINDS.items():
                setattr(table, name, self._keep(self._struck(name, kind, getattr(table, name))))
            self._tables[usual] = table
        return ctypes.addressof(self._tables[usual])

    def _struck(self, name: str, kind: Any, address: int) -> object:
        usual = kind(address)

        def call(*arguments: int) -> int:
            fault = self._fault
            if fault is None or name not in _ANSWERS[fault]:
                return int(usual(*arguments))
            self.calls += 1
            place = self.calls - 1
            if self._at < 0 or place < self._at or (place > self._at and not self._stays):
                return int(usual(*arguments))
            if fault is Fault.SHORT:
                file, data, size, offset = arguments
                usual(file, data, size // 2, offset)
            if fault is Fault.SLOW:
                time.sleep(_SLOW_S)
            if fault is Fault.VANISH:
                self.vanish()
            answer = _ANSWERS[fault][name]
            return int(usual(*arguments)) if answer == OK else answer

        return kind(call)
