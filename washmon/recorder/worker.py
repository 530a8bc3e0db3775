"""One background thread that does one job after the other, and what falls due in between."""

import threading
import time
from collections.abc import Callable
from concurrent.futures import Future
from contextlib import AbstractContextManager
from queue import Empty, SimpleQueue
from typing import TypeVar

T = TypeVar("T")
Job = Callable[[], None]

QUIET_S = 0.1
"""A shorter wait asks for quiet, and begins anew with each job; a longer one is a deadline."""
PATIENCE_S = 1.0
"""So long quiet is waited for at the most: jobs without end put nothing off for ever."""


class Worker:
    """Does jobs in the order in which they come.

    ``idle`` says, before each job, how many seconds to wait for one, and what to do then. That is
    done in time however many jobs come (see :data:`QUIET_S`), or time itself would raise no flag.
    Each job is done within what ``guard`` returns, which must let no fault out.
    """

    def __init__(
        self,
        name: str,
        idle: Callable[[], tuple[float, Job]],
        guard: Callable[[], AbstractContextManager[None]],
    ) -> None:
        self._idle = idle
        self._guard = guard
        self._jobs: SimpleQueue[Job | None] = SimpleQueue()
        self._thread = threading.Thread(target=self._run, name=name, daemon=True)
        self._closed = False

    def start(self) -> None:
        """Begin with what was put in already."""
        self._thread.start()

    def put(self, job: Job) -> None:
        """Have a job done."""
        self._jobs.put(job)

    def soon(self, job: Callable[[], T]) -> "Future[T]":
        """Have a job done and return what will hold its result, or what it raised."""
        future: Future[T] = Future()
        if self._closed:
            future.set_exception(RuntimeError("The records are closed."))
            return future

        def run() -> None:
            try:
                result = job()
            except BaseException as fault:  # noqa: BLE001 - it goes to whoever waits
                future.set_exception(fault)
            else:
                future.set_result(result)

        self._jobs.put(run)
        return future

    def close(self) -> None:
        """Finish what was asked for; waits for it."""
        self._closed = True
        self._jobs.put(None)
        if self._thread.ident is not None:
            self._thread.join()

    def _run(self) -> None:
        asked_at: dict[Job, float] = {}
        while True:
            wait_s, due = self._idle()
            now = time.monotonic()
            longest_s = wait_s if wait_s >= QUIET_S else PATIENCE_S
            left_s = asked_at.setdefault(due, now) + longest_s - now
            job = self._next(min(wait_s, left_s), due)
            if job is None:
                return
            if job is due:
                del asked_at[due]
            with self._guard():
                job()

    def _next(self, wait_s: float, due: Job) -> Job | None:
        """Return the next job, or what is due once nothing may be waited for any more."""
        if wait_s < 0:
            return due
        try:
            return self._jobs.get(timeout=wait_s)
        except Empty:
            return due
