"""The entry sheet with "More…", which asks for the seldom used fields too."""

from dataclasses import replace

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.entry_sheet import EntrySheet
from washmon.gui.kit.sheet_spec import FieldSpec, SheetSpec, TankSpec
from washmon.gui.kit.text import Tone, Weight
from washmon.gui.kit.theme import Size


class MoreSheet(EntrySheet):
    """``asked_more`` tells that "More…" was pressed; the owner then calls ``widen``."""

    asked_more = Signal()

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.more = PressButton(tr("More…"), Rank.QUIET, parent=self, then=self.asked_more)
        self.more.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._head.addWidget(self.more)
        # Cautions stand there: they are to be read.
        self.note.setFont(theme.font(Size.BODY, Weight.DemiBold))
        self.note.set_tone(Tone.PLAIN)

    def ask(self, spec: SheetSpec, *, more: bool) -> None:
        """Open for ``spec``; ``more`` offers to widen it. What stands there is ready to replace."""
        self.more.setVisible(more)
        self.open(spec)
        self.ready()

    def widen(self, spec: SheetSpec) -> None:
        """Ask for the fields of a wider sheet; what was typed stays, the first new field waits."""
        typed, before, tank = self.values(), set(self.grid.fields), self.tank
        by_hand = self.is_typed
        self.more.hide()
        tanks = tuple(_typed_tank(one, typed) for one in spec.tanks)
        fields = _typed(spec.fields, typed)
        self.open(replace(spec, tanks=tanks, fields=fields, tank=tank))
        self._kept = by_hand
        new = next((one for key, one in self.grid.fields.items() if key not in before), None)
        if new is not None and (tank or not spec.tanks):
            new.setFocus(Qt.FocusReason.TabFocusReason)

    def _choose_tank(self, key: str) -> None:
        super()._choose_tank(key)
        self.ready()


def _typed(fields: tuple[FieldSpec, ...], typed: dict[str, str]) -> tuple[FieldSpec, ...]:
    return tuple(
        replace(one, value=typed[one.key]) if typed.get(one.key) else one for one in fields
    )


def _typed_tank(tank: TankSpec, typed: dict[str, str]) -> TankSpec:
    return tank if tank.fields is None else replace(tank, fields=_typed(tank.fields, typed))
