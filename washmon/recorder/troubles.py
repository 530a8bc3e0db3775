"""What stands in the way of the recorder's work, kept until the same work succeeds."""

from collections.abc import Iterator
from contextlib import contextmanager

from washmon.line.message import Message
from washmon.store.errors import StoreUnavailable


class Troubles:
    """Told with each snapshot; nothing that is told may undo an entry."""

    def __init__(self) -> None:
        self._of: dict[str, Message] = {}

    def __contains__(self, doing: str) -> bool:
        return doing in self._of

    @property
    def first(self) -> Message | None:
        """The oldest trouble there is."""
        return next(iter(self._of.values()), None)

    def note(self, doing: str, what: str) -> Message:
        """Keep a sentence about some work."""
        self._of[doing] = Message("{what}", {"what": what})
        return self._of[doing]

    def over(self, doing: str) -> None:
        """Forget the trouble with some work."""
        self._of.pop(doing, None)

    @contextmanager
    def told(self, doing: str) -> Iterator[None]:
        """Turn what goes wrong into a trouble, so that the thread outlives any fault."""
        try:
            yield
        except StoreUnavailable as trouble:
            self.note(doing, str(trouble))
        except Exception as fault:  # noqa: BLE001 - the shed must see whatever it is
            self._of[doing] = Message(
                "The program met a fault of its own ({fault}). Entries shown as saved are safe; "
                "start it again, and report this.",
                {"fault": f"{type(fault).__name__}: {fault}"},
            )
        else:
            self.over(doing)
