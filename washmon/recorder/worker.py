"""One background thread that does one job after the other, and what is due while none waits."""

import threading
from collections.abc import Callable
from concurrent.futures import Future
from contextlib import AbstractContextManager
from queue import Empty, SimpleQueue
from typing import TypeVar

T = TypeVar("T")
Job = Callable[[], None]


class Worker:
    """Does jobs in the order in which they come.

    ``idle`` says, while no job is there, how many seconds to wait for one, and what to do then.
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
        while True:
            wait_s, due = self._idle()
            try:
                job = self._jobs.get(timeout=wait_s)
            except Empty:
                job = due
            if job is None:
                return
            with self._guard():
                job()
