"""A disk that fails at one of its calls: what was told to be saved is there, and nothing else."""

from pathlib import Path

import pytest

from tests.faults.disk_faults import all_faults
from tests.faults.faulty_disk import Fault, library

EACH = 61
"""A sample; ``python -m tests.faults.disk_faults`` tries them all."""


@pytest.mark.skipif(library() is None, reason="SQLite is no library of its own here")
@pytest.mark.parametrize("fault", Fault)
def test_no_single_fault_of_the_disk_loses_an_entry_or_lies(tmp_path: Path, fault: Fault) -> None:
    ((tried, sums),) = all_faults(tmp_path, EACH, [fault]).values()
    assert tried > 0
    assert sums == (0, 0, 0, 0)
