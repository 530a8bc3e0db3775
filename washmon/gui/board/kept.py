"""Keeps what was written last of each thing, and writes it anew only from something new."""

from collections.abc import Callable, Hashable
from typing import Generic, TypeVar

Key = TypeVar("Key", bound=Hashable)
Told = TypeVar("Told")
View = TypeVar("View")


class KeptViews(Generic[Key, Told, View]):
    """The newest view under each key, with all that it was written from.

    ``write`` must be pure: from the same it writes the same.
    """

    def __init__(self, write: Callable[[Told], View]) -> None:
        self._write = write
        self._views: dict[Key, tuple[Told, View]] = {}

    def view(self, key: Key, told: Told) -> View:
        """Return the view of what is told; the very one as before where the same was told."""
        before = self._views.get(key)
        if before is None or before[0] != told:
            before = self._views[key] = (told, self._write(told))
        return before[1]
