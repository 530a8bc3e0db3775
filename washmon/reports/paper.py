"""Paper: pages with a running head and foot, headings, facts, and tables that break anywhere."""

import logging
import unicodedata
from collections.abc import Callable, Iterator, Sequence
from datetime import datetime
from enum import StrEnum
from functools import cache
from pathlib import Path
from typing import NamedTuple

from fpdf import FPDF
from fpdf.fonts import TTFFont

from washmon import data

_FACE = "Atkinson"
_FILES = {"": "400Regular", "B": "700Bold"}
_MARGIN_MM = 14.0
_HEAD_MM = 24.0
"""Where the body of a page begins."""
_FOOT_MM = 17.0
_SMALL_PT = 8.0
_LINE_MM = 3.7
"""From one line of small print to the next."""
_PAD_MM = 1.1
_GREY = 225
_WORD_MM = 24.0
"""A longer word, such as a hash, may break rather than take room from other columns."""

logging.getLogger("fontTools").setLevel(logging.ERROR)  # it tells of every table it leaves out


@cache
def _letters() -> frozenset[int]:
    """Return what the type can print."""
    probe = FPDF()
    probe.add_font(_FACE, "", _file(""))
    (found,) = _type_of(probe)
    found.close()
    return frozenset(found.cmap)


def _type_of(pdf: FPDF) -> list[TTFFont]:
    return [font for font in pdf.fonts.values() if isinstance(font, TTFFont)]


def _file(style: str) -> Path:
    return data.resource("fonts", f"AtkinsonHyperlegibleNext_{_FILES[style]}.ttf")


class PaperSize(StrEnum):
    """The two sizes that offices print on."""

    A4 = "a4"
    LETTER = "letter"


class Bold(str):
    """Words of a cell that must be seen first."""

    __slots__ = ()


class Running(NamedTuple):
    """What stands on every page: what it is, of which shift, and what proves it."""

    title: str
    about: str
    proof: str


class Sheet(FPDF):
    """Pages in black and white. Lengths in mm; ``pages`` is how many there will be."""

    def __init__(self, paper: PaperSize, running: Running, made_at: datetime, pages: int) -> None:
        super().__init__(orientation="portrait", unit="mm", format=paper.value)
        self._running, self._pages = running, pages
        for style in _FILES:
            self.add_font(_FACE, style, _file(style))
        self.set_font(_FACE, "", _SMALL_PT)
        self._letters = _letters()
        self.set_creation_date(made_at)
        self.set_title(self.clean(f"{running.title}: {running.about}"))
        self.set_producer("washmon")
        self.set_lang("en")
        self.str_alias_nb_pages = ""  # {nb} in a note stays what it is
        self.set_margins(_MARGIN_MM, _HEAD_MM, _MARGIN_MM)
        self.set_auto_page_break(auto=False)
        self.c_margin = 0.0
        self.add_page()

    def close(self) -> None:
        """Let go of the files of the type."""
        for one in _type_of(self):
            one.close()

    @property
    def room_mm(self) -> float:
        """What is left of the page, from top to bottom."""
        return float(self.h - _FOOT_MM - self.y)

    def clean(self, text: str) -> str:
        """Return a text as it can be printed: what the type lacks stands there by its number.

        So a mark that turns the direction of writing, or hides, is seen and does nothing.
        """
        lines = text.replace("\r\n", "\n").replace("\r", "\n").replace("\t", " ")
        return "".join(letter if letter == "\n" else self._letter(letter) for letter in lines)

    def _letter(self, letter: str) -> str:
        if ord(letter) in self._letters:
            return letter
        alike = unicodedata.normalize("NFKC", letter)  # such as a low 3, which is a 3
        known = all(ord(one) in self._letters for one in alike)
        return alike if known else f"[U+{ord(letter):04X}]"

    def header(self) -> None:
        """Print the head of a page."""
        self.set_y(9)
        self._line(self._running.title, bold=True, size_pt=10)
        self._line(self._running.about, size_pt=_SMALL_PT)
        self._rule(self.y + 1.2)
        self.set_y(_HEAD_MM)

    def footer(self) -> None:
        """Print the foot of a page, with its number."""
        self._rule(self.h - 14)
        self.set_y(self.h - 12.8)
        self._line(self._running.proof, size_pt=6.5, room_mm=self.epw - 26)
        self.number()

    def number(self) -> None:
        """Print the number of a page in its foot."""
        self.set_y(self.h - 12.8)
        self.set_font(_FACE, "B", _SMALL_PT)
        number = f"page {self.page_no()} of {self._pages}"
        self.cell(self.epw, _LINE_MM, number, align="R")

    def heading(self, text: str, *, keep_mm: float = 24.0) -> None:
        """Print a heading, on a new page where what follows it would not stand below it."""
        if self.room_mm < keep_mm + 9:
            self.add_page()
        if self.y > _HEAD_MM + 1:
            self.set_y(self.y + 3.5)
        self.set_font(_FACE, "B", 11)
        self.cell(self.epw, 5.5, self.clean(text))
        self.set_y(self.y + 6.5)

    def say(self, text: str, *, bold: bool = False) -> None:
        """Print a paragraph."""
        for line in self._wrapped(Bold(text) if bold else text, self.epw):
            self._turn_for(_LINE_MM)
            self.set_font(_FACE, "B" if bold else "", _SMALL_PT)
            self.cell(self.epw, _LINE_MM, line)
            self.set_y(self.y + _LINE_MM)
        self.set_y(self.y + 1)

    def facts(self, facts: Sequence[tuple[str, str]], *, label_mm: float = 34.0) -> None:
        """Print labels with what belongs to them."""
        shares = (label_mm, self.epw - label_mm)
        for label, text in facts:
            self._row((label, text), shares, ruled=False)

    def line_to_sign(self, words: str, height_mm: float) -> None:
        """Print a line for a signature in ink, with its date."""
        self._turn_for(height_mm + _LINE_MM * 2)
        self.set_y(self.y + height_mm)
        self.set_line_width(0.2)
        for left, width, label in ((0.0, 0.62, words), (0.68, 0.32, "Date and time")):
            x = self.l_margin + left * self.epw
            self.line(x, self.y, x + width * self.epw, self.y)
            self.small(x, self.y + 3.2, label, size_pt=6.5)
        self.set_y(self.y + _LINE_MM + 1)

    def listing(
        self, heads: Sequence[str], shares: Sequence[float], rows: Sequence[Sequence[str]]
    ) -> None:
        """Print a table; heads are repeated on each page, and a long cell goes over to the next."""
        whole = sum(shares)
        widths = [share / whole * self.epw for share in shares]
        widths = fitted(widths, [self._longest(words) for words in zip(heads, *rows, strict=True)])

        def head() -> None:
            self._row([Bold(one) for one in heads], widths, shaded=True)

        self._turn_for(_LINE_MM * 5)
        head()
        for row in rows:
            self._row(row, widths, after_break=head)
        self.set_y(self.y + 1.5)

    def _row(
        self,
        cells: Sequence[str],
        widths: Sequence[float],
        *,
        ruled: bool = True,
        shaded: bool = False,
        after_break: Callable[[], None] = lambda: None,
    ) -> None:
        wrapped = [
            list(self._wrapped(cell, width - 2 * _PAD_MM))
            for cell, width in zip(cells, widths, strict=True)
        ]
        lines = max(len(one) for one in wrapped)
        if self.room_mm < min(lines, 12) * _LINE_MM + 2 * _PAD_MM:
            self.add_page()
            after_break()
        if shaded:
            self.set_fill_color(_GREY)
            self.rect(self.l_margin, self.y, self.epw, lines * _LINE_MM + 1.2, style="F")
        self.set_y(self.y + 0.6)
        for at in range(lines):
            if self.room_mm < _LINE_MM:
                self.add_page()
                after_break()
            left = self.l_margin
            for cell, text, width in zip(cells, wrapped, widths, strict=True):
                if at < len(text):
                    self.set_font(_FACE, "B" if isinstance(cell, Bold) else "", _SMALL_PT)
                    self.set_x(left + _PAD_MM)
                    self.cell(width, _LINE_MM, text[at])
                left += width
            self.set_y(self.y + _LINE_MM)
        self.set_y(self.y + 0.6)
        if ruled:
            self._rule(self.y, width_mm=0.1)

    def _wrapped(self, text: str, room_mm: float) -> Iterator[str]:
        """Yield the lines of a text; a word that is too long breaks where it must."""
        bold = isinstance(text, Bold)
        for paragraph in self.clean(text).split("\n"):
            line = ""
            for word in paragraph.split(" "):
                longer = f"{line} {word}" if line else word
                if self._width(longer, bold=bold) <= room_mm:
                    line = longer
                    continue
                if line:
                    yield line
                line = word
                while self._width(line, bold=bold) > room_mm:
                    fits = self._fitting(line, room_mm, bold=bold)
                    yield line[:fits]
                    line = line[fits:]
            yield line

    def _longest(self, cells: Sequence[str]) -> float:
        """Return the room that the longest word of a column takes, mm."""
        words = {word for cell in cells for word in self.clean(cell).split()}
        longest = sorted(words, key=len)[-3:]  # which letters it has tells less than how many
        return max((self._width(one, bold=True) for one in longest), default=0) + 2 * _PAD_MM

    def _fitting(self, word: str, room_mm: float, *, bold: bool) -> int:
        """Return how many letters of a word fit: never none, or it would never end."""
        low, high = 1, min(len(word), 400)
        while low < high:
            middle = (low + high + 1) // 2
            if self._width(word[:middle], bold=bold) <= room_mm:
                low = middle
            else:
                high = middle - 1
        return low

    def _width(self, text: str, *, bold: bool, size_pt: float = _SMALL_PT) -> float:
        self.set_font(_FACE, "B" if bold else "", size_pt)
        return float(self.get_string_width(text))

    def _line(
        self, text: str, *, bold: bool = False, size_pt: float, room_mm: float | None = None
    ) -> None:
        """Print one line, cut with an ellipsis where it is too long."""
        room = room_mm or self.epw
        plain = self.cut(text, room, bold=bold, size_pt=size_pt)
        self.cell(room, size_pt * 0.45, plain)
        self.set_y(self.y + size_pt * 0.45)

    def cut(
        self, text: str, room_mm: float, *, bold: bool = False, size_pt: float = _SMALL_PT
    ) -> str:
        """Choose the type for a line, and return what fits of it."""
        plain = self.clean(text.replace("\n", " "))[:400]
        while plain and self._width(plain, bold=bold, size_pt=size_pt) > room_mm:
            plain = plain[:-2].rstrip() + "…" if len(plain) > 1 else ""
        self.set_font(_FACE, "B" if bold else "", size_pt)
        return plain

    def _rule(self, y: float, *, width_mm: float = 0.25) -> None:
        self.set_line_width(width_mm)
        self.line(self.l_margin, y, self.w - self.r_margin, y)

    def _turn_for(self, height_mm: float) -> None:
        if self.room_mm < height_mm:
            self.add_page()

    def small(self, x: float, y: float, words: str, *, size_pt: float, align: str = "L") -> None:
        """Write words at a place, by their left end, middle or right end (``L``, ``C``, ``R``)."""
        self.set_font(_FACE, "", size_pt)
        shift = {"L": 0.0, "C": 0.5, "R": 1.0}[align]
        self.text(x - shift * float(self.get_string_width(words)), y, words)


def fitted(widths: Sequence[float], longest: Sequence[float]) -> list[float]:
    """Return the widths of columns, mm, in which no number and no date breaks, as room allows.

    What a column lacks for its ``longest`` word, mm, the others give as they can spare it.
    """
    needs = [
        need if need <= max(width, _WORD_MM) else width
        for width, need in zip(widths, longest, strict=True)
    ]
    lacks = [max(0.0, need - width) for width, need in zip(widths, needs, strict=True)]
    spare = [max(0.0, width - need) for width, need in zip(widths, needs, strict=True)]
    moved = min(sum(lacks), sum(spare))
    if moved == 0:
        return list(widths)
    take, give = moved / sum(lacks), moved / sum(spare)
    return [
        width + lack * take - left * give
        for width, lack, left in zip(widths, lacks, spare, strict=True)
    ]
