"""The entry sheet of practice: a reading is not typed, it is tested, and that takes its time."""

from dataclasses import replace

from PySide6.QtCore import QObject, Qt, Signal, Slot
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QLineEdit, QWidget

from washmon.gui.entry.entry_client import EntryClient
from washmon.gui.entry.sheet import MoreSheet
from washmon.gui.i18n import tr
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.entry_field import EntryField
from washmon.gui.kit.sheet_spec import FieldSpec, SheetSpec
from washmon.line.events import Method
from washmon.line.quantities import BY_FIELD
from washmon.sessions.practice.scenario import Kit

MEASURED = (
    "fac_mg_l",
    "total_mg_l",
    "paa_mg_l",
    "peroxide_mg_l",
    "ph",
    "turbidity_ntu",
    "water_c",
    "pulp_c",
    "look",
)
METHODS = {key: method for key in MEASURED if (method := BY_FIELD[key].method)}
_OF_LEVELS = frozenset(METHODS[one] for one in ("fac_mg_l", "paa_mg_l"))
"""Fields that say how the sanitizer is measured: what lies on the bench."""
_NOT_HERE = BY_FIELD.keys() - set(MEASURED)


class BenchSheet(MoreSheet):
    """Lets nobody type what must be measured.

    Signals:
        test_asked(int, str, str): tank, field of the reading, and method (empty where it has none).
    """

    test_asked = Signal(int, str, str)

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.bench = Kit()
        self._methods: dict[str, str] = {}
        self.test = PressButton(tr("Test it"), Rank.PRIMARY, tr("Space"), bound=False, parent=self)
        self.test_all = PressButton(tr("Test everything"), Rank.SECONDARY, "Ctrl+T", parent=self)
        for button, slot in ((self.test, self._test_current), (self.test_all, self._test_all)):
            button.setFocusPolicy(Qt.FocusPolicy.NoFocus)
            button.clicked.connect(slot)
            self._head.addWidget(button)

    @property
    def testing(self) -> bool:
        """Whether a new reading is asked for."""
        fields = self.grid.fields
        return bool(fields.keys() & _OF_LEVELS) and "why" not in fields

    def open(self, spec: SheetSpec) -> None:
        """Ask; of a reading only what this bench can measure."""
        tanks = tuple(
            replace(one, fields=None if one.fields is None else self._on_bench(one.fields))
            for one in spec.tanks
        )
        reading = any(field.key in _OF_LEVELS for one in tanks for field in one.fields or ())
        note = self.bench_words() if reading else spec.note
        super().open(replace(spec, tanks=tanks, note=note))
        self._lock()

    def _choose_tank(self, key: str) -> None:
        super()._choose_tank(key)
        self._lock()

    def _on_bench(self, fields: tuple[FieldSpec, ...]) -> tuple[FieldSpec, ...]:
        return tuple(self._with_methods(field) for field in fields if field.key not in _NOT_HERE)

    def _with_methods(self, field: FieldSpec) -> FieldSpec:
        if field.key not in _OF_LEVELS:
            return field
        here = tuple(pair for pair in field.choices if pair[0] in self.bench.chlorine)
        last = field.last if field.last in self.bench.chlorine else here[0][0]
        return replace(field, choices=here, last=last)

    def bench_words(self) -> str:
        """Return what lies on the bench, and what stands on the bottle of strips."""
        words = {
            Method.STRIP: tr("strips"),
            Method.KIT: tr("a drop-count kit"),
            Method.METER: tr("a meter"),
        }
        listed = ", ".join(words[one] for one in self.bench.chlorine)
        said = tr("On the bench: {what}.", what=listed)
        if self.bench.strips_use_by is not None:
            said += " " + tr("On the bottle of strips: use by {day}.", day=self.bench.strips_use_by)
        return said

    def _lock(self) -> None:
        """Let measured fields be filled by a test only."""
        testing = self.testing
        self.test.setVisible(testing)
        self.test_all.setVisible(testing)
        if not testing:
            return
        for key, field in self.grid.fields.items():
            if key in MEASURED:
                self._lock_field(field)
            if key in METHODS.values():
                self._methods[key] = field.text
                field.edited.connect(self._follow_methods)

    @staticmethod
    def _lock_field(field: EntryField) -> None:
        if isinstance(field.input, QLineEdit):
            field.input.setReadOnly(True)
            field.input.setPlaceholderText("–")
        else:
            field.input.setEnabled(False)

    @Slot()
    def _follow_methods(self) -> None:
        """Forget what another method showed."""
        for key, method_key in METHODS.items():
            field, method = self.grid.fields.get(key), self.grid.fields.get(method_key)
            if field is None or method is None:
                continue
            if self._methods.get(method_key) != method.text:
                field.put("")
        for method_key in METHODS.values():
            if method_key in self.grid.fields:
                self._methods[method_key] = self.grid.fields[method_key].text

    # -- testing --------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Test by the space bar; the rest as everywhere."""
        if self.testing and self.tank and event.key() == Qt.Key.Key_Space:
            self._test_current()
        else:
            super().keyPressEvent(event)

    @Slot()
    def _test_current(self) -> None:
        field = self._current
        if field is not None and field.spec.key in MEASURED:
            self._ask_test(field.spec.key)
            self._step(1)

    @Slot()
    def _test_all(self) -> None:
        for key in [key for key in self.grid.fields if key in MEASURED]:
            self._ask_test(key)

    def _ask_test(self, key: str) -> None:
        if not self.tank:
            self._go_on()  # says that a tank comes first
            return
        method = self.grid.fields.get(METHODS.get(key, ""))
        self.test_asked.emit(int(self.tank), key, method.text if method is not None else "")

    def put_tested(self, key: str, text: str) -> None:
        """Show what a test said."""
        if key in self.grid.fields:
            self.grid.fields[key].put(text)

    @Slot(QObject)
    def _enter_field(self, field: QObject) -> None:
        super()._enter_field(field)
        if self._is_locked():
            self.pad.set_typing(possible=False)

    @Slot(str)
    def _type(self, sign: str) -> None:
        if not self._is_locked():
            super()._type(sign)

    @Slot()
    def _erase(self) -> None:
        if not self._is_locked():
            super()._erase()

    def _is_locked(self) -> bool:
        field = self._current
        return self.testing and field is not None and field.spec.key in MEASURED


class PracticeEntryClient(EntryClient):
    """The entry client with the sheet of practice."""

    def make_sheet(self, parent: QWidget) -> BenchSheet:
        """Return the sheet on which readings are tested."""
        return BenchSheet(parent)
