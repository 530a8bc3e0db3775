"""The recorder's thread: what falls due is done, however many jobs come."""

import time
from contextlib import nullcontext
from itertools import count

import pytest

from washmon.recorder.worker import PATIENCE_S, QUIET_S, Worker

JOBS = 600
JOB_S = 0.05
"""So much time passes, by the worker's clock, with each job."""


@pytest.fixture
def _time_passes_by_jobs(monkeypatch: pytest.MonkeyPatch) -> None:
    moments = count()
    monkeypatch.setattr(time, "monotonic", lambda: next(moments) * JOB_S)


def done_among_jobs(wait_s: float) -> list[int]:
    """Let jobs come without end; return after which of them the thing that was due was done."""
    jobs_done: list[None] = []
    due_after: list[int] = []
    worker = Worker("worker", lambda: (wait_s, fall_due), nullcontext)

    def fall_due() -> None:
        due_after.append(len(jobs_done))

    def job() -> None:
        jobs_done.append(None)
        if len(jobs_done) < JOBS:
            worker.put(job)  # the next one is there before this one ends

    worker.put(job)
    last = worker.soon(lambda: None)
    worker.start()
    last.result(timeout=30)
    while len(jobs_done) < JOBS:
        worker.soon(lambda: None).result(timeout=30)
    worker.close()
    return due_after


@pytest.mark.usefixtures("_time_passes_by_jobs")
@pytest.mark.parametrize(
    ("wait_s", "every_s"), [(10.0, 10.0), (QUIET_S, QUIET_S), (0.04, PATIENCE_S), (0.0, PATIENCE_S)]
)
def test_jobs_closer_together_than_the_tick_do_not_starve_it(wait_s: float, every_s: float) -> None:
    due_after = done_among_jobs(wait_s)
    longest = max(
        after - before for before, after in zip([0, *due_after], [*due_after, JOBS], strict=True)
    )
    assert due_after
    assert longest <= every_s / JOB_S + 2


def test_what_is_due_after_quiet_waits_for_the_jobs_that_are_there(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(time, "monotonic", lambda: 0.0)  # all of them in no time
    assert set(done_among_jobs(0.04)) <= {JOBS}
