"""The bridge to the recorder: answers come after whoever asked knows their ticket."""

from concurrent.futures import Future
from typing import Any

import pytest

from tests.gui.entry.bench import Bench
from washmon.line.events import NoteWritten
from washmon.planning.snapshot import Snapshot
from washmon.recorder import Answer, Failed, Refused


class AtOnce:
    """Stands for a recorder that is done before the window looks."""

    def __init__(self, result: Answer | BaseException) -> None:
        self._result = result

    def __call__(self, *_: object, **__: object) -> "Future[Any]":
        future: Future[Any] = Future()
        if isinstance(self._result, BaseException):
            future.set_exception(self._result)
        else:
            future.set_result(self._result)
        return future


def test_an_answer_that_is_there_at_once_is_told_after_the_asking(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    heard: list[object] = []
    monkeypatch.setattr(bench.client.recorder, "enter", AtOnce(Refused(())))
    bench.client.enter(NoteWritten(at=bench.now, by="RM", text="x"), heard.append)
    assert heard == []
    bench.qtbot.waitUntil(lambda: heard == [Refused(())])


def test_a_fault_of_the_recorder_is_an_answer_too(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bench.client.recorder, "enter", AtOnce(RuntimeError("a bug")))
    with bench.qtbot.waitCallback() as told:
        bench.client.enter(NoteWritten(at=bench.now, by="RM", text="x"), told)
    assert isinstance(told.args[0], Failed)


def test_the_snapshot_of_an_entry_comes_with_its_answer(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Drawn one by one, the Board under the sheet would be drawn twice."""
    heard: list[object] = []
    bench.client.snapshot_changed.connect(heard.append)
    before, after = Snapshot(now=bench.now), Snapshot(now=bench.now)
    future: Future[Answer] = Future()
    monkeypatch.setattr(bench.client.recorder, "enter", lambda *_, **__: future)
    bench.client.enter(NoteWritten(at=bench.now, by="RM", text="x"), heard.append)
    for snapshot in (before, after):
        bench.client._pass_on(snapshot)
    assert heard == []
    future.set_result(Refused(()))
    bench.qtbot.waitUntil(lambda: len(heard) == 2)
    assert heard[0] is after
    assert heard[1] == Refused(())
    bench.client._pass_on(before)
    assert heard[-1] is before
