"""What a clock that was set moves, wherever in an event it stands."""

from datetime import timedelta

from tests.shed import START
from washmon.line.clock_changes import _moved


def test_a_moment_within_a_tuple_is_moved_and_what_has_none_stays_what_it_is() -> None:
    there = (START, ("x", {"at": START}), 3)
    later = START + timedelta(seconds=60)
    assert _moved(there, 60) == (later, ("x", {"at": later}), 3)
    still = ("x", (1, 2))
    assert _moved(still, 60) is still
