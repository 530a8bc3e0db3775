"""Entries dug out of a damaged SQLite file, page by page, without its tree.

The format is that of https://www.sqlite.org/fileformat2.html (sections named beside the code): the
journal has no row ids, so each entry lies whole in a cell of an index page.
"""

import struct
from collections.abc import Iterator
from pathlib import Path

from msgspec import Struct

from washmon.store.fresh import StoredRow

_INTERIOR, _LEAF = b"\x02", b"\x0a"  # section 1.6
_USUAL_PAGE = 4096
_WAL_HEADER, _FRAME_HEADER = 32, 24  # section 4.1
_TEXT, _BLOB = 1, 0
_WHOLE_NUMBERS = {1: 1, 2: 2, 3: 3, 4: 4, 5: 6, 6: 8, 8: 0, 9: 0}
"""The bytes that each kind of whole number takes (section 2.1); the last two are 0 and 1."""


def carve(path: Path) -> Iterator[StoredRow]:
    """Yield everything in a file and its log that looks like an entry, in no order."""
    pages = _Pages.of(path)
    for number in range(2, pages.count + 1):  # the first has the tables' names (section 2.6)
        yield from _entries(pages, pages.page(number))


class _Pages(Struct, frozen=True):
    """The pages of a file, with those that its log has committed over them."""

    file: bytes
    size: int
    newer: dict[int, bytes]

    @classmethod
    def of(cls, path: Path) -> "_Pages":
        file = path.read_bytes()
        (told,) = struct.unpack(">H", file[16:18].ljust(2, b"\0"))  # section 1.3.2
        size = 65536 if told == 1 else told
        if size < 512 or size & (size - 1):  # noqa: PLR2004 - the least that SQLite allows
            size = _USUAL_PAGE
        log = path.with_name(path.name + "-wal")
        return cls(file, size, _committed(log.read_bytes(), size) if log.exists() else {})

    @property
    def count(self) -> int:
        """How many there are, a cut one at the end included."""
        return max([-(-len(self.file) // self.size), *self.newer])

    def page(self, number: int) -> bytes:
        """Return a page; shorter, or empty, where the file was cut."""
        begin = (number - 1) * self.size
        return self.newer.get(number, self.file[begin : begin + self.size])


def _committed(log: bytes, size: int) -> dict[int, bytes]:
    salt, newer, pending = log[16:24], dict[int, bytes](), dict[int, bytes]()
    for begin in range(_WAL_HEADER, len(log), _FRAME_HEADER + size):
        head = log[begin : begin + _FRAME_HEADER]
        page = log[begin + _FRAME_HEADER : begin + _FRAME_HEADER + size]
        if head[8:16] != salt or len(page) < size:
            break
        number, commits = struct.unpack(">II", head[:8])
        pending[number] = page
        if commits:
            newer.update(pending)
            pending.clear()
    return newer


def _entries(pages: _Pages, page: bytes) -> Iterator[StoredRow]:
    inner = page.startswith(_INTERIOR)
    first = 12 if inner else 8
    if len(page) < first or not page.startswith((_INTERIOR, _LEAF)):
        return
    (cells,) = struct.unpack(">H", page[3:5])
    for place in range(first, min(first + 2 * cells, len(page) - 1), 2):
        (at,) = struct.unpack(">H", page[place : place + 2])
        try:
            row = _row(_payload(pages, page, at + (4 if inner else 0)))
        except (ValueError, IndexError, struct.error):
            continue  # damaged, or of another table
        if row is not None:
            yield row


def _payload(pages: _Pages, page: bytes, at: int) -> bytes:
    """Return what a cell holds, its overflow pages followed (section 1.6)."""
    length, at = _varint(page, at)
    usable = pages.size
    most, least = (usable - 12) * 64 // 255 - 23, (usable - 12) * 32 // 255 - 23
    local = length
    if length > most:
        local = least + (length - least) % (usable - 4)
        local = local if local <= most else least
    found = bytearray(page[at : at + local])
    (following,) = struct.unpack(">I", page[at + local : at + local + 4].ljust(4, b"\0"))
    while len(found) < length and following:
        more = pages.page(following)
        (following,) = struct.unpack(">I", more[:4])
        found += more[4 : 4 + min(usable - 4, length - len(found))]
    if len(found) != length:
        raise ValueError("cut off")
    return bytes(found)


def _row(payload: bytes) -> StoredRow | None:
    """Return the entry in a record of just the columns of the journal (section 2.1)."""
    end, at = _varint(payload, 0)
    kinds = []
    while at < end:
        kind, at = _varint(payload, at)
        kinds.append(kind)
    if len(kinds) != len(StoredRow._fields):
        return None
    chain, seq, recorded_at, body, digest = kinds
    texts = all(kind > 12 and kind % 2 == _TEXT for kind in (chain, recorded_at, digest))  # noqa: PLR2004
    if not texts or body < 12 or body % 2 != _BLOB or seq not in _WHOLE_NUMBERS:  # noqa: PLR2004
        return None
    values = []
    for kind in kinds:
        size = _WHOLE_NUMBERS.get(kind, (kind - 12) // 2)
        values.append(payload[at : at + size])
        at += size
    if at != len(payload):
        return None
    place = seq - 8 if seq in {8, 9} else int.from_bytes(values[1], "big", signed=True)
    if place < 0:
        return None
    chain_text, time, digest_text = (values[column].decode() for column in (0, 2, 4))
    return StoredRow(chain_text, place, time, values[3], digest_text)


def _varint(data: bytes, at: int) -> tuple[int, int]:
    """Return a number of up to nine bytes, and where it ends (section 1.6)."""
    value = 0
    for count in range(8):
        byte = data[at + count]
        value = value << 7 | byte & 0x7F
        if byte < 0x80:  # noqa: PLR2004 - the highest bit says that more follow
            return value, at + count + 1
    return value << 8 | data[at + 8], at + 9
