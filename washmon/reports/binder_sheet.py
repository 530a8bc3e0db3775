"""The paper of a binder: changing heads, bookmarks, and an index that is filled in at the end."""

from collections.abc import Sequence
from datetime import datetime
from math import ceil
from typing import NamedTuple

from washmon.reports.paper import PaperSize, Running, Sheet

_ROW_MM = 4.6
_HEAD_MM = 9.0
"""Room for the heading of an index page."""
_INDENT_MM = 5.0


class Place(NamedTuple):
    """A line of the index: a title, how deep it stands, and its page."""

    title: str
    level: int
    page: int


class BinderSheet(Sheet):
    """Pages whose numbers are written last, when it is known how many there are."""

    def __init__(self, paper: PaperSize, running: Running, made_at: datetime) -> None:
        self._coming = running
        self._places: list[Place] = []
        self._index: range = range(0)
        super().__init__(paper, running, made_at, 0)

    def header(self) -> None:
        """Print the head of a page; a new one begins on the page that is opened for it."""
        self._running = self._coming
        super().header()

    def number(self) -> None:
        """Leave the page's number out until :meth:`finish`."""

    def begin(self, title: str, running: Running, level: int = 0) -> None:
        """Open a new page for a part, which index and bookmarks name."""
        self._coming = running
        self.add_page()
        self.mark(title, level)

    def mark(self, title: str, level: int = 0) -> None:
        """Let index and bookmarks name this page."""
        plain = self.clean(title).replace("\n", " ")
        self.start_section(plain, level)
        self._places.append(Place(plain, level, self.page))

    def keep_index(self, lines: int, running: Running) -> None:
        """Leave pages free for an index of so many lines."""
        first = self.page + 1
        self._coming = running
        for _ in range(max(1, ceil(lines / self._lines_of_index))):
            self.add_page()
        self._index = range(first, self.page + 1)

    @property
    def _lines_of_index(self) -> int:
        return int((self.h - 24.0 - 17.0 - _HEAD_MM) / _ROW_MM)

    def finish(self) -> bytes:
        """Fill in the index and the numbers of the pages, and return the file."""
        last, step = self.page, self._lines_of_index
        for at, page in enumerate(self._index):
            self._write_index(page, self._places[at * step : (at + 1) * step])
        self._pages = last
        for page in range(1, last + 1):
            self._go_to(page)
            super().number()
        return bytes(self.output())

    def _write_index(self, page: int, places: Sequence[Place]) -> None:
        self._go_to(page)
        self.set_xy(self.l_margin, 24.0)
        self.heading("Index")
        top = self.y
        for at, place in enumerate(places):
            link = self.add_link(page=place.page)
            y, indent = top + at * _ROW_MM, place.level * _INDENT_MM
            self.set_xy(self.l_margin + indent, y)
            bold = place.level == 0
            title = self.cut(place.title, self.epw - indent - 16, bold=bold)
            self.cell(self.epw - indent - 14, _ROW_MM, title, link=link)
            self.set_xy(self.l_margin, y)
            self.cell(self.epw, _ROW_MM, str(place.page), align="R", link=link)

    def _go_to(self, page: int) -> None:
        self.page = page
        self.font_family = ""  # another page: the type must be told again
