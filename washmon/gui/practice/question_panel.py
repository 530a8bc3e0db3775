"""What would you do now? Asked before the flags are shown, then held against rules and record."""

from collections import Counter

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QFrame, QWidget

from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import hbox, keep_width, vbox
from washmon.gui.kit.buttons import ChoiceRow, PressButton, Rank
from washmon.gui.kit.form_fields import ListField, TextField
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.replay.replay_worker import QuestionAsked
from washmon.line.flags import Amount, StepKind
from washmon.line.setup import LineSetup, SanitizerKind
from washmon.sessions.questions import CHOICES, SELDOM, AnswerVerdict, Given, Question, offered
from washmon.sessions.telling import tell
from washmon.units import Kind, UnitError

_AMOUNTS = {StepKind.DOSE, StepKind.ACID}


def words_of(kind: StepKind) -> str:
    """Return what a kind of step is called on a button."""
    return {
        StepKind.CHECK: tr("Measure"),
        StepKind.DOSE: tr("Dose"),
        StepKind.ACID: tr("Acid"),
        StepKind.LOWER: tr("Exchange"),
        StepKind.CHANGE_WATER: tr("New water"),
        StepKind.HOLD: tr("Hold"),
        StepKind.WAIT: tr("Wait"),
        StepKind.LEAVE: tr("Step back"),
        StepKind.LOOK: tr("Nothing"),
        StepKind.WARM: tr("Warm it"),
        StepKind.CONTACT: tr("Leave it longer"),
        StepKind.FILL: tr("Second fill"),
        StepKind.VERIFY: tr("Try the meter"),
    }[kind]


class QuestionPanel(QFrame):
    """Asks one question at a time.

    Signals:
        answered(Given): the person chose; the owner then calls ``show_verdict``.
        went_on(): the verdict was read.
    """

    answered = Signal(object)
    went_on = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setObjectName("hint")
        self._person: UserContext | None = None
        self._setup: LineSetup | None = None
        self._tank = 0
        self._given: Amount | None = None
        self.question = Text("", Size.LEAD, bold=True, wrapped=True)
        self.kinds = ChoiceRow(tuple((kind.value, words_of(kind)) for kind in CHOICES))
        self.own: ChoiceRow | None = None
        """The answers of a question that has its own, in place of the kinds of step."""
        self.which = ListField("tank", "", ())
        self.which.editor.setAccessibleName(tr("Which tank?"))
        self.right = self.asked = 0
        self._wrong: Counter[str] = Counter()
        self.tally = Text("", Size.SMALL, tone=Tone.SOFT)
        self.amount = TextField("amount", "", example=tr("how much, in mL"))
        self.answer = PressButton(tr("Answer"), Rank.PRIMARY, then=self._answer)
        self.go_on = PressButton(tr("Go on"), Rank.PRIMARY, "Enter", bound=False, then=self.went_on)
        self.verdict = Text("", Size.BODY, bold=True, wrapped=True)
        self.rules = Text("", Size.BODY, wrapped=True)
        self.done = Text("", Size.BODY, tone=Tone.SOFT, wrapped=True)
        self._lay_out()
        self.kinds.chosen.connect(self._choose)
        self.amount.editor.returnPressed.connect(self._answer)
        self.hide()

    def _lay_out(self) -> None:
        keep_width(self.amount, 190)
        self.amount.editor.setAccessibleName(tr("How much"))
        self.kinds.setAccessibleName(tr("What would you do?"))
        keep_width(self.which, 190)
        answers = hbox(self.which, (self.kinds, 1), gap_px=8)
        self._answers = answers
        answers.addWidget(self.answer)
        below = hbox(
            self.amount,
            (vbox(self.verdict, self.rules, self.done, self.tally, gap_px=2), 1),
            self.go_on,
            gap_px=12,
        )
        vbox(self.question, answers, below, on=self, gap_px=6, margins_px=(14, 8, 14, 8))

    def ask(self, asked: QuestionAsked, person: UserContext, setup: LineSetup) -> None:
        """Ask what would be done now."""
        question = asked.question
        self._person, self._setup, self._tank = person, setup, question.tank
        self._offer_tanks(setup, chosen=question.tank if question.text else 0)
        self._offer_kinds(question.wanted)
        self._offer_own(question)
        self.question.setText(self._asked_words(question, setup))
        self.amount.put("")
        self.amount.show_fault("")
        self._show_asking(asking=True)
        self._choose(self.kinds.selected)
        self.show()

    def _asked_words(self, question: Question, setup: LineSetup) -> str:
        time = f"{question.at:%H:%M}"
        if not question.text and len(setup.tanks) > 1:
            return tr("{time}: at which tank would you do something now, and what?", time=time)
        tank = setup.tank(question.tank)
        words = question.text or tr("What would you do now?")
        return tr(
            "{time}, tank {number} {name}: {words}",
            time=time,
            number=tank.number,
            name=tank.name,
            words=words,
        )

    def _offer_tanks(self, setup: LineSetup, chosen: int) -> None:
        tanks = tuple((str(tank.number), f"{tank.number}  {tank.name}") for tank in setup.tanks)
        self.which.offer(tanks, str(chosen) if chosen else "")
        self.which.show_fault("")
        self.which.setVisible(len(tanks) > 1 and not chosen)

    def _offer_kinds(self, wanted: StepKind | None) -> None:
        for kind in SELDOM:
            self.kinds.button(kind.value).setVisible(wanted in SELDOM)

    def _offer_own(self, question: Question) -> None:
        """Offer the answers of a question that has its own."""
        old, self.own = self.own, None
        if old is not None:
            self._answers.removeWidget(old)
            old.hide()
            old.deleteLater()
        self.kinds.setVisible(not question.answers)
        if question.answers:
            own = self.own = ChoiceRow(tuple((one, one) for one in offered(question)))
            own.setAccessibleName(tr("Answers"))
            own.chosen.connect(self._choose)
            self._answers.insertWidget(1, own, 1)

    def start_anew(self) -> None:
        """Count from nothing, as for another shift."""
        self.right = self.asked = 0
        self._wrong.clear()

    def summary(self) -> str:
        """Return how all questions were answered, for the end; empty where none was."""
        if not self.asked:
            return ""
        words = tr("{right} of {asked} answers were right.", right=self.right, asked=self.asked)
        if not self._wrong:
            return words
        missed = ", ".join(f"{what} ({count})" for what, count in self._wrong.most_common(3))
        return words + " " + tr("Wanted, and not given: {missed}.", missed=missed)

    def show_verdict(self, verdict: AnswerVerdict) -> None:
        """Show how the answer was, what the rules say, and what was done then."""
        if self._person is None or self._setup is None:
            return
        say = self._person.say
        self.asked += 1
        self.right += verdict.agrees
        if not verdict.agrees:
            own = self.own is not None
            self._wrong[tr("own question") if own else words_of(verdict.rules.kind)] += 1
        self.tally.setText(
            tr("Right: {right} of {asked} so far.", right=self.right, asked=self.asked)
        )
        mark = "✓ " if verdict.agrees else ""
        what = self._chosen_words()
        self.verdict.setText(mark + tr("You: {what}. {how}", what=what, how=say(verdict.said)))
        self.rules.setText(tr("The rules: {what}", what=say(verdict.rules.say)))
        if verdict.done is None:
            self.done.setText(tr("Then, nothing was done about it within half an hour."))
        else:
            told = tell(verdict.done, self._setup).said(say)
            time = f"{verdict.done.at:%H:%M}"
            self.done.setText(tr("Then, at {time}: {what}", time=time, what=told))
        self._show_asking(asking=False)
        self.go_on.setFocus()

    def _chosen_words(self) -> str:
        if self.own is not None:
            return self.own.selected
        words = words_of(StepKind(self.kinds.selected))
        if self.amount.isVisibleTo(self) and self._given is not None and self._person is not None:
            kind = Kind.MASS if self._given.unit == "g" else Kind.SMALL_VOLUME
            return f"{words}, {self._person.show(self._given.value, kind)}"
        return words

    def _show_asking(self, *, asking: bool) -> None:
        self.answer.setVisible(asking)
        self.kinds.setEnabled(asking)
        if self.own is not None:
            self.own.setEnabled(asking)
        self.which.setEnabled(asking)
        self.amount.setEnabled(asking)
        for widget in (self.verdict, self.rules, self.done, self.tally, self.go_on):
            widget.setVisible(not asking)

    @Slot(str)
    def _choose(self, kind: str) -> None:
        self.amount.setVisible(kind in {one.value for one in _AMOUNTS})
        self.answer.setEnabled(bool(kind))

    @Slot()
    def _answer(self) -> None:
        if self.own is not None:
            if self.own.selected:
                self.answered.emit(Given(StepKind.LOOK, words=self.own.selected))
            return
        if not self.kinds.selected or self._person is None:
            return
        kind = StepKind(self.kinds.selected)
        if self.which.isVisibleTo(self):
            if not self.which.text:
                self.which.show_fault(tr("Choose the tank."))
                return
            self._tank = int(self.which.text)
        amount = None
        if kind in _AMOUNTS:
            unit, of = ("g", Kind.MASS) if self._is_solid(kind) else ("mL", Kind.SMALL_VOLUME)
            try:
                amount = Amount(self._person.parse(self.amount.text, of), unit)
            except UnitError as trouble:
                self.amount.show_fault(str(trouble))
                return
        self._given = amount
        self.answered.emit(Given(kind, amount, self._tank))

    def _is_solid(self, kind: StepKind) -> bool:
        if self._setup is None or kind is not StepKind.DOSE:
            return False
        product = self._setup.sanitizer(self._setup.tank(self._tank).sanitizer)
        return product is not None and product.kind is SanitizerKind.CALCIUM
