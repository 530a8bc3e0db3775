"""The hash chain: how events become journal entries that can't be altered unseen.

Each entry's hash covers the entry before it, so a changed, removed, inserted or moved entry breaks
the chain at that place. The body is hashed as the bytes that are stored: decoding and encoding
again is never needed to verify.

A hash as a number that people copy onto paper and type again: the witness that no disk holds.

Five blocks of five digits. The first four of each are a part of the hash, the last one checks them
(Luhn; ISO/IEC 7812-1, annex B, from memory), so that a slip of the pen is told apart from a
changed record.
"""

import hashlib
import re
from collections.abc import Iterable
from datetime import datetime

import msgspec
from msgspec import Struct

from washmon.line.events import Event

GENESIS = "0" * 64
"""Stands before the first entry of a chain."""

SITE = "site"
"""The chain of what belongs to no shift, such as set-ups."""

IMPORTED = "imported-"
"""Begins the names of chains that were taken over from a spreadsheet."""

_encoder = msgspec.json.Encoder()
_decoder: msgspec.json.Decoder[Event] = msgspec.json.Decoder(Event)


class Entry(Struct, frozen=True):
    """One place of a chain: ``seq`` counts from 0.

    In a folded shift ``moved_s`` says by how many seconds its times stand later than they were
    written, because the clock was set since; see :mod:`washmon.line.clock_changes`.
    """

    seq: int
    recorded_at: datetime
    event: Event
    hash: str
    moved_s: int = 0


class BrokenChain(ValueError):  # noqa: N818 - says what it is
    """An entry does not follow from the one before it."""

    def __init__(self, seq: int, what: str) -> None:
        super().__init__(f"Entry {seq}: {what}.")
        self.seq = seq


def encode(event: Event) -> bytes:
    """Return the body of an event as it is stored and hashed."""
    return _encoder.encode(event)


def decode(body: bytes | str) -> Event:
    """Return the event in a body.

    Raises:
        msgspec.ValidationError: the body is no event of this version.
    """
    return _decoder.decode(body)


def link(before: str, chain: str, seq: int, recorded_at: datetime, body: bytes) -> str:
    """Return the hash (SHA-256, hex) of an entry that follows the hash ``before``."""
    return link_as_stored(before, chain, seq, recorded_at.isoformat(), body)


def link_as_stored(before: str, chain: str, seq: int, recorded_at: str, body: bytes) -> str:
    """Return the same hash from a time in the very characters it is stored in (ISO 8601)."""
    head = f"{before}\n{chain}\n{seq}\n{recorded_at}\n"
    return hashlib.sha256(head.encode() + body).hexdigest()


def extend(
    chain: str, before: Entry | None, events: Iterable[Event], recorded_at: datetime
) -> list[tuple[Entry, bytes]]:
    """Return the entries that come after ``before``, each with its body."""
    seq = before.seq + 1 if before else 0
    previous = before.hash if before else GENESIS
    made = []
    for event in events:
        body = encode(event)
        previous = link(previous, chain, seq, recorded_at, body)
        made.append((Entry(seq, recorded_at, event, previous), body))
        seq += 1
    return made


def verify(chain: str, rows: Iterable[tuple[int, datetime, bytes, str]]) -> int:
    """Walk a chain of (seq, recorded_at, body, hash) and return how many entries it has.

    Raises:
        BrokenChain: at the first entry that does not follow.
    """
    previous, expected = GENESIS, 0
    for seq, recorded_at, body, digest in rows:
        if seq != expected:
            raise BrokenChain(expected, f"missing, entry {seq} stands in its place")
        if link(previous, chain, seq, recorded_at, body) != digest:
            raise BrokenChain(seq, "its content or its time was changed after it was written")
        previous, expected = digest, expected + 1
    return expected


_BLOCKS, _DIGITS = 5, 4
_MODULUS = 10 ** (_BLOCKS * _DIGITS)


class NoPaperNumber(ValueError):  # noqa: N818 - says what it is
    """What was typed is no such number, or one of its digits is wrong."""


def paper_number(digest: str) -> str:
    """Return the number of a hash (hex): ``48213 09971 ...``; of 10^20 hashes two have the same."""
    digits = f"{int(digest, 16) % _MODULUS:0{_BLOCKS * _DIGITS}}"
    blocks = (digits[at : at + _DIGITS] for at in range(0, len(digits), _DIGITS))
    return " ".join(f"{block}{_check_digit(block)}" for block in blocks)


def read_paper_number(text: str) -> str:
    """Return a typed number as :func:`paper_number` writes it.

    Raises:
        NoPaperNumber: which block is wrong.
    """
    digits = re.sub(r"[\s.,-]", "", text)
    if not re.fullmatch(rf"[0-9]{{{_BLOCKS * (_DIGITS + 1)}}}", digits):
        raise NoPaperNumber(f"A witness number has {_BLOCKS} blocks of {_DIGITS + 1} digits.")
    size = _DIGITS + 1
    blocks = [digits[at : at + size] for at in range(0, len(digits), size)]
    for place, block in enumerate(blocks, 1):
        if str(_check_digit(block[:-1])) != block[-1]:
            raise NoPaperNumber(f"Block {place} ({block}) has a wrong digit: look at it again.")
    return " ".join(blocks)


def _check_digit(block: str) -> int:
    """Return the digit that makes a block one that Luhn's formula accepts."""
    doubled = (2 * int(one) if place % 2 else int(one) for place, one in enumerate(block))
    return -sum(value // 10 + value % 10 for value in doubled) % 10
