"""Whatever is done to a store, in any order: it holds what a plain dictionary of lists holds."""

import tempfile
from pathlib import Path

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    Bundle,
    RuleBasedStateMachine,
    consumes,
    initialize,
    invariant,
    rule,
)

from tests.store.shed import ended, minutes, note, room_for, started
from washmon.line.events import Event
from washmon.store import Store, backups
from washmon.store.errors import ChainTaken, StoreUnavailable

NOTES = st.lists(st.text(max_size=40), min_size=1, max_size=3)
FULL = "x" * 400_000
"""More than the pages that a full disk has left."""


class Shed(RuleBasedStateMachine):
    """A store on a file, and beside it what it should hold."""

    chains = Bundle("chains")
    backups = Bundle("backups")

    def __init__(self) -> None:
        super().__init__()
        self._folder = tempfile.TemporaryDirectory()
        self._path = Path(self._folder.name) / "shed.db"
        self._store = Store.open(self._path)
        self._held: dict[str, list[Event]] = {}
        self._minute = self._count = 0

    def _now(self) -> int:
        self._minute += 1
        return self._minute

    def _add(self, chain: str, *events: Event) -> None:
        self._store.append(chain, events, minutes(self._minute))
        self._held[chain] = [*self._held.get(chain, []), *events]

    def _reopen(self) -> None:
        self._store.close()
        self._store = Store.open(self._path)

    @initialize(target=chains)
    def first(self) -> str:
        return self._begun()

    @rule(target=chains)
    def begin(self) -> str:
        return self._begun()

    def _begun(self) -> str:
        self._count += 1
        chain, at = f"shift {self._count}", self._now()
        event = started(at, after=self._store.last_shift_head())
        self._store.begin(chain, [event], minutes(at))
        self._held[chain] = [event]
        return chain

    @rule(chain=chains)
    def begin_twice(self, chain: str) -> None:
        if chain in self._held:
            with pytest.raises(ChainTaken):
                self._store.begin(chain, [started(self._now())], minutes(self._minute))

    @rule(chain=chains, texts=NOTES)
    def write(self, chain: str, texts: list[str]) -> None:
        if chain in self._held:
            at = self._now()
            self._add(chain, *(note(at, text) for text in texts))

    @rule(chain=consumes(chains))
    def end(self, chain: str) -> None:
        if chain in self._held:
            self._add(chain, ended(self._now()))

    @rule(chain=chains)
    def write_on_a_full_disk(self, chain: str) -> None:
        at = self._now()
        room_for(self._store, 4)
        with pytest.raises(StoreUnavailable):
            self._store.append(chain, [note(at), note(at, FULL)], minutes(at))
        room_for(self._store, None)

    @rule()
    def close_and_open(self) -> None:
        self._reopen()

    @rule()
    def rebuild(self) -> None:
        self._store.rebuild_projections()

    @rule(chain=chains)
    def take_the_file_away(self, chain: str) -> None:
        if chain in self._held:
            for file in self._path.parent.glob("shed.db*"):
                if not file.name.endswith(".lock"):
                    file.unlink()
            self._add(chain, note(self._now(), "the file is gone"))
            self._reopen()

    @rule(target=backups)
    def back_up(self) -> tuple[Path, dict[str, list[Event]]]:
        self._count += 1
        to = self._path.with_name(f"backup {self._count}.db")
        self._store.backup(to)
        return to, {chain: [*events] for chain, events in self._held.items()}

    @rule(backup=backups)
    def restore(self, backup: tuple[Path, dict[str, list[Event]]]) -> None:
        file, held = backup
        self._store.close()
        backups.restore(file, self._path, minutes(self._now()))
        self._store = Store.open(self._path)
        self._held = {chain: [*events] for chain, events in held.items()}

    @invariant()
    def all_is_held(self) -> None:
        for chain, events in self._held.items():
            assert [entry.event for entry in self._store.entries(chain)] == events
        assert {row.chain for row in self._store.shifts()} == set(self._held)

    def teardown(self) -> None:
        assert self._store.verify() == []
        assert self._store.compare_projections() == []
        self._store.close()
        self._folder.cleanup()


TestShed = Shed.TestCase
TestShed.settings = settings(max_examples=15, stateful_step_count=20, deadline=None)
