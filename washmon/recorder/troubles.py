"""What stands in the way of the recorder's work, kept until the same work succeeds."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta

from washmon import faultlog
from washmon.line.message import Message
from washmon.store.errors import StoreUnavailable

REMARKED = timedelta(minutes=10)
"""So long a remark is told: time to read it, and no more."""


class Troubles:
    """Told with each snapshot; nothing that is told may undo an entry."""

    def __init__(self) -> None:
        self._of: dict[str, Message] = {}
        self._remark: tuple[datetime, Message] | None = None

    def __contains__(self, doing: str) -> bool:
        return doing in self._of

    def first(self, now: datetime) -> Message | None:
        """Return the oldest trouble there is, else the last remark while it is new."""
        if self._remark is not None and abs(now - self._remark[0]) >= REMARKED:
            self._remark = None
        said = None if self._remark is None else self._remark[1]
        return next(iter(self._of.values()), said)

    def remark(self, now: datetime, said: Message) -> None:
        """Tell, once, what went wrong but hinders no work."""
        self._remark = now, said

    def note(self, doing: str, what: str) -> Message:
        """Keep a sentence about some work."""
        self._of[doing] = Message("{what}", {"what": what})
        return self._of[doing]

    def hear(self, doing: str, ask: Callable[[], str]) -> None:
        """Keep what is said of some work, or what stands in its way, until nothing is."""
        try:
            said = ask()
        except StoreUnavailable as trouble:
            said = str(trouble)
        if said:
            self.note(doing, said)
        else:
            self.over(doing)

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
            faultlog.note(fault)
            self._of[doing] = Message(
                "The program met a fault of its own ({fault}). Entries shown as saved are safe; "
                "start it again, and report this.",
                {"fault": f"{type(fault).__name__}: {fault}"},
            )
        else:
            self.over(doing)
