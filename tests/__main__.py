"""``python -m tests``: every test on all cores, then the benchmarks by themselves.

Benchmarks compare times that are taken in the same run; beside other tests they would measure
those.
"""

import os
import shutil
import subprocess
import sys
from contextlib import AbstractContextManager, nullcontext
from pathlib import Path
from tempfile import TemporaryDirectory

MEMORY = Path("/dev/shm")  # noqa: S108 - only a folder made in it is used
ROOM_BYTES = 4 * 2**30
MARK = "benchmark_ratio"


def main() -> int:
    """Run both parts and return 0 if nothing failed."""
    shared = ("-n", "auto", "--dist", "loadgroup", "-m", f"not {MARK}")
    with _folder_in_memory() as folder:
        everything = _run(*shared, env={} if folder is None else {"TMPDIR": folder})
    # Disk and all: what an entry costs is compared with what the disk costs.
    benchmarks = _run("-n", "0", "-m", MARK, *([] if sys.argv[1:] else _benchmarks()), env={})
    return everything or benchmarks


def _benchmarks() -> list[str]:
    """Return the modules with benchmarks: to collect all others takes longer than some of them."""
    modules = sorted(Path(__file__).parent.rglob("test_*.py"))
    return [str(path) for path in modules if MARK in path.read_text("utf-8")]


def _folder_in_memory() -> AbstractContextManager[str | None]:
    """Return a folder for databases that wait for no disk, where the machine has room for one.

    Thousands of tests wait for a disk at each entry, and none can tell: what is lost where the
    power goes shows on no machine that goes on.
    """
    if MEMORY.is_dir() and shutil.disk_usage(MEMORY).free >= ROOM_BYTES:
        return TemporaryDirectory(prefix="washmon-tests-", dir=MEMORY, ignore_cleanup_errors=True)
    return nullcontext()


def _run(*options: str, env: dict[str, str]) -> int:
    command = [sys.executable, "-m", "pytest", *options, *sys.argv[1:]]
    return subprocess.run(command, env=os.environ | env, check=False).returncode


if __name__ == "__main__":
    raise SystemExit(main())
