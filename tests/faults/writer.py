"""A child to be killed: it appends to a store as fast as it goes."""

from itertools import count
from multiprocessing.connection import Connection
from pathlib import Path

from tests.store.shed import batch, minutes, note, started
from washmon.line.events import Event
from washmon.store import Store

CHAIN = "shift"


def append_for_ever(path: Path, mouth: Connection) -> None:
    """Append as fast as it goes, one entry or three; tell a place once it is said to be saved."""
    store = Store.open(path)
    if store.head(CHAIN) is None:
        (first,) = store.append(CHAIN, [started()], minutes(0))
        mouth.send_bytes(f"{first.seq} {first.hash}".encode())
    for turn in count(1):
        events: list[Event] = [batch(turn)]
        if turn % 3 == 0:
            events += [note(turn), note(turn, "x" * 3000)]
        for entry in store.append(CHAIN, events, minutes(turn)):
            mouth.send_bytes(f"{entry.seq} {entry.hash}".encode())
