"""The page of events: a list, a form for each, and all of them on a line of time."""

import math
from collections.abc import Iterator
from datetime import time

from PySide6.QtCore import Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import STRETCH, add, vbox
from washmon.gui.kit.buttons import PressButton
from washmon.gui.kit.form_fields import FormField
from washmon.gui.scenarios.fields import ClockField, field_of, loads
from washmon.gui.scenarios.timeline import DraftMark, DraftTimeline, TimeSpan, clock_words
from washmon.gui.setup_guide.layout import FormPage, Section
from washmon.gui.setup_guide.roster import Listed, Roster
from washmon.gui.setup_guide.writing import WritingStyle
from washmon.sessions.practice.scenario import Happening, Scenario, minute_of
from washmon.units import Kind

_DAY_MIN = 24 * 60


class EventForm(Listed):
    """One event: when, and what becomes different or is heard."""

    def __init__(
        self, event: Happening, writing: WritingStyle, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._event, self._writing = event, writing
        self.at = ClockField(tr("At"))
        self.enter("at", self.at)
        section = Section("", "", self)
        rows = [
            ("dirtiness", 9),
            ("strength_share", 4),
            ("strip_share", 4),
            ("decay_share", 4),
            ("say", 12),
        ]
        if event.strength_times is not None:
            rows.insert(2, ("strength_times", 12))
        fields = {
            name: (self.enter(name, field_of(f"happens.0.{name}", writing)), wide)
            for name, wide in rows
        }
        section.row((self.at, 3), fields["dirtiness"])
        section.row(*(fields[name] for name in ("strength_share", "strip_share", "decay_share")))
        if "strength_times" in fields:
            section.row(fields["strength_times"])
        section.row(fields["say"])
        vbox(section, STRETCH, on=self)
        self.show_parts(event)
        self.changed.connect(self.named)

    def event_written(self) -> Happening:
        """Return the event as it is written."""
        return self.onto(self._event)

    @property
    def label(self) -> str:
        """What the list says: the time and what happens."""
        at = self.at.moment
        when = clock_words(at.hour * 60 + at.minute) if at is not None else "–"
        return f"{when}   {self.words}"

    @property
    def words(self) -> str:
        """What happens, in a few words."""
        event = self.event_written()
        said = [dict(loads())[event.dirtiness.value]] if event.dirtiness is not None else []
        for share, words in (
            (event.strength_share, tr("strength {share}")),
            (event.strength_times, tr("strength × {share}")),
            (event.strip_share, tr("strips {share}")),
            (event.decay_share, tr("loss {share}")),
        ):
            if share is not None:
                shown = "?" if math.isnan(share) else self._writing.show(100 * share, Kind.PERCENT)
                said.append(words.format(share=shown))
        if event.say:
            said.append(f"“{event.say}”")
        return ", ".join(said) or tr("nothing yet")


class EventsPage(FormPage):
    """Events in the order of their times."""

    roots = frozenset({"happens"})

    def __init__(self, writing: WritingStyle, parent: QWidget | None = None) -> None:
        super().__init__(
            tr("Events"),
            tr("What happens in the shift: behind the scenes, said aloud, or both."),
            parent,
        )
        self._writing = writing
        self._scenario: Scenario | None = None
        self._span = TimeSpan()
        self.timeline = DraftTimeline(self)
        self.roster: Roster[EventForm] = Roster(in_order=False, parent=self)
        self.add = PressButton(tr("Add an event"), then=self._add)
        self.roster.adders.addWidget(self.add)
        add(self.outer, self.timeline, (self.roster, 1))
        self.roster.left.connect(self._order)
        self.roster.left.connect(self.left)
        self.roster.changed.connect(self._draw)
        self.roster.changed.connect(self.changed)
        self.roster.list.currentRowChanged.connect(self._draw)
        self.timeline.picked.connect(self.roster.turn_to)
        self.timeline.moved.connect(self._move)
        self.timeline.settled.connect(self._order)

    def fields(self, _path: str = "") -> Iterator[tuple[str, FormField]]:
        """Yield the fields of all events."""
        yield from self.roster.fields("happens")

    def show_scenario(self, scenario: Scenario) -> None:
        """Show the events of a scenario."""
        self.roster.clear()
        self._span = _span_of(scenario)
        for event in sorted(scenario.happens, key=lambda one: minute_of(scenario, one.at)):
            self.roster.add(EventForm(event, self._writing))
        if scenario.happens:
            self.roster.turn_to(0)
        self._draw()

    def bring_pace(self, scenario: Scenario) -> bool:
        """Draw the line for the time that a draft lasts.

        Events keep their place in a shift that begins at another time; tells whether they moved.
        """
        before, self._span = self._span.begins_min, _span_of(scenario)
        by = self._span.begins_min - before
        for form in self.roster.forms if by else ():
            if (at := form.at.moment) is not None:
                moved = (at.hour * 60 + at.minute + int(by)) % _DAY_MIN
                form.at.put(time(moved // 60, moved % 60, at.second))
        self._order()
        return bool(by) and bool(self.roster.forms)

    def written(self) -> tuple[Happening, ...]:
        """Return the events as written, in the order of the list."""
        return tuple(form.event_written() for form in self.roster.forms)

    def place(self, path: str) -> str:
        """Say which event a path leads to."""
        at = path.split(".")[1] if "." in path else ""
        if not (at.isdigit() and int(at) < len(self.roster.forms)):
            return self.title
        return self.roster.forms[int(at)].label

    def show_field(self, path: str) -> None:
        """Bring the event of a path to the front."""
        at = path.split(".")[1] if "." in path else ""
        if at.isdigit() and int(at) < len(self.roster.forms):
            self.roster.turn_to(int(at))

    def _minute(self, form: EventForm) -> float:
        at = form.at.moment
        if at is None:
            return math.inf
        return (at.hour * 60 + at.minute + at.second / 60 - self._span.begins_min) % _DAY_MIN

    @Slot()
    def _add(self) -> None:
        """Add an event after the one that is chosen, or in the middle."""
        forms = self.roster.forms
        here = self._minute(forms[self.roster.at]) if forms and self.roster.at >= 0 else math.nan
        minute = here + 10.0 if math.isfinite(here) else round(self._span.minutes / 2)
        at = self._time_at(min(minute, self._span.minutes))
        self.roster.add(EventForm(Happening(at=at), self._writing))
        self._order()
        self.changed.emit()
        form = self.roster.forms[self.roster.at]
        form.at.focus()

    def _time_at(self, minute: float) -> time:
        whole = int(self._span.begins_min + minute) % _DAY_MIN
        return time(whole // 60, whole % 60)

    @Slot(int, float)
    def _move(self, at: int, minute: float) -> None:
        form = self.roster.forms[at]
        form.at.put(self._time_at(minute))
        self.roster.rename()
        self._draw()
        self.changed.emit()

    @Slot()
    def _order(self) -> None:
        self.roster.arrange(self._minute)
        self._draw()

    @Slot()
    def _draw(self) -> None:
        marks = tuple(
            DraftMark(self._minute(form), form.words)
            for form in self.roster.forms
            if math.isfinite(self._minute(form))
        )
        at = self.roster.at if len(marks) == len(self.roster.forms) else -1
        self.timeline.show_marks(self._span, marks, at)


def _span_of(scenario: Scenario) -> TimeSpan:
    """Return the time that the line reaches over; an hour where the length is unreadable."""
    begins = scenario.pace.begins
    minutes, first = scenario.pace.minutes, scenario.pace.first_batch
    return TimeSpan(
        begins.hour * 60 + begins.minute,
        minutes if math.isfinite(minutes) and minutes >= 1 else 60.0,
        first if math.isfinite(first) else 0.0,
    )
