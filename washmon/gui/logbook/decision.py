"""An open hold, and the decision on it, made in place."""

from collections.abc import Iterable

from PySide6.QtCore import Qt, Signal, Slot
from PySide6.QtWidgets import QHBoxLayout, QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext
from washmon.gui.entry.holding_sheet import hold_words, likely_words
from washmon.gui.entry.sending import Sending
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import add, hbox, vbox
from washmon.gui.kit.buttons import AnywayButton, PressButton, Rank
from washmon.gui.kit.card import Card
from washmon.gui.kit.form_fields import ChoiceField, ListField, TextField
from washmon.gui.kit.message_line import MessageLine
from washmon.gui.kit.state_mark import MarkState, StateMark
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.line.events import Decision, HoldReleased
from washmon.line.held_words import DECISION_WORDS
from washmon.line.setup import DECIDERS
from washmon.line.state import Hold, ShiftState
from washmon.reports.record_lists import held_words
from washmon.reports.record_view import hold_row


class DecisionCard(Card):
    """One open hold; ``decided`` tells that the decision is in the journal."""

    decided = Signal()

    def __init__(
        self,
        client: RecorderClient,
        shift: ShiftState,
        hold: Hold,
        person: UserContext,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent, margin_px=14)
        self.show_look(MarkState.STOP)
        self._client, self._shift, self._hold, self._person = client, shift, hold, person
        self.sending = Sending(client, self)
        self.open = PressButton(tr("Decide"), Rank.PRIMARY, then=self._show_form)
        self.form = QWidget(self)
        self.decision = ChoiceField(
            "decision",
            tr("What happens to them"),
            tuple((one.value, tr(DECISION_WORDS[one])) for one in Decision),
        )
        self.reason = TextField("reason", tr("Done to product, why"))
        self.found = TextField("found", tr("Found"), value=hold.placed.reason)
        self.water = TextField("water", tr("Done to the water"))
        self.prevention = TextField("prevention", tr("So that it does not happen again"))
        people = tuple(
            (one.initials, f"{one.initials}  {one.name}")
            for one in shift.setup.people
            if one.role in DECIDERS
        )
        self.who = ListField("who", tr("Decided by"), people, value=person.initials)
        self.save = PressButton(tr("Save decision"), Rank.PRIMARY, then=self._save)
        self.cancel = PressButton(tr("Not now"), Rank.QUIET, then=self._hide_form)
        self.anyway = AnywayButton(tr("Save it all the same"), self)
        self.message = MessageLine()
        self._build(held_words(hold_row(shift, hold), person))
        self._connect()

    @property
    def unsaved(self) -> bool:
        """Whether something is written here that is not in the journal."""
        written = (self.reason, self.water, self.prevention)
        return not self.form.isHidden() and any(one.text for one in written)

    def _connect(self) -> None:
        self.anyway.clicked.connect(self._save_anyway)
        for field in (self.reason, self.found, self.water, self.prevention):
            field.editor.textChanged.connect(self.anyway.hide)
        self.reason.editor.returnPressed.connect(self._save)
        self.sending.saved.connect(self.decided)
        self.sending.refused.connect(self._refused)
        self.sending.doubted.connect(self._doubted)

    def _build(self, held: str) -> None:
        why = f"{hold_words(self._hold)} · {self._hold.placed.by} · {self._hold.placed.reason}"
        self.likely = Text(
            likely_words(self._shift, self._hold.placed, self._person), Size.SMALL, wrapped=True
        )
        words = vbox(
            Text(tr("On hold: {held}", held=held), bold=True, wrapped=True),
            Text(why, Size.SMALL, tone=Tone.SOFT, wrapped=True),
            self.likely,
            gap_px=0,
        )
        head = hbox(
            (StateMark(MarkState.STOP, 22), 0, Qt.AlignmentFlag.AlignTop),
            (words, 1),
            (self.open, 0, Qt.AlignmentFlag.AlignTop),
            gap_px=10,
        )
        self._lay_out_form()
        self.message.hide()
        add(self.body, head, self.form)
        foot = hbox(self.anyway, (self.message, 1))
        self.body.addLayout(foot)

    def _lay_out_form(self) -> None:
        fields = QHBoxLayout()
        add(
            vbox(on=self.form, margins_px=(0, 8, 0, 0)),
            fields,
            hbox(*((field, 1) for field in (self.found, self.water, self.prevention)), gap_px=12),
        )
        fields.setSpacing(12)
        add(fields, self.decision, (self.reason, 1), self.who)
        buttons = hbox(self.save, self.cancel, margins_px=(0, 20, 0, 0))
        fields.addLayout(buttons)
        fields.setAlignment(buttons, Qt.AlignmentFlag.AlignTop)
        self.form.hide()

    @Slot()
    def _show_form(self) -> None:
        self.form.show()
        self.open.hide()
        self.decision.setFocus()

    @Slot()
    def _hide_form(self) -> None:
        self.form.hide()
        self.message.hide()
        self.open.show()
        self.open.setFocus()

    @Slot()
    def _save(self) -> None:
        self._decide(sure=False)

    @Slot()
    def _save_anyway(self) -> None:
        self._decide(sure=True)

    def _decide(self, *, sure: bool) -> None:
        lacks = {
            self.decision: tr("Choose what happens to them."),
            self.reason: tr("Write a few words here."),
            self.found: tr("Write a few words here."),
            self.water: tr("Write a few words here."),
            self.prevention: tr("Write a few words here."),
            self.who: tr("Say who decides."),
        }
        empty = [field for field in lacks if not field.text]
        for field, words in lacks.items():
            field.show_fault(words if field in empty else "")
        if empty or self.sending.busy:
            return
        self.save.setEnabled(False)
        self.sending.send(
            HoldReleased(
                at=self._client.clock(),
                by=self.who.text,
                hold=self._hold.seq,
                decision=Decision(self.decision.text),
                reason=self.reason.text,
                found=self.found.text,
                water=self.water.text,
                prevention=self.prevention.text,
            ),
            self._person,
            chain=self._shift.chain,
            sure=sure,
        )

    @Slot(object)
    def _refused(self, faults: dict[str, str]) -> None:
        self.anyway.hide()
        self._warn(faults.values())

    @Slot(object)
    def _doubted(self, sentences: tuple[str, ...]) -> None:
        self._warn(sentences)
        self.anyway.show()

    def _warn(self, sentences: Iterable[str]) -> None:
        self.save.setEnabled(True)
        self.message.show()
        self.message.warn(" ".join(dict.fromkeys(sentences)))
