"""The first page: what the line is most like."""

from PySide6.QtCore import Signal, Slot
from PySide6.QtWidgets import QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import add, hbox
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.setup_guide import setup_words
from washmon.gui.setup_guide.choices import AnswerField
from washmon.gui.setup_guide.layout import FormPage, Scroller, Section
from washmon.gui.setup_guide.writing import WritingStyle
from washmon.line.message import Message
from washmon.line.templates import Shelf, Template
from washmon.units import Kind


class TemplatePage(FormPage):
    """Templates at the left; what the chosen one brings, and on whose word, at the right."""

    picked = Signal(object)

    def __init__(self, shelf: Shelf, writing: WritingStyle, parent: QWidget | None = None) -> None:
        super().__init__(
            tr("Template"),
            tr("Start from the line most like yours. Everything can be changed afterwards."),
            parent,
        )
        self._writing = writing
        self._shelf = shelf
        self.chosen: Template | None = None
        left, right = Scroller(self), Scroller(self)
        self.answers = self.enter("template", AnswerField())
        for at, template in enumerate(shelf.templates):
            self.answers.add(str(at), tr(template.title), tr(template.description))
        left.column.addWidget(self.answers)
        for message in shelf.broken:
            left.column.addWidget(
                Text(writing.say(message), Size.SMALL, tone=Tone.STOP, wrapped=True)
            )
        left.column.addStretch(1)
        self._right = right
        self._shown: QWidget | None = None
        across = hbox((left, 5), (right, 3), gap_px=12)
        self.outer.addLayout(across)
        self.answers.chosen.connect(self._pick)
        writing.changed.connect(self._show_chosen)
        self._replaces = False
        self.forget(replaces=False)

    def forget(self, *, replaces: bool) -> None:
        """Choose none; ``replaces`` says that there is a line which a choice would replace."""
        self._replaces = replaces
        self.mark(None)

    def mark(self, template: Template | None) -> None:
        """Show a template as the chosen one without telling."""
        self.chosen = template
        at = str(self._shelf.templates.index(template)) if template else ""
        self.answers.put(at)
        self._show_chosen()

    @Slot(str)
    def _pick(self, key: str) -> None:
        self.picked.emit(self._shelf.templates[int(key)])

    @Slot()
    def _show_chosen(self) -> None:
        if self._shown is not None:
            self._right.column.removeWidget(self._shown)
            self._shown.hide()
            self._shown.deleteLater()
        self._shown = self._describe(self.chosen)
        self._right.column.insertWidget(0, self._shown)
        if self._right.column.count() == 1:
            self._right.column.addStretch(1)

    def _describe(self, template: Template | None) -> Section:
        if template is None:
            return self._describe_none()
        section = Section(tr("What it brings"), "", self)
        for tank in template.tanks:
            line = Message(
                "{number}  {name}: {stage}, {volume}, {target} free chlorine",
                {
                    "number": tank.number,
                    "name": tank.name,
                    "stage": setup_words.word(setup_words.stages(), tank.stage).lower(),
                    "volume": self._writing.show(tank.volume_l, Kind.VOLUME),
                    "target": self._writing.show(tank.chlorine.target_mg_l, Kind.CONCENTRATION),
                },
            )
            section.body.addWidget(Text(self._writing.say(line), wrapped=True))
        add(section.body, 8, Text(tr("Where the values come from"), Size.BODY, bold=True))
        for heading, note in self._notes(template):
            add(
                section.body,
                Text(heading, Size.SMALL, bold=True),
                Text(tr(note), Size.SMALL, tone=Tone.SOFT, wrapped=True),
            )
        return section

    def _describe_none(self) -> Section:
        if self._replaces:
            section = Section(tr("Your line stays as it is"), "", self)
            words = tr("Choosing a template replaces its products and tanks; you are asked first.")
        else:
            section = Section(tr("Nothing chosen yet"), "", self)
            words = tr(
                "A template fills in tanks and limits. It never fills in what only your "
                "containers can tell: the strength of the product, and what the label's "
                "maximum means."
            )
        section.body.addWidget(Text(words, wrapped=True))
        return section

    def _notes(self, template: Template) -> tuple[tuple[str, str], ...]:
        sources = template.sources
        return (
            (tr("Free chlorine"), sources.chlorine),
            (tr("Label maximum"), sources.label),
            (tr("pH"), sources.ph),
            (tr("Cloudiness"), sources.cloudiness),
            (tr("New water"), sources.fill),
            (tr("Checks"), sources.checks),
            (tr("Contact"), sources.contact),
            (tr("Temperature"), sources.temperature),
        )
