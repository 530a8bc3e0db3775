"""Where a database is: a file, or a server that several sheds share."""

from pathlib import Path

from msgspec import Struct
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError

from washmon.store.errors import CannotWrite, NotADatabase, Place, no_file


class Server(Struct, frozen=True):
    """A PostgreSQL database; its text is what a person may read, without the password."""

    url: URL

    @property
    def name(self) -> str:
        """What sentences call it."""
        if (service := self.url.query.get("service")) is not None:
            return f"of the service {service}"
        return f"{self.url.database} on {self.url.host or 'this computer'}"

    def __str__(self) -> str:
        return self.url.render_as_string(hide_password=True)


def locate(where: Path | str) -> Place:
    """Return what a path or a URL (anything with ``://``) names, symbolic links followed.

    Raises:
        CannotWrite: the URL names no database of a kind that we know.
        NotADatabase: the path leads to a pipe or a device.
    """
    if not isinstance(where, str) or "://" not in where:
        return _file(where)
    if where.partition("://")[2].partition("/")[0].count("@") > 1:
        raise CannotWrite(
            "There is one @ too many in this address: write one that belongs to a password as "
            "%40, or leave the password out and keep it in a file that PGPASSFILE names."
        )
    try:
        url = make_url(where)
    except (ArgumentError, ValueError):  # whose own words may hold a part of a password
        url = None
    if url is not None and (url.database or "service" in url.query):
        if url.get_backend_name() == "sqlite" and url.database:
            return _file(url.database)
        if url.drivername in {"postgresql", "postgresql+psycopg"}:
            return Server(_hidden(url.set(drivername="postgresql+psycopg")))
    raise CannotWrite(
        f"{where.split('://')[0]}://… names no database file: give the path of one, or "
        "postgresql+psycopg://user@server/database."
    )


def _hidden(url: URL) -> URL:
    """Return a URL with its password where nothing shows it, not among its options."""
    password = url.query.get("password")
    if not isinstance(password, str):
        return url
    return url.difference_update_query(["password"]).set(password=password)


def _file(where: Path | str) -> Path:
    try:
        path = Path(where).resolve()
        # A pipe would be waited for without end.
        odd = path.exists() and not (path.is_file() or path.is_dir())
    except (OSError, RuntimeError, ValueError) as error:
        raise NotADatabase(f"{where!r} names no file ({error}): choose another one.") from error
    if odd:
        raise no_file(path)
    return path
