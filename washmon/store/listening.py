"""Hearing at once of what any program writes at a server: on a connection of its own."""

from types import TracebackType
from typing import TYPE_CHECKING, Any, Self

from washmon.store import postgres
from washmon.store.errors import Place, StoreUnavailable, Unreachable
from washmon.store.place import Server

if TYPE_CHECKING:
    import psycopg


class Listening:
    """Waits for entries of any chain. Of a file nothing is heard: there one looks again.

    Used by one thread; whoever lets go of it may be another one.
    """

    def __init__(self, place: Place) -> None:
        """Begin to listen.

        Raises:
            Unreachable: the server does not answer.
        """
        self._place = place
        self._db: psycopg.Connection[Any] | None = None
        if isinstance(place, Server):
            try:
                self._db = postgres.listener(place)
            except postgres.driver_error() as error:
                raise self._gone(error) from error

    @property
    def hears(self) -> bool:
        """Whether anything can be heard at all."""
        return self._db is not None

    def wait(self, seconds: float) -> bool:
        """Wait for an entry, at most so long, and tell whether one came.

        Raises:
            Unreachable: the server is gone.
        """
        if self._db is None:
            return False
        try:
            # One is enough: all is looked at after it, and what came meanwhile is taken with it.
            return any(True for _ in self._db.notifies(timeout=seconds, stop_after=1))
        except postgres.driver_error() as error:
            raise self._gone(error) from error

    def close(self) -> None:
        """Let go of the connection."""
        if self._db is not None:
            self._db.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        fault: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def _gone(self, error: Exception) -> StoreUnavailable:
        said = " ".join(str(error).split())
        return Unreachable(f"The database {self._place.name} can't be reached ({said}).")
