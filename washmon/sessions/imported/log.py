"""A spreadsheet log as a CSV file: its encoding, its separator, its head and its rows.

The row of headings of a log: where it is, and what a column is called by one row or by two.
"""

import csv
import errno
import io
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice
from pathlib import Path
from typing import NamedTuple

from washmon.units import PlainError

SEARCHED_ROWS = 20
"""Titles, an address, a blank form's notes: a log's headings stand among its first rows."""
_LEAST_CELLS = 2


class LogRow(NamedTuple):
    """One row: ``number`` counts the rows of the file from 1, titles and headings included."""

    number: int
    cells: tuple[str, ...]


class HeadRow(NamedTuple):
    """The number of the row of headings, 0 where there is none.

    Where ``rows`` is 2, the one below it belongs to it, as under a merged cell "Tank 1".
    """

    row: int
    rows: int = 1


def find_head(lines: Sequence[LogRow]) -> HeadRow:
    """Return the row that seems to hold the headings: the last of words before the first of values.

    A title in a single cell is none. Two rows are one where each fills gaps of the other, as merged
    cells leave them, or the lower says the same twice, as under "Tank 1" and "Tank 2".
    """
    words: list[LogRow] = []
    for row in lines[:SEARCHED_ROWS]:
        if _is_words(row.cells):
            words.append(row)
        elif _filled(row.cells) >= _LEAST_CELLS:
            break
    *above, last = words or [LogRow(0, ())]
    if _filled(last.cells) < _LEAST_CELLS:
        alone = max((_filled(row.cells) for row in lines[:SEARCHED_ROWS]), default=0) == 1
        return HeadRow(last.number if alone else 0)
    upper = above[-1] if above else LogRow(0, ())
    names = [cell.strip().casefold() for cell in last.cells if cell.strip()]
    halved = _fills_gaps(last.cells, upper.cells) or len(set(names)) < len(names)
    enough = _filled(upper.cells) >= _LEAST_CELLS
    merged = enough and halved and _fills_gaps(upper.cells, last.cells)
    return HeadRow(upper.number, 2) if merged else HeadRow(last.number)


def split_off(lines: Sequence[LogRow], head: HeadRow) -> tuple[tuple[str, ...], tuple[LogRow, ...]]:
    """Return the headings, and the rows below them."""
    if not head.row:
        return (), tuple(lines)
    at = next((at for at, row in enumerate(lines) if row.number >= head.row), len(lines))
    of_head = [row.cells for row in lines[at : at + head.rows]]
    heads = _joined(*of_head) if len(of_head) > 1 else tuple(map(str.strip, *of_head[:1]))
    return heads, tuple(lines[at + head.rows :])


def _joined(upper: Sequence[str], lower: Sequence[str]) -> tuple[str, ...]:
    """Return the headings of two rows: what stands above goes on until the next that does."""
    names, above = [], ""
    for at in range(max(len(upper), len(lower))):
        own = upper[at].strip() if at < len(upper) else ""
        below = lower[at].strip() if at < len(lower) else ""
        above = own or (above if below else "")
        names.append(f"{above} {below}".strip())
    return tuple(names)


def _fills_gaps(upper: Sequence[str], lower: Sequence[str]) -> bool:
    above = [cell.strip() for cell in (*upper, *[""] * len(lower))]
    return any(cell.strip() and not above[at] for at, cell in enumerate(lower))


def _filled(cells: Sequence[str]) -> int:
    return sum(bool(cell.strip()) for cell in cells)


def _is_words(cells: Sequence[str]) -> bool:
    """Tell whether no cell begins like a number or a date."""
    filled = [cell.strip() for cell in cells if cell.strip()]
    return bool(filled) and not any(cell[0].isdigit() for cell in filled)


LARGEST_BYTES = 10_000_000
MOST_COLUMNS = 200
MOST_CELLS = 1_000_000
"""Ten years of a log have fewer; a file of nothing but separators would fill the memory."""
_SEPARATORS = ";\t|,"
"""Where two cut alike, the comma is a decimal sign."""
_SAMPLE_ROWS, _SAMPLE_CHARACTERS = 20, 65_536
_LONGEST_CELL = 100_000
_MARKS = (
    (b"\xef\xbb\xbf", "utf-8-sig"),
    (b"\xff\xfe", "utf-16"),
    (b"\xfe\xff", "utf-16"),
)


class LogError(PlainError):
    """A file that is no log, with what to do about it."""


@dataclass(frozen=True, slots=True)
class Log:
    """A file that was read: ``lines`` are all its rows in which something stands.

    ``heads`` are empty where the file has no row of headings; ``rows`` are those below them.
    """

    name: str
    heads: tuple[str, ...]
    rows: tuple[LogRow, ...]
    encoding: str
    separator: str
    lines: tuple[LogRow, ...]
    head: HeadRow

    @property
    def width(self) -> int:
        """How many columns the widest row has."""
        return max([len(self.heads), *(len(row.cells) for row in self.rows)], default=0)

    def with_head(self, head: HeadRow) -> "Log":
        """Return the same file with its headings elsewhere."""
        heads, rows = split_off(self.lines, head)
        return replace(self, heads=heads, rows=rows, head=head)

    def with_cells(self, number: int, cells: Sequence[str]) -> "Log":
        """Return the same file with other cells in the row of this number, as somebody mended."""
        lines = tuple(
            LogRow(number, tuple(cells)) if row.number == number else row for row in self.lines
        )
        return replace(self, lines=lines).with_head(self.head)

    def column(self, at: int) -> list[str]:
        """Return what stands in a column, blank cells left out."""
        return [row.cells[at] for row in self.rows if at < len(row.cells) and row.cells[at].strip()]


def read_log(path: Path) -> Log:
    """Read a log.

    Raises:
        LogError: with a sentence.
    """
    try:
        _refuse_odd(path)
        if path.stat().st_size > LARGEST_BYTES:
            raise _too_large(path.name)
        with path.open("rb") as file:
            body = file.read(LARGEST_BYTES + 1)
    except OSError as error:
        raise LogError(
            "{name} can't be read ({why}): close it if another program has it open.",
            name=path.name,
            why=error.strerror or str(error),
        ) from error
    return parse_log(path.name, body)


def parse_log(name: str, body: bytes) -> Log:
    """Return the log in a file's content.

    Raises:
        LogError: with a sentence.
    """
    if len(body) > LARGEST_BYTES:
        raise _too_large(name)
    if body.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0")):
        raise LogError("{name} is a workbook: save it as CSV in the spreadsheet first.", name=name)
    text, encoding = _decoded(name, body)
    csv.field_size_limit(_LONGEST_CELL)
    separator = _separator(text)
    try:
        rows = list(_rows(text, separator, name))
    except csv.Error as error:
        raise LogError(
            "{name} can't be read as CSV ({why}): save it anew from the spreadsheet.",
            name=name,
            why=str(error),
        ) from error
    if not rows:
        raise LogError("There is nothing in {name}: choose another file.", name=name)
    lines = tuple(rows)
    head = find_head(lines)
    heads, below = split_off(lines, head)
    return Log(name, heads, below, encoding, separator, lines, head)


def _decoded(name: str, body: bytes) -> tuple[str, str]:
    for mark, encoding in _MARKS:
        if body.startswith(mark):
            try:
                return body.decode(encoding), encoding
            except UnicodeDecodeError:
                break
    if b"\0" in body[:4096]:
        raise LogError("{name} is no text: save it as CSV in the spreadsheet first.", name=name)
    try:
        return body.decode("utf-8"), "utf-8"
    except UnicodeDecodeError:
        # What spreadsheets of western Windows write; the few bytes it does not know are marked.
        return body.decode("cp1252", errors="replace"), "cp1252"


def _refuse_odd(path: Path) -> None:
    """Refuse what would be waited for without end, such as a pipe.

    Raises:
        OSError: there is something at the path, and it is no file.
    """
    if path.exists() and not (path.is_file() or path.is_dir()):
        raise OSError(errno.EINVAL, "it is no file")


def _too_large(name: str) -> LogError:
    return LogError("{name} is too large for a log: split it, at most 10 MB each.", name=name)


def _rows(text: str, separator: str, name: str) -> Iterator[LogRow]:
    """Yield the rows in which something stands, one by one, up to what a log can have."""
    count = 0
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
    for number, cells in enumerate(reader, 1):
        count += len(cells)
        if len(cells) > MOST_COLUMNS or count > MOST_CELLS:
            raise LogError(
                "{name} has more columns or cells than a log: look at it in the spreadsheet, and "
                "split it.",
                name=name,
            )
        if any(cell.strip() for cell in cells):
            yield LogRow(number, tuple(cells))


def _separator(text: str) -> str:
    """Return what stands between cells: what cuts the first rows most alike, and most."""
    sample = text[:_SAMPLE_CHARACTERS]
    return max(_SEPARATORS, key=lambda separator: _cuts(sample, separator))


def _cuts(sample: str, separator: str) -> tuple[int, int]:
    """Return how many rows of a sample are cut into the same number of cells, and that number."""
    reader = csv.reader(io.StringIO(sample, newline=""), delimiter=separator)
    try:
        widths = Counter(len(cells) for cells in islice(reader, _SAMPLE_ROWS) if cells)
    except csv.Error:
        return 0, 0
    cut = [(rows, width) for width, rows in widths.items() if width > 1]
    return max(cut, default=(0, 0))
