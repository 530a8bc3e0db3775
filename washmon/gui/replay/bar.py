"""The bar under the Board of a replay: play, speed, steps, timeline, teaching note, the way out."""

from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtGui import QKeySequence, QResizeEvent, QShortcut
from PySide6.QtWidgets import QFrame, QScrollArea, QWidget

from washmon.gui.context import UserContext, decimal_point
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import FlowLayout, hbox, vbox
from washmon.gui.kit.buttons import ChoiceRow, PressButton, Rank
from washmon.gui.kit.text import ShortText, Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.replay.replay_client import SPEEDS, ReplayClient
from washmon.gui.replay.replay_timeline import Timeline
from washmon.gui.replay.replay_worker import ReplayShown
from washmon.gui.replay.track import Track
from washmon.line.event_base import RULES
from washmon.sessions.player import Judged
from washmon.sessions.telling import happened, tell

_NOTE_PX = 132


class ReplayBar(QWidget):
    """Works a :class:`ReplayClient`; ``left`` asks to go back to where one came from."""

    left = Signal()
    asking_changed = Signal(bool)
    teach_asked = Signal(bool)

    def __init__(self, client: ReplayClient, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._client = client
        self._person: UserContext | None = None
        self.note = _Note(self)
        self.tag = Text(tr("Replay"), Size.BODY, bold=True, tone=Tone.HAND)
        self.title = ShortText("", Size.BODY, bold=True)
        self.news = ShortText("", Size.BODY, tone=Tone.SOFT)
        self.time = Text("", Size.LARGE, bold=True, tabular=True)
        self.track = Track(self)
        self.play = PressButton(tr("Play"), Rank.PRIMARY, tr("Space"), bound=False)
        self.last_entry = PressButton(tr("Entry"), Rank.SECONDARY, "←", bound=False, key_first=True)
        self.next_entry = PressButton(tr("Entry"), Rank.SECONDARY, "→", bound=False)
        self.last_flag = PressButton(tr("Flag"), Rank.SECONDARY, "↑", bound=False, key_first=True)
        self.next_flag = PressButton(tr("Flag"), Rank.SECONDARY, "↓", bound=False)
        self.speeds = ChoiceRow(tuple((str(speed), f"{speed}×") for speed in SPEEDS))
        self.unfold = PressButton(tr("Note"), Rank.SECONDARY, "N")
        self.asks = PressButton(tr("Ask me"), Rank.SECONDARY, "Q")
        self.teach = PressButton(tr("Teach"), Rank.SECONDARY, "T")
        self.today = PressButton(tr("Judged today"), Rank.SECONDARY, "J", then=self._judge_today)
        self.leave = PressButton(tr("Leave replay"), Rank.SECONDARY, "Esc", then=self._leave)
        self._name_for_ears()
        self._lay_out()
        self._connect()
        self.speeds.choose(str(client.speed))
        self._allow(allowed=False)

    def _name_for_ears(self) -> None:
        self.last_entry.setAccessibleName(tr("Entry before"))
        self.next_entry.setAccessibleName(tr("Next entry"))
        self.last_flag.setAccessibleName(tr("Flag before"))
        self.next_flag.setAccessibleName(tr("Next flag"))
        self.speeds.setAccessibleName(tr("Speed"))
        self.unfold.setAccessibleName(tr("Teaching note"))
        self.asks.setAccessibleName(tr("Hide the flags and ask before they are shown"))
        self.teach.setAccessibleName(tr("Leave a note or a question here"))
        self.today.setAccessibleName(tr("Show what is judged today, not what was told then"))
        for toggle in (self.unfold, self.asks, self.teach, self.today):
            toggle.setCheckable(True)

    def _lay_out(self) -> None:
        words = hbox(
            self.tag,
            self.title,
            (self.news, 1),
            self.today,
            self.asks,
            self.teach,
            self.time,
            gap_px=12,
        )
        steps = FlowLayout()
        for widget in (self.play, self.last_entry, self.next_entry, self.last_flag, self.next_flag):
            steps.addWidget(widget)
        steps.addWidget(self.speeds)
        vbox(
            self.note,
            words,
            self.track,
            hbox((steps, 1), self.unfold, self.leave, gap_px=6),
            on=self,
            gap_px=4,
            margins_px=(12, 6, 12, 8),
        )
        self.note.hide()

    def _connect(self) -> None:
        client = self._client
        client.opened.connect(self._show_timeline)
        client.rejudged.connect(self._show_judged)
        client.moved.connect(self._show_place)
        client.playing_changed.connect(self._show_playing)
        self.track.seek_asked.connect(client.seek)
        self.speeds.chosen.connect(self._choose_speed)
        self.unfold.toggled.connect(self.note.setVisible)
        self.asks.toggled.connect(self._ask_or_tell)
        self.teach.toggled.connect(self.teach_asked)
        for button, slot, keys in (
            (self.play, client.toggle, ("Space",)),
            (self.last_entry, client.last_entry, ("Left",)),
            (self.next_entry, client.next_entry, ("Right",)),
            (self.last_flag, client.last_flag, ("Up", "PgUp")),
            (self.next_flag, client.next_flag, ("Down", "PgDown")),
        ):
            button.clicked.connect(slot)
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
            for key in keys:
                QShortcut(QKeySequence(key), self).activated.connect(slot)

    def _allow(self, *, allowed: bool) -> None:
        """Switch all but the way out, which is open even while a session is being read."""
        for widget in (
            self.play,
            self.last_entry,
            self.next_entry,
            self.last_flag,
            self.next_flag,
            self.speeds,
            self.track,
            self.unfold,
            self.today,
        ):
            widget.setEnabled(allowed)

    # -- what the client says ---------------------------------------------------------------------

    @Slot(object)
    def _show_timeline(self, timeline: Timeline) -> None:
        self._person = UserContext("", timeline.taste, decimal_point())
        title = timeline.title
        if not timeline.complete:
            title = tr("{title} (only a part)", title=title)
        self.title.setText(title)
        self.note.say(timeline.note)
        self.unfold.setVisible(bool(timeline.note))
        self.unfold.setChecked(bool(timeline.note))
        self._allow(allowed=True)
        self._show_judged(timeline)

    @Slot(object)
    def _show_judged(self, timeline: Timeline) -> None:
        if self._person is None:
            return
        self.track.show_timeline(timeline, self._person)
        self.today.setChecked(timeline.judged is Judged.TODAY)
        self.today.setEnabled(timeline.was_told)

    @Slot(object)
    def _show_place(self, shown: ReplayShown) -> None:
        self.track.show_position(shown.position_s)
        self.time.setText(f"{shown.snapshot.now:%H:%M:%S}")
        shift, person = shown.snapshot.shift, self._person
        if shift is None or person is None:
            return
        event = happened(shown.news)
        said = tell(event, shift.setup).said(person.say)
        by = "" if event.by == RULES else f"{event.by}  "
        told = shown.news.entry is not None or not self.asks.isChecked()
        self.news.setText(f"{shown.news.at:%H:%M}  {by}{said}" if told else "")

    @Slot(bool)
    def _show_playing(self, playing: bool) -> None:  # noqa: FBT001 - Qt's signal
        self.play.set_label(tr("Pause") if playing else tr("Play"))
        if playing:
            self.unfold.setChecked(False)  # read before, in the way while it plays

    # -- by hand --------------------------------------------------------------------------------

    def choose_speed(self, speed: int) -> None:
        """Play at a speed from now on."""
        self.speeds.choose(str(speed))
        self._client.set_speed(speed)

    @Slot(str)
    def _choose_speed(self, speed: str) -> None:
        self._client.set_speed(int(speed))

    @Slot(bool)
    def _judge_today(self, today: bool) -> None:  # noqa: FBT001 - Qt's signal
        self.today.setEnabled(False)  # until it is judged anew, which takes a while
        if today:
            self.news.setText(tr("Being judged by the rules of today"))
        self._client.judge_today(today)

    @Slot(bool)
    def _ask_or_tell(self, asking: bool) -> None:  # noqa: FBT001 - Qt's signal
        self._client.set_asking(asking)
        self.unfold.setChecked(False)  # it says more than should be known yet
        self.track.show_marks(on=not asking)
        self.asking_changed.emit(asking)

    @Slot()
    def _leave(self) -> None:
        self._client.pause()
        self.left.emit()


class _Note(QFrame):
    """The teaching note, folded out over the timeline; a long one can be scrolled."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("hint")
        self.words = Text("", Size.BODY, wrapped=True)
        self.words.setContentsMargins(4, 4, 12, 4)
        self.words.setAlignment(Qt.AlignmentFlag.AlignTop)
        area = QScrollArea(self)
        area.setWidgetResizable(True)
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.words.setObjectName("scrolled")
        area.setWidget(self.words)
        row = vbox(area, on=self, margins_px=(8, 4, 4, 4))
        self._row = row

    def say(self, note: str) -> None:
        """Show a note."""
        self.words.setText(note)
        self._fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Take as many lines as the note needs at this width."""
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        margins = self._row.contentsMargins()
        width = self.width() - margins.left() - margins.right()
        needed = self.words.heightForWidth(width) + margins.top() + margins.bottom() + 4
        self.setFixedHeight(min(needed, _NOTE_PX))
