"""``all`` says yes of nothing: a test says first that there is something."""

from collections.abc import Iterable
from typing import TypeVar

T = TypeVar("T")


def some(things: Iterable[T]) -> list[T]:
    """Return things, of which there must be at least one."""
    found = list(things)
    assert found, "there is nothing to look at"
    return found
