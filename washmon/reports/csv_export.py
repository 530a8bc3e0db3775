"""CSV files: written aside and renamed, so that there is a whole file or none.

Format: RFC 4180 (comma, CRLF, quotes where needed) in UTF-8. There is no byte order mark unless it
is asked for: the standard knows none, and most readers take it for a part of the first column's
name. Ask for it where a spreadsheet opened by double click shows accents wrongly.
"""

import csv
import hashlib
import io
import re
import unicodedata
from collections.abc import Callable, Iterable, Iterator
from datetime import date
from pathlib import Path
from typing import Any, NamedTuple, TypeVar

from washmon.line.state import ShiftState
from washmon.reports.cells import written
from washmon.reports.files import ExportError, written_aside
from washmon.reports.tables import Table

T = TypeVar("T")

__all__ = [
    "CsvPart",
    "ExportError",
    "export",
    "export_parts",
    "export_rows",
    "form_of",
    "in_csv",
    "suggested_name",
]


class CsvPart(NamedTuple):
    """Some rows of a CSV file as they stand in it, and how many they are."""

    text: str
    rows: int


class _Cancelled(Exception):  # noqa: N818 - no error
    """Whoever asked for the file no longer wants it."""


def _go_on() -> bool:
    return False


def _say_nothing(done: int) -> None:
    del done


def export(
    target: Path,
    table: Table[Any],
    shifts: Iterable[ShiftState],
    *,
    progress: Callable[[int], None] = _say_nothing,
    cancelled: Callable[[], bool] = _go_on,
    bom: bool = False,
) -> int | None:
    """Write a table of shifts, holding one shift at a time, and return how many rows it has.

    Args:
        target: the file; one that is there already is replaced at the end.
        table: which rows and columns.
        shifts: may be an iterator that makes each shift when it is asked for.
        progress: is told the number of shifts written, after each.
        cancelled: asked before each shift; once it says True, nothing is left and None returned.
        bom: begin with a byte order mark.

    Raises:
        ExportError: with a sentence; the target is as it was.
    """
    groups = (table.rows(shift) for shift in shifts)
    return export_rows(target, table, groups, progress=progress, cancelled=cancelled, bom=bom)


def export_rows(
    target: Path,
    table: Table[T],
    groups: Iterable[Iterable[T]],
    *,
    progress: Callable[[int], None] = _say_nothing,
    cancelled: Callable[[], bool] = _go_on,
    bom: bool = False,
) -> int | None:
    """Write rows that are at hand already, shift by shift; else as :func:`export`."""
    parts = (in_csv(table, rows) for rows in groups)
    return export_parts(target, table, parts, progress=progress, cancelled=cancelled, bom=bom)


def export_parts(
    target: Path,
    table: Table[Any],
    parts: Iterable[CsvPart],
    *,
    progress: Callable[[int], None] = _say_nothing,
    cancelled: Callable[[], bool] = _go_on,
    bom: bool = False,
) -> int | None:
    """Write what was made by :func:`in_csv`, now or long ago, part by part; else as :func:`export`.

    A part takes the place of a shift there.
    """
    rows = 0
    try:
        with written_aside(target) as raw:
            coding = "utf-8-sig" if bom else "utf-8"
            file = io.TextIOWrapper(raw, encoding=coding, newline="")
            file.write(rows_in_csv([[column.name for column in table.columns]]).text)
            for done, part in enumerate(_until(parts, cancelled), 1):
                file.write(part.text)
                rows += part.rows
                progress(done)
            file.flush()
            file.detach()
    except _Cancelled:
        return None
    return rows


def in_csv(table: Table[T], rows: Iterable[T]) -> CsvPart:
    """Return rows of a table as they stand in its file."""
    return rows_in_csv([written(column.cell(row)) for column in table.columns] for row in rows)


def form_of(table: Table[Any], version: int) -> str:
    """Return what tells rows of these columns from those that had others, or meant others."""
    names = ",".join(column.name for column in table.columns)
    return f"{version}:{hashlib.sha256(names.encode()).hexdigest()[:16]}"


def rows_in_csv(rows: Iterable[Iterable[str]]) -> CsvPart:
    """Return rows whose cells are written already."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    count = 0
    for count, row in enumerate(rows, 1):  # noqa: B007 - the last one is how many there are
        writer.writerow(row)
    return CsvPart(text.getvalue(), count)


def _until(parts: Iterable[CsvPart], cancelled: Callable[[], bool]) -> Iterator[CsvPart]:
    """Yield the parts; asks before each, also before the first is made, whether to go on."""
    waiting = iter(parts)
    while True:
        if cancelled():
            raise _Cancelled
        part = next(waiting, None)
        if part is None:
            return
        yield part


def suggested_name(
    table: Table[Any] | str,
    line: str,
    since: date,
    until: date | None = None,
    *,
    practice: bool = False,
    suffix: str = ".csv",
) -> str:
    """Return a file name that every system takes: plain letters, digits and hyphens."""
    plain = unicodedata.normalize("NFKD", line).encode("ascii", "ignore").decode().lower()
    words = re.sub(r"[^a-z0-9]+", "-", plain)[:40].strip("-")
    days = [since.isoformat()]
    if until is not None and until != since:
        days.append(until.isoformat())
    kind = "practice" if practice else ""
    key = table if isinstance(table, str) else table.key
    return "-".join(part for part in ("washmon", kind, key, words, *days) if part) + suffix
