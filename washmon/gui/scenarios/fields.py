"""Fields of a scenario, made from what its keys declare."""

from collections.abc import Callable
from datetime import time

from PySide6.QtCore import QTime, Slot
from PySide6.QtWidgets import QLineEdit, QPlainTextEdit, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit import theme
from washmon.gui.kit.buttons import TOUCH_PX
from washmon.gui.kit.form_fields import FormField, ManyField, TextField
from washmon.gui.setup_guide.choices import ToggleField
from washmon.gui.setup_guide.fields import AmountField, DateField, GuideField, ShareField
from washmon.gui.setup_guide.writing import WritingStyle
from washmon.line.events import Method
from washmon.sessions.practice.keys import Key, key_of
from washmon.sessions.practice.parameters import Dirtiness
from washmon.sessions.practice.scenario import KeptWith
from washmon.sessions.practice.world import SamplePlace
from washmon.units import Kind

_MOST_LETTERS = 2000
UNCHANGED = ""


class ClockField(GuideField):
    """A time of day, such as 06:30."""

    def __init__(self, caption: str, hint: str = "", parent: QWidget | None = None) -> None:
        super().__init__(caption, hint, parent)
        self.editor = QLineEdit(self)
        self.editor.setMinimumHeight(TOUCH_PX)
        self.editor.setPlaceholderText(tr("hours:minutes"))
        self._hold(self.editor, read=self.editor.text)
        self._exact: time | None = None
        self.editor.textEdited.connect(self._take)
        self.left.connect(self._tidy)

    @property
    def moment(self) -> time | None:
        """The time; ``None`` when it cannot be read."""
        return self._exact

    def read(self) -> time:
        """Return the time; midnight stands in where it cannot be read."""
        return self._exact or time()

    def put(self, value: object) -> None:
        """Show a time, or none."""
        self._exact = value if isinstance(value, time) else None
        self._write()

    def problem(self) -> str:
        """Return a sentence where the text is no time of day."""
        if self._exact is not None:
            return ""
        return tr("This is no time of day: write hours and minutes, such as 06:30.")

    @Slot(str)
    def _take(self, text: str) -> None:
        self._exact = read_clock(text)
        self.changed.emit()

    @Slot()
    def _tidy(self) -> None:
        if self._exact is not None:
            self._write()

    def _write(self) -> None:
        at = self._exact
        seconds = at is not None and at.second
        form = "%H:%M:%S" if seconds else "%H:%M"
        self.editor.setText("" if at is None else at.strftime(form))


def read_clock(text: str) -> time | None:
    """Return a time of day as people write one: 6:30, 06:30, 0630, 6.30; ``None`` for others."""
    plain = text.strip().replace(".", ":").replace(" ", "")
    if plain.isdigit() and len(plain) in {3, 4}:
        plain = f"{plain[:-2]}:{plain[-2:]}"
    for form in ("H:m", "H:m:s"):
        found = QTime.fromString(plain, form)
        if found.isValid():
            return time(found.hour(), found.minute(), found.second())
    return None


class ProseField(GuideField):
    """Several lines of text."""

    def __init__(
        self, caption: str, hint: str = "", *, lines: int = 4, parent: QWidget | None = None
    ) -> None:
        super().__init__(caption, hint, parent)
        self.editor = QPlainTextEdit(self)
        self.editor.setTabChangesFocus(True)
        self.editor.setFont(theme.font(theme.Size.BODY))
        self.editor.setFixedHeight(self.editor.fontMetrics().lineSpacing() * lines + 22)
        self._hold(self.editor)
        self._quiet = False
        self.editor.textChanged.connect(self._tell)

    @property
    def text(self) -> str:
        """What is written."""
        return self.editor.toPlainText().strip()

    def read(self) -> object:
        """Return the text."""
        return self.text

    def put(self, value: object) -> None:
        """Show a text; line breaks of a file that stand within a sentence are none."""
        self._show(" ".join(str(value or "").split()))

    def _show(self, text: str) -> None:
        self._quiet = True
        self.editor.setPlainText(text)
        self._quiet = False

    @Slot()
    def _tell(self) -> None:
        if not self._quiet:
            self.changed.emit()

    def problem(self) -> str:
        """Say when it is too long to be read by anybody."""
        if len(self.text) > _MOST_LETTERS:
            return tr("No more than {most} letters have room here.", most=_MOST_LETTERS)
        return ""


class LinesField(ProseField):
    """One sentence in each line."""

    def read(self) -> tuple[str, ...]:
        """Return the lines that say something."""
        return tuple(line.strip() for line in self.text.splitlines() if line.strip())

    def put(self, value: object) -> None:
        """Show the lines."""
        lines = value if isinstance(value, tuple) else ()
        self._show("\n".join(" ".join(str(one).split()) for one in lines))


class PickField(ManyField):
    """Any of a few, but one at least."""

    def problem(self) -> str:
        """Say that one is needed."""
        return "" if self.read() else tr("Choose one at least.")


class LoadField(ToggleField):
    """How dirty the produce comes in; with ``or_none`` it may stay as it is."""

    def __init__(self, caption: str, hint: str = "", *, or_none: bool = False) -> None:
        none = ((UNCHANGED, tr("No change")),) if or_none else ()
        super().__init__(caption, (*none, *loads()), hint, of=Dirtiness)


def loads() -> tuple[tuple[str, str], ...]:
    """Return what loads are called."""
    return (
        (Dirtiness.CLEAN.value, tr("Clean")),
        (Dirtiness.USUAL.value, tr("Usual")),
        (Dirtiness.DIRTY.value, tr("Dirty")),
        (Dirtiness.MUDDY.value, tr("Muddy")),
    )


def _methods() -> tuple[tuple[str, str], ...]:
    return (
        (Method.STRIP.value, tr("Strip")),
        (Method.KIT.value, tr("Kit")),
        (Method.METER.value, tr("Meter")),
    )


def sanitizers() -> tuple[tuple[str, str], ...]:
    """Return what a line may be kept with."""
    return (
        (KeptWith.CHLORINE.value, tr("Chlorine")),
        (KeptWith.PERACETIC.value, tr("Peracetic acid")),
    )


def _places() -> tuple[tuple[str, str], ...]:
    return (
        (SamplePlace.ANYWHERE.value, tr("Anywhere")),
        (SamplePlace.INLET.value, tr("At the inlet")),
        (SamplePlace.OUTLET.value, tr("At the outlet")),
    )


def field_of(path: str, writing: WritingStyle) -> FormField:
    """Return a field as the key with this path declares it."""
    key = key_of(path)
    caption, hint = tr(key.caption), tr(key.meaning) if key.meaning else ""
    name = path.rpartition(".")[2]
    if key.high is not None:
        return _amount(key, caption, hint, writing)
    made: dict[str, Callable[[], FormField]] = {
        "dirtiness": lambda: LoadField(caption, hint, or_none=key.may_be_empty),
        "chlorine": lambda: PickField("", caption, _methods(), hint=hint, of=Method),
        "briefing": lambda: ProseField(caption, hint, lines=6),
        "samples_at": lambda: ToggleField(caption, _places(), hint, of=SamplePlace),
        "good": lambda: LinesField(caption, hint, lines=6),
        "hints": lambda: LinesField(caption, hint, lines=6),
        "asks": lambda: LinesField(caption, hint, lines=4),
        "begins": lambda: ClockField(caption, hint),
        "strips_use_by": lambda: DateField(writing, caption),
    }
    return made.get(name, lambda: TextField("", caption, hint=hint))()


def _amount(key: Key, caption: str, hint: str, writing: WritingStyle) -> AmountField:
    make = ShareField if key.is_share else AmountField
    return make(writing, key.kind or Kind.COUNT, caption, hint, optional=key.may_be_empty)
