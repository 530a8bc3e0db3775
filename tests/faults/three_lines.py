"""Three programs wash on one server; they are killed, and the server is restarted under them.

``python -m tests.faults.three_lines [TURNS] [SEED]`` kills and restarts so often (100), and prints
what came of it.
"""

import random
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Sequence
from itertools import cycle
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from pathlib import Path
from queue import Empty, SimpleQueue
from threading import Thread
from typing import NamedTuple

from tests.faults.killing import ready_processes
from tests.faults.line_program import SAVED, impatience, initials, wash_a_line
from tests.store.programs import PROGRAMS
from tests.store.server import Server
from washmon.line.event_base import RULES
from washmon.line.journal import decode, encode
from washmon.recorder import wall_clock
from washmon.recorder.line_watch import SILENCE_S, LinesSeen, LineWatch
from washmon.store import Store

LINES = ("Leaf line", "Root line", "Herb line")
TURNS = 100
_PATIENCE_S = 60.0
_LONGEST_S = 0.15


class Outcome(NamedTuple):
    """What came of it all; the first four must be none."""

    lost: int
    """Answered as saved, and not there."""
    doubled: int
    wrong: int
    """Answered as not saved, and there; or on the chain of another line."""
    faults: tuple[str, ...]
    """What verify and the lists say, and chains too many or too few."""
    saved: int
    kills: int
    restarts: int
    kept: int
    """Turns after which a program had something in its outbox."""
    seen_s: tuple[float, ...]
    """After each restart: until all lines were seen again, without a trouble."""
    refusals: tuple[int, ...]
    """After each restart: how often the watch still said that it can't read."""


class Program:
    """The program of one line, killed and started again."""

    def __init__(self, where: str, folder: Path, line: str) -> None:
        self._where, self.line, self.folder = where, line, folder / line
        self.told: list[bytes] = []
        self._context = ready_processes()
        self._process: BaseProcess | None = None
        self.ears: Connection

    def start(self) -> None:
        self.ears, mouth = self._context.Pipe(duplex=False)
        process = self._context.Process(
            target=wash_a_line, args=(self._where, self.folder, self.line, mouth)
        )
        process.start()
        mouth.close()
        self._process = process

    def kill(self) -> None:
        """Kill it, and hear what it said before."""
        process = self._process
        assert process is not None
        assert process.is_alive(), f"The program of {self.line} ended by itself."
        process.kill()  # SIGKILL: nothing of it runs any more
        process.join()
        with self.ears:
            while self.hear():
                pass

    def hear(self) -> bool:
        """Take the next that it says; none comes any more once it was killed."""
        try:
            self.told.append(self.ears.recv_bytes())
        except EOFError:
            return False
        return True


class Shed:
    """Three programs, one server, and somebody who follows all lines."""

    def __init__(self, server: Server, folder: Path, seed: int, silence_s: float) -> None:
        self._server = server
        self._chance = random.Random(seed)  # noqa: S311 - repeatable, not secret
        self._where = server.new_url()
        self._programs = [Program(self._where, folder, line) for line in LINES]
        self._seen: SimpleQueue[LinesSeen] = SimpleQueue()
        self._silence_s = silence_s
        self._kills = self._kept = 0
        self._seen_s: list[float] = []
        self._refusals: list[int] = []

    def run(self, turns: Sequence[str]) -> Outcome:
        """Wash, and do at each turn what it says: ``kill``, or how the server is stopped."""
        with impatience():
            self._wash(turns)
            return self._outcome()

    def _wash(self, turns: Sequence[str]) -> None:
        for program in self._programs:
            program.start()  # at once, on a database without tables
        self._all_say_something()
        with Store.open(self._where, read_only=True) as store:
            watch = LineWatch(store.reader, self._seen.put, wall_clock, silence_s=self._silence_s)
            thread = Thread(target=watch.run)
            thread.start()
            try:
                self._until_seen()
                for turn in turns:
                    self._turn(turn)
            finally:
                watch.stop()
                thread.join()
        for program in self._programs:
            program.kill()

    def _turn(self, turn: str) -> None:
        self._hear_for(self._chance.uniform(0, _LONGEST_S))
        if turn == "kill":
            self._kill_one()
        else:
            self._server.stop(turn)
            self._hear_for(self._chance.uniform(0, _LONGEST_S))
            self._kill_one()  # with something in its outbox, maybe
            self._server.start()
            self._until_seen()
        self._kept += any(list(one.folder.glob("outbox-*.jsonl")) for one in self._programs)
        self._all_say_something()

    def _kill_one(self) -> None:
        program = self._chance.choice(self._programs)
        program.kill()
        self._kills += 1
        program.start()

    def _hear_for(self, seconds: float) -> None:
        end = time.monotonic() + seconds
        while (left := end - time.monotonic()) > 0:
            self._hear(left)

    def _all_say_something(self) -> None:
        """Wait until each program has entered something more, so that the next falls into work."""
        before = [len(program.told) for program in self._programs]
        end = time.monotonic() + _PATIENCE_S
        while any(
            len(program.told) <= told for program, told in zip(self._programs, before, strict=True)
        ):
            assert time.monotonic() < end, "A line does not go on."
            self._hear(1.0)

    def _hear(self, seconds: float) -> None:
        by_ears = {program.ears: program for program in self._programs}
        for ears in wait(list(by_ears), seconds):
            program = by_ears[ears]  # type: ignore[index]
            assert program.hear(), f"The program of {program.line} ended by itself."

    def _until_seen(self) -> None:
        """Follow until all three lines are seen as they are now."""
        begun, refusals = time.monotonic(), 0
        while not self._seen.empty():
            self._seen.get()
        while True:
            try:
                seen = self._seen.get(timeout=_PATIENCE_S)
            except Empty:
                raise AssertionError("Nobody is seen any more.") from None
            refusals += bool(seen.trouble)
            if not seen.trouble and sorted(one.setup.line for one in seen.shifts) == sorted(LINES):
                break
        self._seen_s.append(time.monotonic() - begun)
        self._refusals.append(refusals)

    def _outcome(self) -> Outcome:
        for program in self._programs:  # as if started again: what waits in an outbox is sent
            with Store.open(self._where, state_folder=program.folder) as store:
                assert not store.keeps_here
        with Store.open(self._where, read_only=True) as store:
            chains = {row.line: row.chain for row in store.running()}
            faults = [str(one) for one in (*store.verify(), *store.compare_projections())]
            if (begun := [row.line for row in store.shifts()]) and sorted(begun) != sorted(LINES):
                faults.append(f"These began: {begun}")
            there = {line: store.entries(chain) for line, chain in chains.items()}
        lost = doubled = wrong = saved = 0
        for program in self._programs:
            found = Counter(encode(one.event) for one in there[program.line])
            told = [_as_read(one) for one in program.told if one.startswith(SAVED)]
            refused = [_as_read(one) for one in program.told if not one.startswith(SAVED)]
            lost += sum(not found[one] for one in told)
            twice = [body for body, count in found.items() if count > 1]
            doubled += len(twice)
            faults += [f"Twice on {program.line}: {body!r}" for body in twice]
            wrong += sum(found[one] > 0 for one in refused)
            owners = {one.event.by for one in there[program.line]}
            wrong += len(owners - {RULES, initials(program.line)})
            saved += len(told)
        restarts = len(self._seen_s) - 1
        return Outcome(
            lost, doubled, wrong, tuple(faults), saved, self._kills, restarts, self._kept,
            tuple(self._seen_s[1:]), tuple(self._refusals[1:]),
        )  # fmt: skip


def _as_read(told: bytes) -> bytes:
    """Return an event as it is encoded once it was read back: 50 became 50.0."""
    return encode(decode(told[1:]))


def main() -> None:
    """Kill and restart many times and print what came of it."""
    assert PROGRAMS is not None
    turns = int(sys.argv[1]) if len(sys.argv) > 1 else TURNS
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    acts = cycle(("kill", "kill", "immediate", "kill", "kill", "fast"))
    server = Server(PROGRAMS)
    try:
        with tempfile.TemporaryDirectory() as folder:
            shed = Shed(server, Path(folder), seed, SILENCE_S)
            outcome = shed.run([next(acts) for _ in range(turns)])
    finally:
        server.remove()
    print(outcome._replace(seen_s=(), refusals=()))  # noqa: T201
    seen, refusals = sorted(outcome.seen_s), max(outcome.refusals)
    print(f"seen again after {seen[len(seen) // 2]:.2f} s, at most {seen[-1]:.2f} s")  # noqa: T201
    print(f"looks in vain once the server was there: at most {refusals}")  # noqa: T201
    assert (outcome.lost, outcome.doubled, outcome.wrong, outcome.faults) == (0, 0, 0, ())
    assert refusals <= 1


if __name__ == "__main__":
    main()
