"""Where a database is: a file, or a server that several sheds share."""

from pathlib import Path

from msgspec import Struct
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError

from washmon.store.errors import CannotWrite, Place


class Server(Struct, frozen=True):
    """A PostgreSQL database; its text is what a person may read, without the password."""

    url: URL

    @property
    def name(self) -> str:
        """What sentences call it."""
        return f"{self.url.database} on {self.url.host or 'this computer'}"

    def __str__(self) -> str:
        return self.url.render_as_string(hide_password=True)


def locate(where: Path | str) -> Place:
    """Return what a path or a URL (anything with ``://``) names, symbolic links followed.

    Raises:
        CannotWrite: the URL names no database of a kind that we know.
    """
    if not isinstance(where, str) or "://" not in where:
        return Path(where).resolve()
    try:
        url = make_url(where)
    except ArgumentError:
        url = None
    if url is not None and url.database:
        if url.get_backend_name() == "sqlite":
            return Path(url.database).resolve()
        if url.drivername in {"postgresql", "postgresql+psycopg"}:
            return Server(url.set(drivername="postgresql+psycopg"))
    raise CannotWrite(
        f"{where.split('://')[0]}://… names no database file: give the path of one, or "
        "postgresql+psycopg://user@server/database."
    )
