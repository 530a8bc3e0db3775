"""The head of a shift's record: which shift, who, what lots, and what is still open."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import STRETCH, hbox, vbox
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.state_mark import MarkState, StateMark
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.logbook.logbook_words import clock, day, span
from washmon.line.events import HandedOver
from washmon.line.flags import ALWAYS_ON
from washmon.line.setup import RuleOff
from washmon.line.state import ShiftState
from washmon.reports.timeline import end_of
from washmon.rules.catalogue import title_of


class ShiftHeading(QWidget):
    """Title and facts; with a mark, in words, and a way to decide where holds are open."""

    decide_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.title = Text("", Size.LARGE, bold=True, parent=self)
        self.state = Text("", bold=True, parent=self)
        self.mark = StateMark(MarkState.STOP, 20, self)
        self.decide = PressButton(tr("Decide"), Rank.QUIET, parent=self, then=self.decide_asked)
        self.facts = Text("", Size.SMALL, tone=Tone.SOFT, wrapped=True, parent=self)
        self.checks = Text("", Size.SMALL, tone=Tone.SOFT, wrapped=True, parent=self)
        self.rules_off = Text("", Size.SMALL, tone=Tone.ACT, wrapped=True, parent=self)
        self.ask_learned = PressButton(tr("What was learned"), Rank.QUIET, parent=self)
        self.scenario = PressButton(tr("Make a scenario"), Rank.QUIET, parent=self)
        self.learned = Text("", Size.SMALL, wrapped=True, parent=self)
        row = hbox(
            self.title,
            STRETCH,
            self.mark,
            self.state,
            self.decide,
            self.ask_learned,
            self.scenario,
            gap_px=10,
        )
        vbox(row, self.facts, self.checks, self.rules_off, self.learned, on=self, gap_px=2)
        self.say("")

    def say(self, title: str) -> None:
        """Show a title and nothing else."""
        self.title.setText(title)
        for shown in (self.rules_off, self.learned, self.ask_learned, self.scenario):
            shown.hide()
        for text in (self.state, self.facts, self.checks):
            text.setText("")
        self.mark.hide()
        self.decide.hide()

    def show_shift(self, shift: ShiftState, _person: UserContext) -> None:
        """Show which shift this is."""
        started, setup = shift.started, shift.setup
        title = f"{setup.line}, {day(started.at)}"
        kind = tr("Practice") if started.practice else tr("Imported") if started.imported else ""
        self.title.setText(f"{kind}: {title}" if kind else title)
        self.facts.setText("  ·  ".join(_facts(shift)))
        self._show_checks(shift)
        self.scenario.setVisible(shift.ended is not None and not started.practice)
        off = [_off(one) for one in shift.setup.rules_off if one.rule not in ALWAYS_ON]
        self.rules_off.setText(tr("Rules switched off: {rules}", rules="; ".join(off)))
        self.rules_off.setVisible(bool(off))
        holds = len(shift.open_holds)
        self.mark.setVisible(holds > 0)
        self.decide.setVisible(holds > 0)
        self.state.set_tone(Tone.STOP if holds else Tone.PLAIN)
        state = tr("Ended") if shift.ended else tr("Running")
        if holds:
            open_words = (
                tr("1 hold is open") if holds == 1 else tr("{count} holds are open", count=holds)
            )
            heir = shift.ended.holds_to if shift.ended else None
            taken = tr("with {who}", who=heir) if heir else ""
            state = "  ·  ".join(part for part in (state, open_words, taken) if part)
        self.state.setText(state)

    def _show_checks(self, shift: ShiftState) -> None:
        checks = shift.started.checks
        missed = [check.item for check in checks if not check.done]
        self.checks.setVisible(bool(checks))
        self.checks.set_tone(Tone.ACT if missed else Tone.SOFT)
        done = len(checks) - len(missed)
        words = tr("Pre-wash check list: {done} of {all} done", done=done, all=len(checks))
        if missed:
            words = tr("{words}. Not done: {items}", words=words, items="; ".join(missed))
        self.checks.setText(words)


def _off(one: RuleOff) -> str:
    """Return which rule did not watch this shift, and who switched it off, when and why."""
    title, reason = tr(title_of(one.rule)), one.reason.strip().removesuffix(".")
    if one.since is None:
        return tr("{rule} ({reason})", rule=title, reason=reason)
    return tr(
        "{rule} ({reason}; {who}, {day})",
        rule=title,
        reason=reason,
        who=one.by or "–",
        day=one.since.isoformat(),
    )


def _facts(shift: ShiftState) -> list[str]:
    started, setup = shift.started, shift.setup
    facts = [", ".join(part for part in (setup.site, setup.location) if part), setup.commodity]
    if shift.ended:
        length = span(started.at, shift.ended.at)
        facts.append(f"{clock(started.at)}–{clock(shift.ended.at)} ({length})")
    else:
        facts.append(
            tr(
                "since {start}, last entry {last}",
                start=clock(started.at),
                last=clock(end_of(shift)),
            )
        )
    supervisor = setup.person(started.by)
    name = f"{started.by} ({supervisor.name})" if supervisor else started.by
    facts.append(tr("supervisor {who}", who=name))
    facts += [
        tr("handed over to {who} at {time}", who=entry.event.to, time=clock(entry.event.at))
        for entry in shift.entries
        if isinstance(entry.event, HandedOver)
    ]
    if started.imported:
        facts.append(tr("taken over from {file}", file=started.imported))
    if codes := shift.lot_codes:
        facts.append(tr("lots {codes}", codes=", ".join(codes)))
    return [fact for fact in facts if fact]
