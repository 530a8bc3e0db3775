"""Each promise in DEVELOPERS.md names tests that are there, and commands that can be run."""

import re
from pathlib import Path

from tests.some import some

ROOT = Path(__file__).parent.parent
WRITTEN = (ROOT / "DEVELOPERS.md").read_text("utf-8")


def promises() -> list[str]:
    """Return the rows of the table of promises."""
    table = WRITTEN.split("## What is promised, and by which test", 1)[1].split("**What", 1)[0]
    return [line for line in table.splitlines() if line.startswith("| ")][2:]


def test_each_promise_names_a_test_that_is_there() -> None:
    rows = promises()
    assert len(rows) > 10
    for row in rows:
        named = re.findall(r"`(tests/[\w/]+\.py)`", row)
        assert named, row
        for path in named:
            assert "def test_" in (ROOT / path).read_text("utf-8"), path


def test_each_command_of_the_promises_can_be_run() -> None:
    for module in some(re.findall(r"`python -m (tests\.faults\.\w+)`", WRITTEN)):
        path = ROOT / (module.replace(".", "/") + ".py")
        assert 'if __name__ == "__main__":' in path.read_text("utf-8"), module


def test_the_lock_file_has_what_the_program_needs_each_with_hashes() -> None:
    lock = (ROOT / ".ci" / "requirements.lock").read_text("utf-8")
    locked = {one.lower() for one in re.findall(r"^([\w.-]+)==", lock, re.MULTILINE)}
    project = (ROOT / "pyproject.toml").read_text("utf-8")
    dependencies = project.split("dependencies = [", 1)[1].split("]", 1)[0]
    needed = {one.lower() for one in re.findall(r'"([A-Za-z][\w.-]*)>=', dependencies)}
    assert len(needed) > 10
    assert needed <= locked
    blocks = re.split(r"\n(?=[\w.-]+==)", lock.split("\n", 3)[3])
    assert [one for one in blocks if "--hash=sha256:" not in one] == []
