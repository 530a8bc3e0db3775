"""The tables of a period in one ZIP: CSV files, what their columns mean, and a SHA-256 list.

Names are sorted and dates fixed, so that the same tables give the same bytes.
"""

import hashlib
from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import ExitStack
from pathlib import Path
from tempfile import TemporaryFile
from typing import Any, BinaryIO, cast
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from washmon.line.register_state import Stock
from washmon.line.registers import Paper, plain_name
from washmon.reports.csv_export import CsvPart, rows_in_csv
from washmon.reports.files import told, written_aside
from washmon.reports.tables import Table

_DATE = (1980, 1, 1, 0, 0, 0)
"""The first one that a ZIP can tell (APPNOTE 4.4.6: MS-DOS time begins in 1980)."""
_PLAIN_FILE = 0o644 << 16
_BLOCK = 1 << 16


def write_zip(
    target: Path,
    tables: Sequence[Table[Any]],
    shifts: Iterable[Mapping[str, CsvPart]],
    more: Mapping[str, str],
    progress: Callable[[int], None] = lambda _done: None,
    *,
    papers: Mapping[str, Path] | None = None,
) -> None:
    """Write the tables of shifts into a ZIP, whole or not at all.

    Args:
        target: the file; one that is there already is replaced at the end.
        tables: each becomes a CSV file.
        shifts: rows of each table, by its key, shift by shift.
        more: texts of further files, by name.
        progress: is told the number of shifts, after each.
        papers: files that are put in as they are, by the name that they get.

    Raises:
        ExportError: with a sentence; the target is as it was.
    """
    with told(target), ExitStack() as stack:
        files = {f"{one.key}.csv": _kept_aside(stack) for one in tables}
        for one in tables:
            head = rows_in_csv([[column.name for column in one.columns]])
            files[f"{one.key}.csv"].write(head.text.encode())
        for done, parts in enumerate(shifts, 1):
            for key, part in parts.items():
                files[f"{key}.csv"].write(part.text.encode())
            progress(done)
        for name, text in {**more, "dictionary.csv": _dictionary(tables)}.items():
            files[name] = _kept_aside(stack)
            files[name].write(text.encode())
        for name, path in (papers or {}).items():
            files[name] = stack.enter_context(path.open("rb"))
        _pack(target, files)


def papers_inside(stock: Stock, folder: Path | None) -> dict[str, Path]:
    """Return where the papers lie that go into a ZIP, each by its name there.

    What is missing or was changed is left out: the list of papers says so.
    """
    if folder is None:
        return {}
    whole = (one for one in stock.registers.of(Paper) if one.sha256 not in stock.missing)
    return {
        f"papers/{one.sha256[:12]}-{plain_name(one.file)}": folder / one.sha256 for one in whole
    }


def _kept_aside(stack: ExitStack) -> BinaryIO:
    return cast("BinaryIO", stack.enter_context(TemporaryFile()))


def _dictionary(tables: Sequence[Table[Any]]) -> str:
    """Return what the columns of all tables mean, as CSV."""
    rows = [(f"{one.key}.csv", "", one.meaning) for one in tables]
    rows += [
        (f"{one.key}.csv", column.name, column.meaning) for one in tables for column in one.columns
    ]
    return rows_in_csv([("file", "column", "meaning"), *sorted(rows, key=lambda row: row[0])]).text


def _pack(target: Path, files: Mapping[str, BinaryIO]) -> None:
    sums = []
    with written_aside(target) as raw, ZipFile(raw, "w", ZIP_DEFLATED) as packed:
        for name, file in sorted(files.items()):
            digest = hashlib.sha256()
            file.seek(0)
            with packed.open(_named(name), "w", force_zip64=True) as member:
                while block := file.read(_BLOCK):
                    digest.update(block)
                    member.write(block)
            sums.append(f"{digest.hexdigest()}  {name}\n")
        packed.writestr(_named("sha256sums.txt"), "".join(sums))


def _named(name: str) -> ZipInfo:
    info = ZipInfo(name, _DATE)
    info.compress_type, info.external_attr, info.create_system = ZIP_DEFLATED, _PLAIN_FILE, 3
    return info
