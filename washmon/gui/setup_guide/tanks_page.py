"""Tanks: in line order, with their limits."""

from collections.abc import Iterator

from PySide6.QtCore import Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import add
from washmon.gui.kit.buttons import PressButton
from washmon.gui.kit.form_fields import FormField
from washmon.gui.setup_guide.layout import FormPage
from washmon.gui.setup_guide.roster import Roster
from washmon.gui.setup_guide.tank_form import Offered, TankForm
from washmon.gui.setup_guide.writing import WritingStyle
from washmon.line.setup import (
    ChlorineLimits,
    LineSetup,
    Stage,
    Tank,
)


class TanksPage(FormPage):
    """The tanks in line order with their limits."""

    roots = frozenset({"tanks"})

    def __init__(self, writing: WritingStyle, parent: QWidget | None = None) -> None:
        super().__init__(
            tr("Tanks"), tr("In the order in which the produce travels, with their limits."), parent
        )
        self._writing = writing
        self._choices = Offered([], [], frozenset())
        self.roster: Roster[TankForm] = Roster(in_order=True, parent=self)
        self.add = PressButton(tr("Add a tank"), then=self._add_tank)
        self.roster.adders.addWidget(self.add)
        self.together = self.enter("tanks", FormField("", ""))
        add(self.outer, (self.roster, 1), self.together)
        self.roster.left.connect(self.left)
        self.roster.changed.connect(self.changed)

    def show_setup(self, setup: LineSetup) -> None:
        """Show the tanks of a set-up."""
        self.roster.clear()
        self._choices = Offered([], [], frozenset())
        for tank in setup.tanks:
            self._append(TankForm(self._writing, tank))
        self.roster.turn_to(0)

    def offer(self, choices: Offered) -> None:
        """Let the tanks choose from these products."""
        if choices == self._choices:
            return
        self._choices = choices
        for form in self.roster.forms:
            form.offer(choices)

    def tanks(self) -> tuple[Tank, ...]:
        """Return the tanks as written."""
        return tuple(form.tank(at + 1) for at, form in enumerate(self.roster.forms))

    def fields(self, path: str = "") -> Iterator[tuple[str, FormField]]:
        """Yield the fields of all tanks."""
        yield from super().fields(path)
        yield from self.roster.fields("tanks")

    def show_field(self, path: str) -> None:
        """Show the tank that a path is about."""
        at = path.split(".")[1] if "." in path else ""
        if at.isdigit():
            self.roster.turn_to(int(at))

    def turn_on(self) -> bool:
        """Show the next tank."""
        return self.roster.turn_on()

    @Slot()
    def _add_tank(self) -> None:
        sanitizers = self._choices.sanitizers
        nan = float("nan")
        tank = Tank(
            number=len(self.roster.forms) + 1,
            name="",
            stage=Stage.WASH,
            volume_l=nan,
            sanitizer=sanitizers[0][0] if sanitizers else "",
            chlorine=ChlorineLimits(
                critical_low_mg_l=nan,
                low_mg_l=nan,
                target_mg_l=nan,
                high_mg_l=nan,
                label_max_mg_l=nan,
            ),
        )
        form = TankForm(self._writing, tank)
        form.offer(self._choices)
        self._append(form)
        form.name.focus()
        self.changed.emit()

    def _append(self, form: TankForm) -> None:
        form.same_label.connect(self.spread_label)
        self.roster.add(form)

    @Slot(object)
    def spread_label(self, asked: TankForm) -> None:
        """Give the answer of a tank to every tank with the same product."""
        for form in self.roster.forms:
            if form.sanitizer.text == asked.sanitizer.text and asked.label_basis.text:
                form.label_basis.put(asked.label_basis.text)
        self.changed.emit()
        self.left.emit()
