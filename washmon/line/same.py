"""An immutable object as a key: told from others by being the very same, whatever it holds."""

from typing import Generic, TypeVar

Part = TypeVar("Part")


class Same(Generic[Part]):
    """A part of a shift, equal only to itself: for answers kept by ``lru_cache``.

    To compare what it holds would cost more than most answers. It is held, so that no other object
    can come to have its id.
    """

    __slots__ = ("part",)

    def __init__(self, part: Part) -> None:
        self.part = part

    def __hash__(self) -> int:
        return id(self.part)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Same) and self.part is other.part
