"""A test that ends its process is told as failed, and the rest is still run."""

import re
import subprocess
import sys
from pathlib import Path

MODULE = """
import os
import pytest

@pytest.mark.parametrize("number", range(20))
def test_one(number):
    if number == 7:
        os._exit(1)
"""


def test_a_worker_that_dies_ends_no_run(tmp_path: Path) -> None:
    (tmp_path / "pytest.ini").write_text("[pytest]\n")
    (tmp_path / "test_dying.py").write_text(MODULE)
    options = ["-p", "tests.conftest", "-p", "no:cacheprovider", "-n", "2", "--dist", "loadgroup"]
    command = [sys.executable, "-m", "pytest", *options, "--rootdir", str(tmp_path), str(tmp_path)]
    told = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    assert told.returncode == 1, told.stdout
    assert re.search(r"crashed while running '.*test_one\[7\]'", told.stdout)
    assert "1 failed, 19 passed" in told.stdout
