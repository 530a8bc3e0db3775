"""The bar above the Board of practice: the clock, the batch that waits, what was said."""

from PySide6.QtCore import Signal, Slot
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QWidget

from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.boxes import hbox, vbox
from washmon.gui.kit.buttons import ChoiceRow, PressButton, Rank
from washmon.gui.kit.text import ShortText, Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.practice.play_clock import SPEEDS
from washmon.gui.practice.practice_client import PracticeClient
from washmon.sessions.practice.jumping import Stop
from washmon.units import Kind

_BATCH_PX = 330
"""So wide is what is said of a batch, in type of the usual size."""


class PlayBar(QWidget):
    """Works the clock of a :class:`PracticeClient`.

    Signals:
        send_asked(): the batch that waits is to be washed.
        left(): the attempt is to be interrupted; it can be resumed.
        finished(): the attempt is to be ended.
    """

    send_asked = Signal()
    left = Signal()
    finished = Signal()

    def __init__(
        self, client: PracticeClient, person: UserContext, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._client, self._person = client, person
        scenario, attempt = client.stage.scenario, client.attempt
        self.title = Text(scenario.title, Size.LEAD, bold=True)
        self.facts = ShortText(
            tr("{who} practises  ·  {goal}", who=attempt.trainee, goal=scenario.goal),
            Size.SMALL,
            tone=Tone.SOFT,
        )
        self.time = Text("", Size.LARGE, bold=True, tabular=True)
        self.batch = ShortText("", Size.BODY, bold=True)
        self.send = PressButton(tr("Send on"), Rank.PRIMARY, "Ctrl+B", then=self.send_asked)
        self.stop = PressButton(tr("Stop the line"), Rank.TOGGLE, "Ctrl+S")
        self.stop.setCheckable(True)
        self.play = PressButton(tr("Run"), Rank.SECONDARY, "Ctrl+P")
        self.speeds = ChoiceRow(tuple((str(speed), f"{speed}×") for speed in SPEEDS))
        self.jump = PressButton(tr("Next thing to do"), Rank.SECONDARY, "Ctrl+J")
        self.briefing = PressButton(tr("Briefing"), Rank.TOGGLE)
        self.trainer = PressButton(tr("Trainer"), Rank.QUIET)
        self.finish = PressButton(tr("Finish"), Rank.SECONDARY, then=self.finished)
        self.leave = PressButton(tr("Interrupt"), Rank.QUIET, then=self.left)
        self._lay_out()
        self._connect()
        self.speeds.choose(str(client.play_clock.speed))
        self.show_clock()

    def _lay_out(self) -> None:
        self.briefing.setCheckable(True)
        self.speeds.setAccessibleName(tr("Speed"))
        words = hbox(
            self.title,
            (self.facts, 1),
            self.briefing,
            self.trainer,
            self.leave,
            self.finish,
            self.time,
            gap_px=12,
        )
        keys = hbox(
            (self.batch, 1), self.send, self.stop, 16, self.play, self.speeds, self.jump, gap_px=8
        )
        column = vbox(words, keys, on=self, gap_px=2, margins_px=(12, 4, 12, 2))
        self._keys, self._column, self._apart = keys, column, False

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Give what waits a row of its own where it would be cut beside the buttons."""
        super().resizeEvent(event)
        buttons = (self.send, self.stop, self.play, self.speeds, self.jump)
        taken = sum(one.sizeHint().width() + self._keys.spacing() for one in buttons)
        apart = self.width() - taken < theme.px(_BATCH_PX)
        if apart is not self._apart:
            self._apart = apart
            self._keys.removeWidget(self.batch)
            self._column.removeWidget(self.batch)
            if apart:
                self._column.insertWidget(1, self.batch)
            else:
                self._keys.insertWidget(0, self.batch, 1)

    def _connect(self) -> None:
        client = self._client
        client.ticked.connect(self.show_clock)
        client.play_clock.running_changed.connect(self._show_running)
        client.jumped.connect(self._show_jump)
        client.line_stopped.connect(self.stop.setChecked)
        self.stop.toggled.connect(client.stop_line)
        self.play.clicked.connect(client.play_clock.toggle)
        self.jump.clicked.connect(client.jump)
        self.speeds.chosen.connect(self._choose_speed)

    @Slot()
    def show_clock(self) -> None:
        """Show the time and what waits."""
        stage = self._client.stage
        self.time.setText(f"{stage.now:%H:%M:%S}")
        waiting, coming = stage.waiting, stage.coming
        weight = self._person.show(coming.weight_kg, Kind.PRODUCE_MASS)
        if stage.over:
            self.batch.setText(tr("The time is over: finish it."))
        elif waiting is None:
            left = self._person.show(max(0.0, coming.due_min - stage.minutes), Kind.TIME)
            self.batch.setText(
                tr(
                    "Next batch: {lot}, {weight}, in {left}",
                    lot=coming.lot,
                    weight=weight,
                    left=left,
                )
            )
        else:
            waited = max(0.0, stage.minutes - waiting.due_min)
            waits = self._person.show(waited, Kind.TIME)
            words = tr("{lot}, {weight}: waits {waits}")
            if self._client.stopped:
                words = tr("Line stopped. {lot}, {weight}: waits {waits}")
            self.batch.setText(words.format(lot=waiting.lot, weight=weight, waits=waits))
        self.send.setEnabled(waiting is not None and not stage.over)
        self.play.setEnabled(not stage.over)
        self.jump.setEnabled(not stage.over)

    @Slot(bool)
    def _show_running(self, running: bool) -> None:  # noqa: FBT001 - Qt's signal
        self.play.set_label(tr("Pause") if running else tr("Run"))

    @Slot(object)
    def _show_jump(self, stop: Stop) -> None:
        self.jump.setToolTip(tr("Stopped: {why}", why=tr(stop.value)))

    @Slot(str)
    def _choose_speed(self, speed: str) -> None:
        self._client.play_clock.speed = int(speed)
