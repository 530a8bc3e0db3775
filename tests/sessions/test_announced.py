"""The slow problems of the demo shifts are announced: by a plan, a note, or a flag that watches."""

from functools import cache

from tests.tools.announced import Announced, announced
from washmon import data
from washmon.sessions.file import read

MISTYPED = ("4-mistakes-and-holds", "07:55", 1)
"""A reading entered at a tenth: no water went bad, so nothing could have told of it."""


@cache
def all_announced() -> dict[tuple[str, str, int], list[Announced]]:
    found: dict[tuple[str, str, int], list[Announced]] = {}
    for path in data.demo_sessions():
        for one in announced(read(path), compared=False):
            problem = one.problem
            found.setdefault((path.stem, problem.clock, problem.tank), []).append(one)
    return found


def test_every_slow_problem_but_a_mistyped_one_is_announced_at_least_a_batch_ahead() -> None:
    told = {
        where: [one for one in some if one.with_forecast is None or one.with_forecast < 1]
        for where, some in all_announced().items()
    }
    assert len(told) >= 6
    assert MISTYPED in told
    assert [where for where, some in told.items() if some and where != MISTYPED] == []
