"""A round: one reading of each tank on one sheet, a row a tank, saved by one press."""

from dataclasses import replace

from PySide6.QtCore import Qt, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.client import RecorderClient
from washmon.gui.context import UserContext
from washmon.gui.entry.ask import Ask
from washmon.gui.entry.asker import SheetAsker
from washmon.gui.entry.forms import build, sheet_for
from washmon.gui.entry.made_with import unfit_note
from washmon.gui.entry.sending import saved_words
from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.entry_field import FieldGrid
from washmon.gui.kit.entry_sheet import EntrySheet
from washmon.gui.kit.sheet_spec import FieldSpec, SheetSpec
from washmon.gui.kit.sheet_spec import TypedEntry as Typed
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.line.events import ReadingTaken
from washmon.line.kinds import EntryKind
from washmon.line.state import TankState
from washmon.planning.snapshot import Snapshot
from washmon.recorder import Saved
from washmon.units import Kind

_APART = ":"


_NARROW_PX = 560
"""In a narrower sheet what should be read stands under the name of its tank."""
_FIELD_PX = 102


class RoundGrid(FieldGrid):
    """A row for each tank, a column for each thing that is measured; names stand once, on top."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.names: dict[str, str] = {}
        self.expected: dict[str, str] = {}
        self._texts: list[Text] = []
        self._narrow = False
        self._grid.setVerticalSpacing(6)

    def _arrange(self) -> None:
        narrow = self._room_px < theme.px(_NARROW_PX)
        if not self.fields or (self._columns and narrow == self._narrow):
            return
        self._narrow = narrow
        for old in self._texts:
            old.hide()
            self._grid.removeWidget(old)
            old.deleteLater()
        self._texts = []
        keys = list(dict.fromkeys(key.partition(_APART)[2] for key in self.fields))
        tanks = list(dict.fromkeys(key.partition(_APART)[0] for key in self.fields))
        self._columns = len(keys)
        shown: set[int] = set()
        for key, field in self.fields.items():
            tank, _, what = key.partition(_APART)
            column, row = keys.index(what) + 1, tanks.index(tank) + 1
            if column not in shown:
                shown.add(column)
                self._write(field.spec.label, 0, column, bold=True)
            field.hide_head()
            field.input.setMinimumWidth(_FIELD_PX)
            field.input.setAccessibleName(f"{self.names[tank]}: {field.spec.label}")
            self._grid.addWidget(field, row, column, Qt.AlignmentFlag.AlignTop)
            field.show()
        for row, tank in enumerate(tanks, 1):
            expected = self.expected.get(tank, "")
            if narrow and expected:
                self._write(f"{self.names[tank]}\n{expected}", row, 0, tone=Tone.HAND)
                continue
            self._write(self.names[tank], row, 0, bold=True)
            self._write(expected, row, len(keys) + 1, tone=Tone.HAND)
        if any(self.expected.values()) and not narrow:
            self._write(tr("Should read"), 0, len(keys) + 1, bold=True)
        self._grid.setColumnStretch(len(keys) + 1, 1)

    def _write(
        self, words: str, row: int, column: int, *, bold: bool = False, tone: Tone = Tone.PLAIN
    ) -> None:
        text = Text(words, Size.SMALL, bold=bold, tone=tone, parent=self)
        self._texts.append(text)
        self._grid.addWidget(text, row, column, Qt.AlignmentFlag.AlignVCenter)
        text.show()


class RoundSheet(EntrySheet):
    """The sheet of a round."""

    grid: RoundGrid

    def make_grid(self) -> FieldGrid:
        """Return the rows of the tanks."""
        return RoundGrid(self)


class Round(SheetAsker):
    """Asks for a reading of each tank and sends them one after the other.

    A row that is left empty is left out. Where one is refused or doubted, the sheet stays with
    that row and those after it; what was saved before it is saved. Its ``saved`` tells the newest
    of them once all are on the disk.
    """

    def __init__(self, client: RecorderClient, parent: QWidget) -> None:
        self.sheet = RoundSheet(parent)
        super().__init__(client, parent, self.sheet)
        self._ask: Ask | None = None
        self._waiting: list[tuple[str, ReadingTaken]] = []
        self._done: set[str] = set()

    def open(self, snapshot: Snapshot, person: UserContext) -> None:
        """Ask for a reading of each tank that holds water."""
        shift = snapshot.shift
        if shift is None or self.busy:
            return
        self._ask = Ask(shift, person, self._client.clock(), snapshot.advice)
        self._waiting, self._done = [], set()
        self._note_focus()
        tanks = [tank for tank in shift.tanks if tank.fill is not None]
        grid = self.sheet.grid
        grid.names = {str(tank.number): f"{tank.number}  {tank.spec.name}" for tank in tanks}
        grid.expected = {str(tank.number): self._expected(self._ask, tank) for tank in tanks}
        fields = tuple(
            replace(one, key=f"{tank.number}{_APART}{one.key}", required=False)
            for tank in tanks
            for one in self._fields(str(tank.number))
            if not one.aside
        )
        unfit = dict.fromkeys(unfit_note(self._ask, tank) for tank in tanks)
        self.sheet.open(SheetSpec(tr("Round"), fields, note=" ".join(filter(None, unfit))))
        if not fields:
            self.sheet.message.say(tr("No tank holds water yet."))

    def _fields(self, tank: str) -> tuple[FieldSpec, ...]:
        if self._ask is None:
            return ()
        return sheet_for(EntryKind.READING, self._ask).fields_of(tank)

    @staticmethod
    def _expected(ask: Ask, tank: TankState) -> str:
        plans = (one.plan for one in ask.advice.tanks if one.tank == tank.number)
        span = next((one.expected.level_mg_l for one in plans if one.expected is not None), None)
        if span is None:
            return ""
        low, high = (ask.shown(end, Kind.CONCENTRATION) for end in (span.low, span.high))
        return tr("{low}–{high}", low=low, high=high)

    @Slot(object)
    def _submit(self, typed: Typed) -> None:
        if self._ask is None or self.busy:
            return
        if typed.sure and self._waiting:
            self._send(sure=True)
            return
        read, faults = self._read(typed.values, replace(self._ask, now=self._client.clock()))
        if faults:
            self.sheet.show_faults(faults)
        elif not read:
            self.sheet.message.warn(tr("Write at least one value, or leave."))
        else:
            self._waiting = read
            self._send()

    def _read(
        self, values: dict[str, str], ask: Ask
    ) -> tuple[list[tuple[str, ReadingTaken]], dict[str, str]]:
        """Return the readings that were typed, and a sentence for each value that can't be read."""
        read: list[tuple[str, ReadingTaken]] = []
        faults: dict[str, str] = {}
        for tank in self.sheet.grid.names:
            mine = {
                key.partition(_APART)[2]: text
                for key, text in values.items()
                if key.startswith(f"{tank}{_APART}") and text
            }
            if not mine or tank in self._done:
                continue
            usual = {one.key: one.last for one in self._fields(tank) if one.aside and one.choices}
            made = build(EntryKind.READING, Typed(tank, usual | mine), ask)
            if isinstance(made, ReadingTaken):
                read.append((tank, made))
            elif isinstance(made, dict):
                faults |= {f"{tank}{_APART}{key}": said for key, said in made.items()}
        return read, faults

    def _send(self, *, sure: bool = False) -> None:
        if self._ask is not None and self._waiting:
            chain = self._ask.shift.chain
            self._sending.send(self._waiting[0][1], self._ask.person, chain=chain, sure=sure)

    @Slot(object)
    def _close(self, answer: Saved) -> None:
        tank, _ = self._waiting.pop(0)
        self._done.add(tank)
        for key, field in self.sheet.grid.fields.items():
            if key.startswith(f"{tank}{_APART}"):
                field.setEnabled(False)
        if self._waiting:
            self._send()
            return
        self.sheet.shut()
        self._give_focus_back()
        count = len(self._done)
        said = tr("a reading of 1 tank") if count == 1 else ""
        said = said or tr("readings of {count} tanks", count=count)
        self.saved.emit(answer.entry, saved_words(answer, said))

    @Slot(object)
    def _refuse(self, faults: dict[str, str]) -> None:
        tank = self._waiting[0][0]
        beside = {f"{tank}{_APART}{key}": said for key, said in faults.items()}
        known = {key: said for key, said in beside.items() if key in self.sheet.grid.fields}
        rest = [said for key, said in beside.items() if key not in known]
        name = self.sheet.grid.names[tank]
        general = tr("{tank}: {why}", tank=name, why=" ".join(rest)) if rest else ""
        self.sheet.show_faults(known, general)

    @Slot(object)
    def _doubt(self, sentences: tuple[str, ...]) -> None:
        name = self.sheet.grid.names[self._waiting[0][0]]
        self.sheet.ask_doubt((tr("{tank}: {why}", tank=name, why=" ".join(sentences)),))
