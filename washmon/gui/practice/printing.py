"""A debrief on paper: one page of PDF, marked as practice."""

from pathlib import Path

from PySide6.QtCore import QMarginsF, QRect, QRectF, Qt
from PySide6.QtGui import QColor, QPageLayout, QPageSize, QPainter, QPdfWriter

from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.text import Weight
from washmon.gui.kit.theme import Size
from washmon.gui.practice.chart import draw_chart, height_px
from washmon.gui.practice.chart_views import charts
from washmon.gui.practice.debrief_words import (
    MOMENTS,
    beside_words,
    moment_words,
    tank_sentences,
    teaching_sentences,
)
from washmon.gui.practice.practice_frame import draw_stripes, draw_word
from washmon.sessions.debrief.score import Debrief
from washmon.units import PlainError

DPI = 96
_MARGIN, _STRIPE_PX = 40, 26
_WRAP = Qt.TextFlag.TextWordWrap


class PrintError(PlainError):
    """The page could not be written."""


def print_debrief(found: Debrief, person: UserContext, target: Path) -> None:
    """Write a debrief as PDF, in the bright theme whatever is on screen.

    Raises:
        PrintError: with a sentence.
    """
    part = target.with_name(target.name + ".part")
    try:
        part.touch()
        _write(found, person, part)
        part.replace(target)
    except OSError as error:
        raise PrintError(
            "{name} can't be written ({why}): choose another place.",
            name=target.name,
            why=error.strerror or str(error),
        ) from error
    finally:
        part.unlink(missing_ok=True)


def _write(found: Debrief, person: UserContext, target: Path) -> None:
    writer = QPdfWriter(str(target))
    writer.setResolution(DPI)
    writer.setPageSize(QPageSize(QPageSize.PageSizeId.A4))
    writer.setPageMargins(QMarginsF(0, 0, 0, 0), QPageLayout.Unit.Millimeter)
    writer.setTitle(tr("Practice: debrief"))
    painter = QPainter()
    if not painter.begin(writer):
        raise OSError(0, tr("no room, or no right to write there"))
    _Page(writer, painter, person).debrief(found)
    painter.end()


class _Page:
    """Writes from the top down, on a new page where one is full."""

    def __init__(self, writer: QPdfWriter, painter: QPainter, person: UserContext) -> None:
        self._writer, self._p, self._person = writer, painter, person
        self._at = 0
        self._head()

    def _head(self) -> None:
        top = QRect(0, 0, self._writer.width(), _STRIPE_PX)
        draw_stripes(self._p, top)
        draw_word(self._p, top)
        self._at = _STRIPE_PX + 20

    def _room(self, height: int) -> None:
        if self._at + height > self._writer.height() - _MARGIN:
            self._writer.newPage()
            self._head()

    def _words(self, text: str, size: Size, *, bold: bool = False, indent: int = 0) -> None:
        self._p.setFont(theme.font(size, Weight.DemiBold if bold else Weight.Normal, tabular=True))
        self._p.setPen(QColor(theme.BRIGHT.ink))
        width = self._writer.width() - 2 * _MARGIN - indent
        needed = self._p.boundingRect(QRect(0, 0, width, 2000), _WRAP, text).height()
        self._room(needed)
        self._p.drawText(QRect(_MARGIN + indent, self._at, width, needed), _WRAP, text)
        self._at += needed + 4

    def debrief(self, found: Debrief) -> None:
        facts = found.facts
        self._words(facts.scenario.title, Size.LARGE, bold=True)
        self._words(
            tr(
                "{who}, begun {when}. Score {score} of 100.",
                who=facts.attempt.trainee,
                when=f"{facts.attempt.begun_at:%Y-%m-%d %H:%M}",
                score=round(found.score),
            ),
            Size.LEAD,
            bold=True,
        )
        self._words(self._person.say(found.why_counts), Size.SMALL)
        for part in found.parts:
            head = f"{self._person.say(part.title)}: {part.points:g} / {part.most:g}"
            self._words(head, Size.SMALL, bold=True)
            self._words(self._person.say(part.why), Size.SMALL, indent=16)
        if found.slips:
            self._words(tr("The moments that cost most"), Size.BODY, bold=True)
        for slip in found.slips[:MOMENTS]:
            self._words(moment_words(slip), Size.SMALL)
            self._words(beside_words(found, slip, self._person), Size.SMALL, indent=16)
        for view in charts(facts):
            high = height_px(view)
            self._room(high)
            box = QRectF(_MARGIN, self._at, self._writer.width() - 2 * _MARGIN, high)
            draw_chart(self._p, box, view, self._person, theme.BRIGHT)
            self._at += high + 8
        self._words(tr("To talk about"), Size.BODY, bold=True)
        for sentence in (
            *tank_sentences(found, self._person),
            *teaching_sentences(found, self._person),
        ):
            self._words(f"–  {sentence}", Size.SMALL)
