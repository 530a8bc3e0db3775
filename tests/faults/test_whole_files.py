"""A file is written whole or not at all, whichever call of the system fails; by everybody."""

import ast
import errno
import os
from collections.abc import Callable
from contextlib import nullcontext
from pathlib import Path
from typing import Any

import pytest

from washmon.reports.files import ExportError, written_aside
from washmon.whole_file import OWN, whole_file

BEFORE, AFTER = b"as it was", b"as it is meant to be" * 1000
DIRECT = {"write_text", "write_bytes"}
IN_PLACE = {
    "whole_file.py",  # where it is done
    "gui/sound/sound_out.py",  # a sound for the system's player, in a folder for what is passing
    "reports/binder_zip.py",  # a member of a ZIP that is itself written whole
}
"""Where something is written under its own name, and why that harms nobody."""


def failing(monkeypatch: pytest.MonkeyPatch, call: str, at: int, code: int = errno.ENOSPC) -> None:
    """Let the ``at``-th of these calls fail."""
    owner: Any = Path if call == "replace" else os
    real: Callable[..., Any] = getattr(owner, call)
    calls = iter(range(100))

    def fail(*args: Any, **named: Any) -> Any:
        if next(calls) == at:
            raise OSError(code, os.strerror(code))
        return real(*args, **named)

    monkeypatch.setattr(owner, call, fail)


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EIO, errno.EACCES])
@pytest.mark.parametrize(("call", "at"), [("open", 0), ("fsync", 0), ("replace", 0)])
def test_what_fails_before_the_name_is_given_leaves_what_was_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, call: str, at: int, code: int
) -> None:
    target = tmp_path / "week.csv"
    target.write_bytes(BEFORE)
    with monkeypatch.context() as patch:
        failing(patch, call, at, code)
        with pytest.raises(ExportError) as told, written_aside(target) as file:
            file.write(AFTER)
    assert "week.csv" in str(told.value)
    assert target.read_bytes() == BEFORE
    assert [one.name for one in tmp_path.iterdir()] == ["week.csv"]


def test_a_writer_that_fails_midway_leaves_what_was_there(tmp_path: Path) -> None:
    def write() -> None:
        with whole_file(target) as file:
            file.write(AFTER)
            raise KeyboardInterrupt

    target = tmp_path / "week.csv"
    target.write_bytes(BEFORE)
    with pytest.raises(KeyboardInterrupt):
        write()
    assert target.read_bytes() == BEFORE
    assert [one.name for one in tmp_path.iterdir()] == ["week.csv"]


@pytest.mark.skipif(os.name == "nt", reason="Windows keeps names in its own journal")
@pytest.mark.parametrize("code", [errno.EIO, errno.EINVAL])
def test_a_folder_that_refuses_is_told_and_one_that_cannot_is_let_be(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, code: int
) -> None:
    target = tmp_path / "week.csv"
    refuses = pytest.raises(ExportError) if code == errno.EIO else nullcontext()
    with monkeypatch.context() as patch:
        failing(patch, "fsync", 1, code)  # the first is the file's own
        with refuses, written_aside(target) as file:
            file.write(AFTER)
    assert target.read_bytes() == AFTER
    assert [one.name for one in tmp_path.iterdir()] == ["week.csv"]


@pytest.mark.skipif(os.name == "nt", reason="rights are lists there")
def test_what_is_nobody_elses_can_be_read_by_nobody_else(tmp_path: Path) -> None:
    with whole_file(tmp_path / "kept.json", OWN) as file:
        file.write(AFTER)
    assert (tmp_path / "kept.json").stat().st_mode & 0o777 == OWN


def test_nobody_writes_a_file_under_its_own_name() -> None:
    package = Path(__file__).parents[2] / "washmon"
    found = [
        f"{path.relative_to(package)}:{node.lineno}"
        for path in package.rglob("*.py")
        if path.relative_to(package).as_posix() not in IN_PLACE
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)
        if node.func.attr in DIRECT or _opens_to_write(node)
    ]
    assert found == []


def _opens_to_write(call: ast.Call) -> bool:
    if not isinstance(call.func, ast.Attribute) or call.func.attr != "open":
        return False
    modes = [one.value for one in call.args if isinstance(one, ast.Constant)]
    return any(isinstance(mode, str) and set(mode) & set("wax") and len(mode) < 4 for mode in modes)
