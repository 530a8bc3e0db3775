"""The trainer's window: what is true, what is coming, changes, questions and a log of them."""

from PySide6.QtCore import Qt, QTimer, Signal, Slot
from PySide6.QtGui import QCloseEvent, QGuiApplication, QScreen
from PySide6.QtWidgets import QWidget

from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import STRETCH, FrontStack, add, hbox, keep_width, vbox
from washmon.gui.kit.buttons import ChoiceRow, PressButton
from washmon.gui.kit.card import Card
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.text import ShortText, Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.logbook.table import Cell, FactsModel, FactsTable
from washmon.gui.practice.asking_panel import AskingPanel
from washmon.gui.practice.offered_question import offered
from washmon.gui.practice.practice_client import PracticeClient
from washmon.gui.practice.trainer_desk import TrainerDesk, log_of
from washmon.gui.practice.trainer_panel import TrainerPanel
from washmon.gui.practice.truth_panel import TruthPanel
from washmon.gui.setup_guide.layout import Scroller
from washmon.line.practice_events import WorldChange
from washmon.planning.snapshot import Snapshot
from washmon.sessions.practice.coming import Coming, coming
from washmon.sessions.practice.veil import Showing
from washmon.units import Kind

_EVERY_MS = 500
"""So often the truth is drawn anew while time passes."""
_SIDE_PX = 520
_SIZE_PX = (1180, 720)
CHANGE, ASK, LOG = "change", "ask", "log"


class TrainerWindow(QWidget):
    """Stands on another screen where there is one; closing it changes nothing in the lesson.

    Signals:
        showing_chosen(str): when the trainee sees flags; see :class:`Showing`.
    """

    showing_chosen = Signal(str)

    def __init__(
        self, client: PracticeClient, person: UserContext, showing: Showing, parent: QWidget
    ) -> None:
        super().__init__(parent, Qt.WindowType.Window)
        self.setObjectName("paper")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        stage = client.stage
        self.setWindowTitle(tr("washmon, trainer: {title}", title=stage.scenario.title))
        self._client, self._person = client, person
        self._snapshot: Snapshot | None = None
        self.desk = TrainerDesk(client, self)
        self.time = Text("", Size.LARGE, bold=True, tabular=True)
        self.play = PressButton(tr("Run"))
        self.truth = TruthPanel(stage, person)
        self.coming = Text("", Size.BODY, wrapped=True)
        self.panel = TrainerPanel(showing, stage.line.world.dirtiness)
        self.undo = PressButton(tr("Take the last change back"), then=self._undo)
        self.message = MessageLine()
        self.asking = AskingPanel(self.desk)
        self.log_model = FactsModel((tr("Time"), tr("What the trainer did")), self)
        self.log = FactsTable(self.log_model)
        self.log.setAccessibleName(tr("What the trainer did"))
        self.turn = ChoiceRow(((CHANGE, tr("Change")), (ASK, tr("Ask")), (LOG, tr("Log"))), CHANGE)
        self.stack = FrontStack(parent=self)
        self._soon = QTimer(self, singleShot=True, interval=_EVERY_MS)
        self._lay_out()
        self._connect()
        self.resize(*_SIZE_PX)

    def _lay_out(self) -> None:
        attempt, scenario = self._client.attempt, self._client.stage.scenario
        facts = tr("{who}: {title}", who=attempt.trainee, title=scenario.title)
        head = hbox(
            Text(tr("Trainer"), Size.LARGE, bold=True),
            (ShortText(facts, Size.BODY, tone=Tone.SOFT), 1),
            self.play,
            self.time,
            gap_px=12,
        )
        left = Card(margin_px=14)
        add(left.body, Text(tr("What is true"), Size.LEAD, bold=True), (self.truth, 1))
        side = Card(margin_px=14)
        keep_width(side, _SIDE_PX)
        add(
            side.body,
            Text(tr("What is coming"), Size.LEAD, bold=True),
            self.coming,
            self.turn,
            (self.stack, 1),
        )
        for page in (self._change_page(), self._ask_page(), self.log):
            self.stack.addWidget(page)
        vbox(
            head,
            (hbox((left, 1), side, gap_px=12), 1),
            on=self,
            gap_px=8,
            margins_px=(12, 8, 12, 12),
        )

    def _change_page(self) -> QWidget:
        page = QWidget()
        vbox(self.panel, (self.undo, 0, Qt.AlignmentFlag.AlignLeft), self.message, STRETCH, on=page)
        self._changing = page
        return page

    def _ask_page(self) -> QWidget:
        self._asking = Scroller(self)
        self._asking.column.addWidget(self.asking)
        return self._asking

    def _connect(self) -> None:
        client = self._client
        client.ticked.connect(self._draw_soon)
        client.snapshot_changed.connect(self._take)
        client.play_clock.running_changed.connect(self._show_running)
        self.play.clicked.connect(client.play_clock.toggle)
        self.panel.change_asked.connect(self._change)
        self.panel.showing_chosen.connect(self.showing_chosen)
        self.desk.undo_changed.connect(self._allow)
        self.desk.asked_changed.connect(self._allow)
        self.asking.offer_asked.connect(self._offer)
        self.turn.chosen.connect(self._turn_to)
        self._soon.timeout.connect(self.draw)
        self._allow()

    def open(self) -> None:
        """Show it, on a screen that the trainee's window is not on where there is one."""
        screen = other_screen(self.parentWidget()) if self.isHidden() else None
        self.draw()
        if screen is not None:
            self.move(screen.availableGeometry().topLeft())
            self.showMaximized()
        else:
            self.show()
        self.activateWindow()

    def closeEvent(self, event: QCloseEvent) -> None:
        """Take a question away with the window: nobody could go on."""
        self.desk.go_on()
        super().closeEvent(event)

    # -- what is shown --------------------------------------------------------------------------

    @Slot(object)
    def _take(self, snapshot: Snapshot) -> None:
        self._snapshot = snapshot
        self._draw_soon()

    @Slot()
    def _draw_soon(self) -> None:
        if self.isVisible() and not self._soon.isActive():
            self._soon.start()

    @Slot()
    def draw(self) -> None:
        """Show how things stand now."""
        stage = self._client.stage
        shift = self._snapshot.shift if self._snapshot is not None else None
        self.time.setText(f"{stage.now:%H:%M:%S}")
        self.truth.show_now(shift)
        self.coming.setText("\n".join(self._coming_words(one) for one in coming(stage)))
        self.panel.loads.choose(stage.line.world.dirtiness.value)
        lines = list(log_of(shift)) if shift is not None else []
        rows = [(Cell(f"{one.at:%H:%M:%S}"), Cell(one.words)) for one in lines]
        if len(rows) != len(self.log_model.rows):
            self.log_model.show_rows(rows)

    def _coming_words(self, one: Coming) -> str:
        left = self._person.show(max(0.0, round(one.in_min)), Kind.TIME)
        return tr("In {left}: {what}", left=left, what=self._person.say(one.what))

    @Slot(bool)
    def _show_running(self, running: bool) -> None:  # noqa: FBT001 - Qt's signal
        self.play.set_label(tr("Pause") if running else tr("Run"))

    @Slot(str)
    def _turn_to(self, which: str) -> None:
        page = {CHANGE: self._changing, ASK: self._asking}.get(which, self.log)
        self.stack.setCurrentWidget(page)

    @Slot()
    def _allow(self) -> None:
        asked = self.desk.asked is not None
        self.undo.setEnabled(self.desk.can_undo)
        self.play.setEnabled(not asked)

    # -- by hand --------------------------------------------------------------------------------

    @Slot(object)
    def _change(self, change: WorldChange) -> None:
        self.message.clear()
        self.desk.change(change)

    @Slot()
    def _undo(self) -> None:
        if self.desk.undo():
            self.message.say(tr("From now on it is as before; what it did so far stays done."))
        else:
            self.message.say(tr("Nothing to take back: it has changed since."))
        self.panel.done.setText("")

    @Slot()
    def _offer(self) -> None:
        self.asking.put(offered(self._client.stage, self._snapshot, self._person))


def other_screen(beside: QWidget | None) -> QScreen | None:
    """Return a screen that a widget is not on, if there is one."""
    here = beside.screen() if beside is not None else None
    return next((one for one in QGuiApplication.screens() if one is not here), None)
