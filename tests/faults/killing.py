"""Kills a child process at a random moment and hears what it had told until then."""

import multiprocessing
import random
import time
from collections.abc import Callable
from multiprocessing.connection import Connection
from multiprocessing.context import ForkServerContext, SpawnContext
from pathlib import Path

Child = Callable[[Path, Connection], None]
"""Runs in a process of its own until it is killed.

It works on the database at the path and sends on the connection what a person would have been
shown as saved: never before it is. It must be a function of a module that imports no more than
it needs: each child pays for it where processes can't be forked from a server.
"""


CHILDREN = (
    "tests.faults.line_program",
    "tests.faults.restoring",
    "tests.faults.washing",
    "tests.faults.writer",
)


def ready_processes() -> ForkServerContext | SpawnContext:
    """Return what starts processes that have the imports of all children ready, where that can be.

    There is one server to a process of tests: it must know all of them before the first begins.
    """
    if "forkserver" not in multiprocessing.get_all_start_methods():
        return multiprocessing.get_context("spawn")
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["__main__", *CHILDREN])
    return context


_PATIENCE_S = 60.0


class Killer:
    """Starts children from a server that has their imports ready, so that each lives at once."""

    def __init__(self, child: Child, seed: int) -> None:
        self._child = child
        self._random = random.Random(seed)  # noqa: S311 - repeatable, not secret
        self._context = ready_processes()

    def run(self, path: Path, longest_s: float, *, at_work: bool = False) -> list[bytes]:
        """Let one child work on ``path``, kill it within ``longest_s``; return what it told.

        The moment is counted from the start of the process, so it may fall into the opening of
        the database as well as into any part of an append; ``at_work`` it is counted from the
        first thing that is told, and always falls among entries.
        """
        ears, mouth = self._context.Pipe(duplex=False)
        process = self._context.Process(target=self._child, args=(path, mouth))
        process.start()
        mouth.close()
        told = [_first(ears)] if at_work else []
        end = time.monotonic() + self._random.uniform(0, longest_s)
        while (left := end - time.monotonic()) > 0 and process.is_alive():
            if ears.poll(left):
                told.append(ears.recv_bytes())
        assert process.is_alive(), "The child ended by itself, or failed."
        process.kill()  # SIGKILL: nothing of the child runs any more
        process.join()
        return told + _rest(ears)


def _first(ears: Connection) -> bytes:
    assert ears.poll(_PATIENCE_S), "The child has nothing to tell."
    return ears.recv_bytes()


def _rest(ears: Connection) -> list[bytes]:
    rest = []
    with ears:
        while True:
            try:
                rest.append(ears.recv_bytes())
            except EOFError:
                return rest
