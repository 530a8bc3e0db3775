"""What if, and what next: asked at a sheet, worked out on the recorder's thread, drawn at once.

What a shift still needs, and what it usually took, in a line each.
"""

from typing import TYPE_CHECKING, NamedTuple

from msgspec.structs import replace
from PySide6.QtCore import QTimer, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.board.board import Board
from washmon.gui.board.panel import TrendCard
from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext
from washmon.gui.entry.asker import SheetOwner
from washmon.gui.i18n import tr
from washmon.gui.kit.entry_sheet import EntrySheet
from washmon.gui.kit.sheet_spec import FieldKind, FieldSpec, SheetSpec, TankSpec
from washmon.gui.kit.small_fan import SmallFan, SmallFanView
from washmon.gui.kit.spoken import announce
from washmon.gui.kit.trend_view import DrawnFan
from washmon.line.flags import Amount
from washmon.line.message import Message
from washmon.line.product import is_solid
from washmon.line.state import ShiftState, TankState
from washmon.planning.snapshot import Snapshot
from washmon.planning.until_end import Need, TankNeeds, total
from washmon.recorder.past import past_shifts
from washmon.reports.usual_day import Usual, UsualDay, usual_day
from washmon.store.store import Store
from washmon.units import Kind, UnitError, symbol
from washmon.units import Kind as Unit

if TYPE_CHECKING:
    from washmon.planning.what_if import LevelAhead, PhAhead


_GAP = "\N{NO-BREAK SPACE}"


def needs_words(found: tuple[TankNeeds, ...], batches: int, person: UserContext) -> str:
    """Say what so many more batches need: doses and products, water, readings and strips."""
    doses, changes = sum(one.doses for one in found), sum(one.changes for one in found)
    products = [
        tr("{amount} {product}", amount=_span(need, unit, person), product=name)
        for (name, unit), need in total(found).items()
    ]
    said = [
        tr("{count} doses" if doses != 1 else "one dose", count=doses),
        *products,
    ]
    if changes:
        said.append(
            tr("{count} water changes" if changes != 1 else "one water change", count=changes)
        )
    water_l = sum(one.water_l for one in found)
    if water_l:
        said.append(tr("{volume} of water", volume=person.show(water_l, Kind.VOLUME)))
    readings, strips = sum(one.readings for one in found), sum(one.strips for one in found)
    said.append(tr("{count} readings" if readings != 1 else "one reading", count=readings))
    if strips:
        said.append(tr("{count} strips" if strips != 1 else "one strip", count=strips))
    template = "Until the end of the shift, {count} more batches: {needs}."
    return tr(template, count=batches, needs=", ".join(said))


def day_words(day: UsualDay, person: UserContext) -> str:
    """Sum up what the last shifts took, as what tomorrow may take."""
    said = [tr("{span} batches", span=_whole(day.batches))]
    for (name, unit), usual in day.products.items():
        need = Need(usual.low, usual.middle, usual.high)
        said.append(tr("{amount} {product}", amount=_span(need, unit, person), product=name))
    volume = person.show(day.water_l.middle, Kind.VOLUME)
    said.append(tr("{volume} of water", volume=volume))
    said.append(tr("{span} readings", span=_whole(day.readings)))
    head = "For tomorrow, as in the last shift: {what}."
    if day.shifts > 1:
        head = "For tomorrow, as in the last {count} shifts: {what}."
    return tr(head, count=day.shifts, what=", ".join(said))


def _whole(usual: Usual) -> str:
    middle, low, high = round(usual.middle), round(usual.low), round(usual.high)
    return (
        str(middle)
        if low == high
        else tr("{middle} ({low}–{high})", middle=middle, low=low, high=high)
    )


def _span(need: Need, unit: str, person: UserContext) -> str:
    kind = Kind.SMALL_VOLUME if unit == "mL" else Kind.MASS
    middle = person.show(need.middle, kind)
    low, high = (person.show(end, kind) for end in (need.low, need.high))
    if low.rpartition(_GAP)[2] == high.rpartition(_GAP)[2]:
        low = low.rpartition(_GAP)[0]  # one unit for both
    if need.low == need.high:
        return middle
    return tr("{middle} ({low}–{high})", middle=middle, low=low, high=high)


SOON_MS = 120
"""Nothing is asked while somebody types."""
_USUAL_BATCHES = "12"
_KEEP, _CHANGE = "keep", "change"


class _Question(NamedTuple):
    """What is asked, with all that it takes to answer it."""

    snapshot: Snapshot
    shift: ShiftState
    tank: int
    batches: int
    amount: Amount | None
    change: bool
    left: int


class WhatIfAsker(SheetOwner):
    """Asks nothing of the journal and enters nothing: it only tells what would come of it."""

    def __init__(self, client: RecorderClient, board: Board, parent: QWidget) -> None:
        self.sheet = EntrySheet(parent)
        super().__init__(client, parent, self.sheet)
        self._board = board
        self._shown: tuple[Snapshot, UserContext] | None = None
        self._asked: _Question | None = None
        self._day = ""
        self.card = TrendCard(self.sheet)
        self.ph = SmallFan(self.card)
        self.card.body.addWidget(self.ph)
        self.sheet.lend_side(self.card)
        self._soon = QTimer(self, singleShot=True, interval=SOON_MS)
        self._soon.timeout.connect(self._ask)
        self.sheet.changed.connect(self._soon.start)
        self.sheet.submitted.connect(self._done)
        self.sheet.left.connect(self._give_focus_back)

    def open(self, snapshot: Snapshot, person: UserContext, tank: int | None) -> None:
        """Ask about a tank; without one it is chosen."""
        shift = snapshot.shift
        if shift is None:
            return
        self._shown, self._asked, self._day = (snapshot, person), None, ""
        self._note_focus()
        tanks = tuple(
            TankSpec(str(one.number), one.spec.name, self._fields(one, shift, person))
            for one in shift.tanks
            if one.fill is not None
        )
        chosen = str(tank) if any(one.key == str(tank) for one in tanks) else ""
        self.sheet.open(SheetSpec(tr("What if"), tanks=tanks, tank=chosen, save=tr("Done")))
        self.sheet.ready()
        if not tanks:
            self.sheet.message.say(tr("No tank holds water yet."))
        self._client.read(lambda store: _usual(store, shift), self._know_day)

    @staticmethod
    def _fields(tank: TankState, shift: ShiftState, person: UserContext) -> tuple[FieldSpec, ...]:
        product = shift.setup.sanitizer(tank.spec.sanitizer)
        name = tr("I add") if product is None else tr("I add {product}", product=product.name)
        unit = Unit.MASS if product is not None and is_solid(product) else Unit.SMALL_VOLUME
        waters = ((_KEEP, tr("Keep the water")), (_CHANGE, tr("Change it now")))
        return (
            FieldSpec("batches", tr("I wash"), tr("batches"), value=_USUAL_BATCHES, hint=" "),
            FieldSpec("amount", name, symbol(unit, person.taste), hint=" "),
            FieldSpec("left", tr("Batches left today"), hint=" "),
            FieldSpec(
                "water", tr("Water"), kind=FieldKind.CHOICE, choices=waters, last=_KEEP, aside=True
            ),
        )

    def show_snapshot(self, snapshot: Snapshot, person: UserContext) -> None:
        """Know how the line is; what was asked is answered anew."""
        if self._shown is not None and self.is_open and snapshot.shift is not None:
            self._shown = (snapshot, person)
            self._soon.start()

    # -- the question ------------------------------------------------------------------------------

    @Slot()
    def _ask(self) -> None:
        question = self._read()
        if question is None:
            self.sheet.want_side(wanted=False)
            self.sheet.say_meaning(self._day)
            return
        self._asked = question
        self._draw((), SmallFanView())
        self._client.read(lambda _: _answer(question), self._tell)

    def _read(self) -> _Question | None:
        """Return what is typed; what can't be read is said beside its field."""
        if self._shown is None or not self.sheet.tank or not self.is_open:
            return None
        snapshot, person = self._shown
        shift, number = snapshot.shift, int(self.sheet.tank)
        if shift is None:
            return None
        product = shift.setup.sanitizer(shift.tank(number).spec.sanitizer)
        solid = product is not None and is_solid(product)
        added = self._number("amount", Unit.MASS if solid else Unit.SMALL_VOLUME, person)
        return _Question(
            snapshot=snapshot,
            shift=shift,
            tank=number,
            batches=int(self._number("batches", Unit.COUNT, person) or 0),
            amount=None if not added else Amount(added, "g" if solid else "mL"),
            change=self.sheet.values().get("water") == _CHANGE,
            left=int(self._number("left", Unit.COUNT, person) or 0),
        )

    def _number(self, key: str, kind: Unit, person: UserContext) -> float | None:
        field = self.sheet.field(key)
        if not field.text:
            return None
        try:
            return person.parse(field.text, kind)
        except UnitError as trouble:
            field.show_fault(str(trouble))
            return None

    # -- the answer --------------------------------------------------------------------------------

    @Slot(object)
    def _tell(self, answer: object) -> None:
        if not isinstance(answer, _Answer) or answer.question != self._asked or not self.is_open:
            return
        if self._shown is None:
            return
        person = self._shown[1]
        said = [" ".join(person.say(one) for one in answer.words)]
        if answer.question.left:
            said.append(needs_words(answer.needs, answer.question.left, person))
        said.append(self._day)
        self._draw(answer.fan, _ph_view(answer, person))
        words = "\n".join(one for one in said if one)
        self.sheet.say_meaning(words)
        announce(self.sheet, words)

    def _draw(self, fan: "tuple[LevelAhead, ...]", ph: SmallFanView) -> None:
        """Draw what would come beside what comes otherwise."""
        asked = self._asked
        panel = None if asked is None else self._board.panel(asked.tank)
        if asked is None or panel is None:
            return
        washed = asked.shift.tank(asked.tank).batches
        points = tuple(DrawnFan(washed + one.batches, one.low, one.middle, one.high) for one in fan)
        self.card.show_view(replace(panel, trend=replace(panel.trend, supposed=points)))
        self.ph.show_view(ph)
        self.sheet.want_side(wanted=True)

    @Slot(object)
    def _know_day(self, day: object) -> None:
        if not isinstance(day, UsualDay) or self._shown is None or not self.is_open:
            return
        snapshot, person = self._shown
        self._day = day_words(day, person)
        shift, field = snapshot.shift, self.sheet.grid.fields.get("left")
        if shift is not None and field is not None and not field.text:
            washed = max((tank.batches for tank in shift.tanks), default=0)
            field.put(str(max(0, round(day.batches.middle) - washed) or ""))
        self._soon.start()

    @Slot(object)
    def _done(self, _entry: object) -> None:
        self.shut()
        self._give_focus_back()


class _Answer(NamedTuple):
    question: _Question
    words: tuple[Message, ...]
    fan: "tuple[LevelAhead, ...]"
    needs: "tuple[TankNeeds, ...]"
    ph: "tuple[PhAhead, ...]" = ()
    ph_limits: tuple[float, float] = (0.0, 14.0)


def _answer(question: _Question) -> _Answer:
    """Work it out: called on the recorder's thread, from what a snapshot held."""
    from washmon.planning.until_end import needs  # noqa: PLC0415 - start-up is measured
    from washmon.planning.what_if import (  # noqa: PLC0415 - the same
        Supposed,
        contexts_of,
        what_if,
        what_if_words,
    )

    snapshot = question.snapshot
    contexts = list(contexts_of(question.shift, snapshot.now, snapshot.forecasts))
    mine = next(one for one in contexts if one.rule_context.tank.number == question.tank)
    supposed = Supposed(
        tank=question.tank,
        batches=question.batches,
        amount=question.amount,
        change=question.change,
    )
    found = what_if(mine, supposed)
    needed = needs(contexts, question.left) if question.left else ()
    if isinstance(found, Message):
        return _Answer(question, (found,), (), needed)
    words = what_if_words(found)
    return _Answer(question, words, found.fan, needed, found.ph, found.ph_limits)


def _ph_view(answer: _Answer, person: UserContext) -> SmallFanView:
    """Return how the pH would go, for a strip under the plot."""
    if not answer.ph:
        return SmallFanView()
    low, high, end = *answer.ph_limits, answer.ph[-1]
    least, most = (person.show(round(one, 1), Unit.PH) for one in (end.low, end.high))
    return SmallFanView(
        name=tr("pH"),
        fan=tuple(DrawnFan(one.batches, one.low, one.middle, one.high) for one in answer.ph),
        limits=(low, high),
        limit_words=(person.show(low, Unit.PH), person.show(high, Unit.PH)),
        words=tr("{low}–{high}", low=least, high=most),
    )


def _usual(store: Store, shift: ShiftState) -> UsualDay | None:
    past = past_shifts(store, shift.chain, shift.started)
    return usual_day([entries for _, entries in past])
