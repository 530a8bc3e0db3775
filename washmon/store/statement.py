"""SQL that is written by SQLAlchemy once and then run as text: half the cost of an append."""

from typing import Any

from sqlalchemy import Connection
from sqlalchemy.sql.expression import ClauseElement


class Ready:
    """A statement in the words of one connection's database, its values still open.

    Values go to the driver as they are, so they must be plain texts, numbers and bytes.
    """

    def __init__(self, connection: Connection, statement: ClauseElement, *columns: str) -> None:
        """Write the statement out; ``columns`` names those that it sets, if not all."""
        self._connection = connection
        compiled = statement.compile(dialect=connection.dialect, column_keys=list(columns) or None)
        self._sql = str(compiled)
        self._order: list[str] | None = getattr(compiled, "positiontup", None)

    def run(self, *rows: dict[str, Any]) -> int:
        """Run it for each row of values; return how many rows it changed."""
        values = [self._values(row) for row in rows]
        one_or_all: Any = values[0] if len(values) == 1 else values
        return self._connection.exec_driver_sql(self._sql, one_or_all).rowcount

    def first(self, **values: Any) -> tuple[Any, ...] | None:  # noqa: ANN401 - a database has all
        """Run it and return the first row."""
        row = self._connection.exec_driver_sql(self._sql, self._values(values)).first()
        return None if row is None else tuple(row)

    def _values(self, row: dict[str, Any]) -> tuple[Any, ...] | dict[str, Any]:
        return row if self._order is None else tuple(row[name] for name in self._order)
