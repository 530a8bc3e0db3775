"""The rules: what each goes by, and which of them do not watch this line, and why."""

from collections.abc import Iterator

from PySide6.QtCore import Qt, Slot
from PySide6.QtWidgets import QGridLayout, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import add, vbox
from washmon.gui.kit.card import Card
from washmon.gui.kit.form_fields import FormField, TextField
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.setup_guide.choices import ToggleField
from washmon.gui.setup_guide.layout import FieldForm, FormPage, Scroller
from washmon.gui.setup_guide.setup_words import level_word
from washmon.gui.setup_guide.writing import WritingStyle
from washmon.line.flags import ALWAYS_ON
from washmon.line.setup import LineSetup, RuleOff
from washmon.rules import all_rules
from washmon.rules.base import Rule
from washmon.rules.catalogue import LEVELS, is_about, thresholds
from washmon.units import UnitError

ON, OFF = "on", "off"
_SWITCH_PX = 124


class RuleRow(FieldForm):
    """One rule, with its switch and, once it is off, the reason."""

    def __init__(self, rule: str, title: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.rule = rule
        self.title = f"{title[:1].upper()}{title[1:]}"
        self._off: RuleOff | None = None
        self.switch = ToggleField("", ((ON, tr("On")), (OFF, tr("Off"))))
        self.switch.setAccessibleName(tr("{rule}: on or off", rule=title))
        self.reason = TextField("", tr("Why it is off: stands on the record of each shift"))
        self.reason.changed.connect(self.changed)
        self.enter("switch", self.switch)
        self.enter("", self.reason)
        self.switch.changed.connect(self._follow)
        self.threshold = Text("", Size.SMALL, wrapped=True)
        self.history = Text("", Size.SMALL, tone=Tone.SOFT)
        self._lay_out()

    def _lay_out(self) -> None:
        rule = next((one for one in all_rules() if one.id == self.rule), None)
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 6, 0, 6)
        grid.setHorizontalSpacing(12)
        grid.setVerticalSpacing(2)
        for column, stretch in enumerate((5, 4, 6, 0)):
            grid.setColumnStretch(column, stretch)
        grid.setColumnMinimumWidth(3, _SWITCH_PX)
        top = Qt.AlignmentFlag.AlignTop
        levels = tr(" or ").join(level_word(level) for level in LEVELS.get(self.rule, ()))
        about = " · ".join(part for part in (levels, self.rule) if part)
        named = vbox(
            Text(self.title, bold=True, wrapped=True),
            Text(about, Size.SMALL, tone=Tone.SOFT, wrapped=True),
            gap_px=0,
        )
        named.addStretch(1)  # aligned to the top, a lay-out would cut what is wrapped
        grid.addLayout(named, 0, 0)
        grid.addWidget(self.threshold, 0, 1, top)
        source = tr(rule.source) if rule else tr("This version has no such rule: it does nothing.")
        grid.addWidget(Text(source, Size.SMALL, tone=Tone.SOFT, wrapped=True), 0, 2, top)
        if self.rule in ALWAYS_ON:
            self.switch.hide()
            always = Text(tr("Always on"), Size.SMALL, bold=True)
            grid.addWidget(always, 0, 3, top)
        else:
            grid.addWidget(self.switch, 0, 3, top)
        grid.addWidget(self.reason, 1, 0, 1, 3)
        grid.addWidget(self.history, 1, 3, top)

    def show_off(self, off: RuleOff | None) -> None:
        """Show whether it is switched off."""
        self._off = off
        self.switch.put(OFF if off else ON)
        self.reason.put(off.reason if off else "")
        self.history.setText(_since(off))
        self._show_reason()

    def off(self) -> RuleOff | None:
        """Return that it is off and why; nothing where it is on."""
        if self.switch.text != OFF:
            return None
        before = self._off
        if before is not None and before.reason == self.reason.text:
            return before
        return RuleOff(rule=self.rule, reason=self.reason.text)

    @Slot()
    def _follow(self) -> None:
        self._show_reason()
        if self.switch.text == OFF:
            self.reason.focus()

    def _show_reason(self) -> None:
        is_off = self.switch.text == OFF
        self.reason.setVisible(is_off)
        self.history.setVisible(is_off and bool(self.history.text()))


def _since(off: RuleOff | None) -> str:
    """Return since when a rule is off and by whom; nothing where it is on, or just switched off."""
    if off is None or off.since is None:
        return ""
    return tr("since {day}, {who}", day=off.since.isoformat(), who=off.by or "–")


class RulesPage(FormPage):
    """Every rule that there is; one that nobody can switch off says so."""

    roots = frozenset({"rules_off"})

    def __init__(self, writing: WritingStyle, parent: QWidget | None = None) -> None:
        super().__init__(
            tr("Rules"),
            tr("What watches the water, by the values of the other pages."),
            parent,
        )
        self._writing = writing
        self.rows: dict[str, RuleRow] = {}
        self._order: tuple[str, ...] = ()
        self.scroller = Scroller(self)
        self.outer.addWidget(self.scroller)
        guards = tr(
            "These guard people and what people eat: a line that is washed without them is not "
            "watched, so nobody can switch them off."
        )
        self._others = self._card(
            tr("Can be switched off"),
            tr(
                "For this line, with a reason. Shelve a flag that only comes at a bad time instead."
            ),
        )
        self._guards = self._card(tr("Always on"), guards)
        for rule in sorted(all_rules(), key=lambda one: one.title.casefold()):
            self._add(rule.id, tr(rule.title))
        self.scroller.column.addStretch(1)

    def show_setup(self, setup: LineSetup) -> None:
        """Show what is on and off."""
        off = {one.rule: one for one in setup.rules_off}
        self._order = tuple(off)
        for unknown in sorted(set(off) - set(self.rows)):
            self._add(unknown, unknown)
        for id_, row in self.rows.items():
            row.show_off(off.get(id_))
        self.bring(setup)

    def bring(self, draft: LineSetup) -> None:
        """Show the limits that the rules go by, as they stand on the other pages."""
        for rule in all_rules():
            self.rows[rule.id].threshold.setText(self._threshold(rule, draft))

    def place(self, path: str) -> str:
        """Say which rule a path is about."""
        row = self.rows.get(path.removeprefix("rules_off.").partition(".")[0])
        return row.title if row else self.title

    def rules_off(self) -> tuple[RuleOff, ...]:
        """Return what is switched off; what was off before keeps its place."""
        off = {id_: one for id_, row in self.rows.items() if (one := row.off()) is not None}
        kept = [id_ for id_ in self._order if id_ in off]
        return tuple(off[id_] for id_ in (*kept, *(one for one in off if one not in kept)))

    def fields(self, path: str = "") -> Iterator[tuple[str, FormField]]:
        """Yield the reasons under the paths that faults are found at, and the switches."""
        yield from super().fields(path)
        for id_, row in self.rows.items():
            yield f"rules_off.{id_}.switch", row.switch
            yield f"rules_off.{id_}", row.reason

    def _waiting(self) -> list[FormField]:
        """Enter visits the reasons only: nobody walks through all the switches."""
        return [row.reason for row in self.rows.values() if row.reason.isVisible()]

    def _card(self, heading: str, lead: str) -> Card:
        card = Card(self, margin_px=14)
        card.body.setSpacing(2)
        add(
            card.body,
            Text(heading, Size.LEAD, bold=True),
            Text(lead, Size.SMALL, tone=Tone.SOFT, wrapped=True),
        )
        self.scroller.column.addWidget(card)
        return card

    def _add(self, rule: str, title: str) -> None:
        row = RuleRow(rule, title, self)
        row.left.connect(self.left)
        row.changed.connect(self.changed)
        self.rows[rule] = row
        (self._guards if rule in ALWAYS_ON else self._others).body.addWidget(row)

    def _threshold(self, rule: Rule, setup: LineSetup) -> str:
        said = []
        for one in thresholds(rule, setup):
            try:
                what = self._writing.say(one.what)
            except UnitError:  # a limit on another page that can't be read yet
                continue
            tanks = ", ".join(str(number) for number in one.tanks)
            where = (
                tr("Tank {tanks}: {what}") if len(one.tanks) == 1 else tr("Tanks {tanks}: {what}")
            )
            said.append(where.format(tanks=tanks, what=what) if tanks else what)
        if not said and not any(is_about(rule, tank) for tank in setup.tanks):
            return tr("No tank here is kept with that.")
        return "\n".join(said) or "–"
