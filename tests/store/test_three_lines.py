"""Three lines wash on one server: their programs are killed, and the server is restarted."""

from pathlib import Path

import pytest

from tests.faults.three_lines import LINES, Shed
from tests.store.programs import PROGRAMS
from tests.store.server import Server

pytestmark = [
    pytest.mark.fault,
    pytest.mark.xdist_group("postgresql"),
    pytest.mark.skipif(PROGRAMS is None, reason="no server here"),
]


def test_three_lines_lose_and_double_nothing_whoever_is_killed_and_restarted(
    postgresql: Server, tmp_path: Path
) -> None:
    """A few of the turns that ``python -m tests.faults.three_lines`` takes."""
    outcome = Shed(postgresql, tmp_path, seed=20260507, silence_s=0.3).run(["immediate", "fast"])
    assert (outcome.lost, outcome.doubled, outcome.wrong, outcome.faults) == (0, 0, 0, ())
    assert outcome.saved > len(LINES) * 4
    assert (outcome.kills, outcome.restarts) == (2, 2)
    assert outcome.kept  # somebody washed while the server was away
    # The watch looks again after each silence; one look may have begun before the server was back.
    assert max(outcome.refusals) <= 1
