"""The summary of a shift to read: one column per tank, one row per figure."""

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QGridLayout, QScrollArea, QWidget

from washmon.gui.board.board_words import batches_words
from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import STRETCH, add, hbox, vbox
from washmon.gui.kit.card import Card
from washmon.gui.kit.spoken import SpokenRole, speak_as
from washmon.gui.kit.state_mark import MarkState, StateMark
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.logbook.logbook_words import (
    DASH,
    cost_words,
    done_word,
    percent,
)
from washmon.gui.logbook.share_bar import ShareBar
from washmon.line.held_words import DECISION_WORDS
from washmon.line.message import Message
from washmon.line.words import amount_figure
from washmon.reports.summary import LevelSummary, TankSummary, TimeShares, Used
from washmon.units import Kind

_COLUMN_PX = 168
_GAP_PX = 6
_FIRST = 2
"""The column of the first tank, after those of sections and labels."""


@dataclass(frozen=True, slots=True)
class Fact:
    """One figure of one tank: words, a mark where it is bad, a bar of time."""

    text: str
    look: MarkState | None = None
    shares: TimeShares | None = None


Tell = Callable[[TankSummary, UserContext], Fact]


class LevelRead(NamedTuple):
    """A sanitizer in a tank: what was read, and for how long it was right."""

    measured: LevelSummary | None
    time: TimeShares | None
    meant: bool
    """Whether the tank is to have this sanitizer."""


@dataclass(frozen=True, slots=True)
class SummarySection:
    """Rows that belong together."""

    title: str
    rows: tuple[tuple[str, Tell], ...]


class SummaryTable(QScrollArea):
    """Tanks side by side, so that they can be compared."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWidgetResizable(True)
        speak_as(self, SpokenRole.Pane, tr("Summary of each tank"))
        self.setFrameShape(QFrame.Shape.NoFrame)
        self._inside: QWidget | None = None

    def show_summaries(self, summaries: Sequence[TankSummary], person: UserContext) -> None:
        """Show these tanks in place of what was there."""
        inside = QWidget()
        inside.setObjectName("scrolled")
        card = Card(inside, margin_px=14)
        grid = QGridLayout()
        grid.setHorizontalSpacing(16)
        grid.setVerticalSpacing(3)
        grid.setColumnStretch(len(summaries) + _FIRST, 1)
        for at, summary in enumerate(summaries, _FIRST):
            grid.setColumnMinimumWidth(at, _COLUMN_PX)
            grid.setColumnStretch(at, 3)
            grid.addWidget(_head(summary), 0, at, Qt.AlignmentFlag.AlignTop)
        row = 1
        for section in _sections(summaries):
            row = _add_section(grid, row, section, summaries, person)
        card.body.addLayout(grid)
        add(vbox(on=inside, margins_px=(0, 0, 14, 0)), card, STRETCH)
        self.setWidget(inside)  # deletes what was there
        self._inside = inside


def _head(summary: TankSummary) -> QWidget:
    box = QWidget()
    name = Text(f"{summary.tank}  {summary.tank_name}", Size.LEAD, bold=True, wrapped=True)
    vbox(name, Text(tr(summary.stage), Size.SMALL, tone=Tone.SOFT), on=box, gap_px=0)
    return box


def _add_section(
    grid: QGridLayout,
    row: int,
    section: SummarySection,
    summaries: Sequence[TankSummary],
    person: UserContext,
) -> int:
    grid.setRowMinimumHeight(row, _GAP_PX)
    row += 1
    top = Qt.AlignmentFlag.AlignTop
    grid.addWidget(Text(section.title, Size.SMALL, bold=True), row, 0, top)
    for label, tell in section.rows:
        grid.addWidget(Text(label, Size.SMALL, tone=Tone.SOFT), row, 1, top)
        for at, summary in enumerate(summaries, _FIRST):
            grid.addWidget(_fact(tell(summary, person)), row, at, top)
        row += 1
    return row


def _fact(fact: Fact) -> QWidget:
    box = QWidget()
    column = vbox(on=box, gap_px=3)
    row = hbox(gap_px=6)
    if fact.look is not None:
        row.addWidget(StateMark(fact.look, 14, box), 0, Qt.AlignmentFlag.AlignTop)
    words = Text(fact.text, Size.SMALL, bold=fact.look is not None, wrapped=True, tabular=True)
    if fact.look is not None:
        words.set_tone(fact.look.tone)
    row.addWidget(words, 1)
    column.addLayout(row)
    if fact.shares is not None:
        column.addWidget(ShareBar(fact.shares, box))
    return box


def _sections(summaries: Sequence[TankSummary]) -> tuple[SummarySection, ...]:
    """Return the rows: of the sanitizers in the tanks, and of cost where the set-up had prices."""
    priced = any(one.shift.currency for one in summaries)
    cost = ((tr("Cost, with water"), _cost),) if priced else ()
    return (
        SummarySection(
            tr("Washed"),
            ((tr("Batches"), _batches), (tr("Water"), _water)),
        ),
        *_levels(summaries),
        SummarySection(
            tr("pH"),
            (
                (tr("Lowest · median · highest"), _ph_spread),
                (tr("Readings within limits"), _ph_readings),
                (tr("Time within limits"), _ph_time),
            ),
        ),
        SummarySection(
            tr("Flags, holds"),
            (
                (tr("Flags raised"), _flags),
                (tr("Corrective actions"), _corrective),
                (tr("Held"), _holds),
                (tr("Entries corrected"), _corrections),
            ),
        ),
        SummarySection(
            tr("Added"),
            ((tr("Sanitizer"), _sanitizer), (tr("Acid"), _acid), *cost),
        ),
    )


def _levels(summaries: Sequence[TankSummary]) -> Iterator[SummarySection]:
    """Yield a section for each sanitizer that some tank has."""
    peracetic = [_has_peracetic(one) for one in summaries]
    if not all(peracetic):
        yield _level(tr("Free chlorine"), _chlorine)
    if any(peracetic):
        yield _level(tr("Peracetic acid"), _peracetic)


def _level(title: str, of: Callable[[TankSummary], LevelRead]) -> SummarySection:
    def spread(tank: TankSummary, person: UserContext) -> Fact:
        level = of(tank)
        if not level.meant and level.measured is None:
            return Fact(DASH)
        return Fact(_spread(level.measured, Kind.CONCENTRATION, person))

    def readings(tank: TankSummary, _person: UserContext) -> Fact:
        return _level_readings(of(tank).measured)

    def time(tank: TankSummary, _person: UserContext) -> Fact:
        return _time(of(tank).time)

    def gap(tank: TankSummary, person: UserContext) -> Fact:
        shares = of(tank).time
        return Fact(person.show(shares.longest_gap_s / 60, Kind.TIME) if shares else DASH)

    return SummarySection(
        title,
        (
            (tr("Lowest · median · highest"), spread),
            (tr("Readings within limits"), readings),
            (tr("Time within limits"), time),
            (tr("Longest without a reading"), gap),
        ),
    )


def _has_peracetic(tank: TankSummary) -> bool:
    return tank.paa_time is not None


def _chlorine(tank: TankSummary) -> LevelRead:
    return LevelRead(tank.fac, tank.fac_time, meant=not _has_peracetic(tank))


def _peracetic(tank: TankSummary) -> LevelRead:
    return LevelRead(tank.paa, tank.paa_time, meant=_has_peracetic(tank))


def _batches(tank: TankSummary, person: UserContext) -> Fact:
    if not tank.washed_kg:
        return Fact(str(tank.batches))
    weight = person.show(tank.washed_kg, Kind.PRODUCE_MASS)
    return Fact(f"{tank.batches}  ({weight})")


def _water(tank: TankSummary, person: UserContext) -> Fact:
    if not tank.fills:
        return Fact(tr("never filled"))
    if not tank.water_known:
        return Fact(tr("not recorded"))
    fills = tr("1 fill") if tank.fills == 1 else tr("{count} fills", count=tank.fills)
    parts = [person.show(tank.water_l, Kind.VOLUME), fills]
    if tank.exchanges:
        parts.append(done_exchanges(tank.exchanges))
    return Fact(", ".join(parts))


def done_exchanges(count: int) -> str:
    """Return how often part of the water was exchanged."""
    return tr("1 exchange") if count == 1 else tr("{count} exchanges", count=count)


def _spread(measured: LevelSummary | None, kind: Kind, person: UserContext) -> str:
    if measured is None:
        return tr("not measured")
    values = [person.show(value, kind) for value in (measured.lowest, measured.median)]
    highest = person.show(measured.highest, kind)
    unit = highest.partition("\N{NO-BREAK SPACE}")[2]
    bare = [value.partition("\N{NO-BREAK SPACE}")[0] for value in (*values, highest)]
    return " · ".join(bare) + (f"\N{NO-BREAK SPACE}{unit}" if unit else "")


def _ph_spread(tank: TankSummary, person: UserContext) -> Fact:
    return Fact(_spread(tank.ph, Kind.PH, person))


def _share_of(measured: LevelSummary | None) -> str:
    if measured is None:
        return DASH
    good = round(measured.within * measured.count)
    return tr("{good} of {count}", good=good, count=measured.count)


def _level_readings(measured: LevelSummary | None) -> Fact:
    if measured is None:
        return Fact(DASH)
    below = measured.count - round(measured.at_least_critical * measured.count)
    if not below:
        return Fact(_share_of(measured))
    return Fact(
        tr("{share}; {below} under critical", share=_share_of(measured), below=below),
        MarkState.STOP,
    )


def _ph_readings(tank: TankSummary, _person: UserContext) -> Fact:
    return Fact(_share_of(tank.ph))


def _time(shares: TimeShares | None) -> Fact:
    if shares is None:
        return Fact(DASH)
    if shares.unknown:
        text = tr(
            "{within}, {unknown} not known",
            within=percent(shares.within),
            unknown=percent(shares.unknown),
        )
    else:
        text = percent(shares.within)
    return Fact(text, shares=shares)


def _ph_time(tank: TankSummary, _person: UserContext) -> Fact:
    return _time(tank.ph_time)


def _used(used: Sequence[Used], person: UserContext) -> Fact:
    if not used:
        return Fact(DASH)
    said = [
        person.say(
            Message(
                "{amount} {name}, once" if one.times == 1 else "{amount} {name}, {times} times",
                {"amount": amount_figure(one.amount), "name": one.name, "times": one.times},
            )
        )
        for one in used
    ]
    return Fact("; ".join(said))


def _sanitizer(tank: TankSummary, person: UserContext) -> Fact:
    return _used(tank.sanitizer_used, person)


def _acid(tank: TankSummary, person: UserContext) -> Fact:
    return _used(tank.acid_used, person)


def _cost(tank: TankSummary, person: UserContext) -> Fact:
    """Tell what chemicals and water cost."""
    return Fact(cost_words(tank.cost, tank.shift.currency, person))


def _flags(tank: TankSummary, _person: UserContext) -> Fact:
    counts = (
        (tank.flags_stop, tr("stop")),
        (tank.flags_act, tr("act")),
        (tank.flags_watch, tr("watch")),
    )
    said = [f"{count} {word}" for count, word in counts if count]
    return Fact(", ".join(said) or tr("none"), MarkState.STOP if tank.flags_stop else None)


def _corrective(tank: TankSummary, _person: UserContext) -> Fact:
    counts = Counter(one.kind for one in tank.corrective)
    return Fact(", ".join(done_word(kind, count) for kind, count in counts.items()) or tr("none"))


def _holds(tank: TankSummary, _person: UserContext) -> Fact:
    if not tank.holds:
        return Fact(tr("none"))
    said = [batches_words(tank.batches_held)]
    said += [tr(DECISION_WORDS[decision]).lower() for decision in dict.fromkeys(tank.decisions)]
    if tank.open_holds:
        said.append(tr("{count} still open", count=tank.open_holds))
    return Fact(", ".join(said), MarkState.STOP if tank.open_holds else None)


def _corrections(tank: TankSummary, _person: UserContext) -> Fact:
    return Fact(str(tank.corrections) if tank.corrections else tr("none"))
