"""CSV files: written aside and renamed, so that there is a whole file or none.

Format: RFC 4180 (comma, CRLF, quotes where needed) in UTF-8. There is no byte order mark unless it
is asked for: the standard knows none, and most readers take it for a part of the first column's
name. Ask for it where a spreadsheet opened by double click shows accents wrongly.
"""

import csv
import io
import re
import unicodedata
from collections.abc import Callable, Iterable, Iterator
from datetime import date
from pathlib import Path
from typing import Any, TypeVar

from washmon.line.state import ShiftState
from washmon.reports.cells import written
from washmon.reports.files import ExportError, written_aside
from washmon.reports.tables import TABLES, Table

T = TypeVar("T")

__all__ = ["ExportError", "dictionary_markdown", "export", "export_rows", "suggested_name"]


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
    """Write rows that are made already, such as kept summaries; else as :func:`export`."""
    rows = 0
    try:
        with written_aside(target) as raw:
            coding = "utf-8-sig" if bom else "utf-8"
            file = io.TextIOWrapper(raw, encoding=coding, newline="")
            writer = csv.writer(file, lineterminator="\r\n")
            for text in _texts(table, groups, progress, cancelled):
                writer.writerow(text)
                rows += 1
            file.flush()
            file.detach()
    except _Cancelled:
        return None
    return rows - 1


def _texts(
    table: Table[T],
    groups: Iterable[Iterable[T]],
    progress: Callable[[int], None],
    cancelled: Callable[[], bool],
) -> Iterator[list[str]]:
    """Yield the head and the rows as text; the progress is told between shifts."""
    yield [column.name for column in table.columns]
    waiting = iter(groups)
    done = 0
    while True:
        if cancelled():
            raise _Cancelled
        rows = next(waiting, None)
        if rows is None:
            return
        for row in rows:
            yield [written(column.cell(row)) for column in table.columns]
        done += 1
        progress(done)


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


def dictionary_markdown() -> str:
    """Return the data dictionary of all tables for the README."""
    sections = []
    for table in TABLES:
        rows = [f"| `{column.name}` | {column.meaning} |" for column in table.columns]
        head = [f"### {table.key}", "", f"{table.meaning[0].upper()}{table.meaning[1:]}.", ""]
        sections.append("\n".join([*head, "| column | meaning |", "| --- | --- |", *rows]))
    return "\n\n".join(sections) + "\n"
