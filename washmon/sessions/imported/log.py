"""A spreadsheet log as a CSV file: its encoding, its separator, its head and its rows."""

import csv
import hashlib
import io
from dataclasses import dataclass
from pathlib import Path

from washmon.units import PlainError

LARGEST_BYTES = 30_000_000
_SEPARATORS = ",;\t|"
_SAMPLE = 20
_LONGEST_CELL = 1_000_000
_MARKS = (
    (b"\xef\xbb\xbf", "utf-8-sig"),
    (b"\xff\xfe", "utf-16"),
    (b"\xfe\xff", "utf-16"),
)


class LogError(PlainError):
    """A file that is no log, with what to do about it."""


@dataclass(frozen=True, slots=True)
class LogRow:
    """One row: ``number`` counts the rows of the file from 1, the head included."""

    number: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Log:
    """A file that was read. ``digest`` names its content, so that it is known when it comes again.

    ``heads`` are empty where the file has no row of headings.
    """

    name: str
    heads: tuple[str, ...]
    rows: tuple[LogRow, ...]
    encoding: str
    separator: str
    digest: str

    @property
    def width(self) -> int:
        """How many columns the widest row has."""
        return max([len(self.heads), *(len(row.cells) for row in self.rows)], default=0)

    def column(self, at: int) -> list[str]:
        """Return what stands in a column, blank cells left out."""
        return [row.cells[at] for row in self.rows if at < len(row.cells) and row.cells[at].strip()]


def read_log(path: Path) -> Log:
    """Read a log.

    Raises:
        LogError: with a sentence.
    """
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise LogError(
                "{name} is too large for a log: split it, at most 30 MB each.", name=path.name
            )
        body = path.read_bytes()
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
    if body.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0")):
        raise LogError("{name} is a workbook: save it as CSV in the spreadsheet first.", name=name)
    text, encoding = _decoded(name, body)
    separator = _separator(text)
    csv.field_size_limit(_LONGEST_CELL)
    try:
        found = list(csv.reader(io.StringIO(text, newline=""), delimiter=separator))
    except csv.Error as error:
        raise LogError(
            "{name} can't be read as CSV ({why}): save it anew from the spreadsheet.",
            name=name,
            why=str(error),
        ) from error
    rows = [
        LogRow(number, tuple(cells))
        for number, cells in enumerate(found, 1)
        if any(cell.strip() for cell in cells)
    ]
    if not rows:
        raise LogError("There is nothing in {name}: choose another file.", name=name)
    has_head = _is_head(rows[0].cells)
    return Log(
        name=name,
        heads=tuple(cell.strip() for cell in rows[0].cells) if has_head else (),
        rows=tuple(rows[1:] if has_head else rows),
        encoding=encoding,
        separator=separator,
        digest=hashlib.sha256(body).hexdigest(),
    )


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


def _separator(text: str) -> str:
    """Return what stands between cells: what cuts the first rows most, and most alike."""
    sample = "\n".join(text.splitlines()[:_SAMPLE])
    try:
        return csv.Sniffer().sniff(sample, delimiters=_SEPARATORS).delimiter
    except csv.Error:
        first = sample.partition("\n")[0]
        return max(_SEPARATORS, key=first.count)


def _is_head(cells: tuple[str, ...]) -> bool:
    """Tell whether a row is of headings: words, and no cell that begins like a number or a date."""
    filled = [cell.strip() for cell in cells if cell.strip()]
    return bool(filled) and not any(cell[0].isdigit() for cell in filled)
