"""The row of headings of a log: where it is, and what a column is called by one row or by two."""

from collections.abc import Sequence
from typing import NamedTuple

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
