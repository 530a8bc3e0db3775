"""Measures and units: what the shed measures with and how it speaks."""

import math

import msgspec
from PySide6.QtCore import Slot
from PySide6.QtWidgets import QWidget

from washmon.chemistry import measures
from washmon.gui.i18n import tr
from washmon.gui.kit.boxes import FlowLayout
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.form_fields import FormField
from washmon.gui.kit.text import Text, Tone
from washmon.gui.setup_guide import setup_words
from washmon.gui.setup_guide.choices import ToggleField
from washmon.gui.setup_guide.fields import AmountField, DateField
from washmon.gui.setup_guide.layout import FormPage, Scroller, Section
from washmon.gui.setup_guide.setup_summary import unfit_lines
from washmon.gui.setup_guide.writing import WritingStyle
from washmon.line.reading import SCALES_MG_L, Pads
from washmon.line.setup import (
    LineSetup,
)
from washmon.units import Kind, UnitSystem

INSTRUMENTS = (
    "meter_checked_on",
    "meter_check_days",
    "strips_use_by",
    "strip_pads_mg_l",
    "instruments_unfit",
)


def _printed(pads: Pads) -> str:
    return ", ".join(f"{pad:g}" for pad in pads)


_SCALES = {_printed(pads): pads for pads in SCALES_MG_L}


class MeasuresPage(FormPage):
    """What the shed measures with, and in which units it speaks."""

    roots = frozenset({"measures", "taste", "learned_since", *INSTRUMENTS})

    def __init__(self, writing: WritingStyle, parent: QWidget | None = None) -> None:
        super().__init__(
            tr("Measures"),
            tr("What the shed measures with. Doses are told in what you own."),
            parent,
        )
        self._writing = writing
        self._origin: tuple[str, ...] = ()
        scroller = Scroller(self)
        self.outer.addWidget(scroller)
        units = Section(tr("Units"), tr("Either can be typed anywhere: 220 gal or 830 L."), self)
        self.taste = self.enter(
            "taste",
            ToggleField(
                "", ((UnitSystem.METRIC, tr("Metric")), (UnitSystem.US, tr("US customary")))
            ),
        )
        units.row((self.taste, 12))
        self.toggles: dict[str, PressButton] = {}
        self.in_the_shed = self._shed(writing)
        instruments = self._instruments(writing)
        learning = self._learning(writing)
        for section in (units, self.in_the_shed, instruments, learning, _cautions(self)):
            scroller.column.addWidget(section)
        scroller.column.addStretch(1)
        self.taste.changed.connect(self._set_taste)
        writing.changed.connect(self.show_taste)
        self.show_taste()

    def _shed(self, writing: WritingStyle) -> Section:
        section = Section(tr("Measures in the shed"), tr("Press each that is there."), self)
        offered = FlowLayout(gap_px=8)
        for name in measures.MEASURES:
            button = PressButton(setup_words.measure(name), Rank.TOGGLE, then=self._tell)
            button.setCheckable(True)
            offered.addWidget(button)
            self.toggles[name] = button
        section.body.addLayout(offered)
        small = Kind.SMALL_VOLUME
        self.own = self.enter(
            "own",
            AmountField(writing, small, tr("A jug of your own holds"), optional=True),
        )
        self.marks = self.enter(
            "marks",
            AmountField(
                writing, small, tr("with marks every"), tr("Empty: full or not."), optional=True
            ),
        )
        section.row((self.own, 6), (self.marks, 6))
        self.together = self.enter("measures", FormField("", ""))
        section.body.addWidget(self.together)
        return section

    def _instruments(self, writing: WritingStyle) -> Section:
        section = Section(
            tr("Instruments"),
            tr(
                "As they are today. During a shift a check of a meter and a new pack of strips are "
                "entered from the menu; what is entered there stands here afterwards."
            ),
            self,
        )
        self.checked_on = self.enter(
            "meter_checked_on", DateField(writing, tr("pH meter last checked on"))
        )
        self.check_days = self.enter(
            "meter_check_days",
            AmountField(writing, Kind.COUNT, tr("Check it every, days"), tr("In fresh buffers.")),
        )
        self.strips = self.enter("strips_use_by", DateField(writing, tr("Strips good until")))
        section.row((self.checked_on, 4), (self.check_days, 4), (self.strips, 4))
        self.pads = self.enter(
            "strip_pads_mg_l",
            ToggleField(
                tr("Pads printed on the strips, ppm"),
                tuple((_printed(pads), _printed(pads)) for pads in SCALES_MG_L),
                tr("Choose those of your pack: the forecast reads them as they are printed."),
            ),
        )
        section.row((self.pads, 12))
        self.unfit = Text("", tone=Tone.ACT, wrapped=True, parent=section)
        section.body.addWidget(self.unfit)
        return section

    def _learning(self, writing: WritingStyle) -> Section:
        section = Section(
            tr("Learned from past shifts"),
            tr(
                "How dirty the produce is, how strong the product is and how high strips and kit "
                "read. Write today's date to have it all forgotten, as after a change of produce "
                "or kit; leave it empty to learn from all shifts."
            ),
            self,
        )
        self.learned = self.enter(
            "learned_since", DateField(writing, tr("Learn from shifts since"))
        )
        section.row((self.learned, 4))
        return section

    def written_onto(self, setup: LineSetup) -> LineSetup:
        """Return a set-up with what stands on this page."""
        return msgspec.structs.replace(
            setup,
            measures=self.owned(),
            meter_checked_on=self.checked_on.day,
            meter_check_days=self.check_days.count or 0,
            strips_use_by=self.strips.day,
            learned_since=self.learned.day,
            strip_pads_mg_l=_SCALES.get(self.pads.text, setup.strip_pads_mg_l),
        )

    def show_instruments(self, setup: LineSetup) -> None:
        """Show what is known of the instruments."""
        self.checked_on.set_day(setup.meter_checked_on)
        self.check_days.set_number(setup.meter_check_days)
        self.strips.set_day(setup.strips_use_by)
        self.learned.set_day(setup.learned_since)
        self.pads.put(_printed(setup.strip_pads_mg_l))
        lines = unfit_lines(setup)
        if lines:
            lines.append(tr("A check that it passes, entered during a shift, takes that away."))
        self.unfit.setText("\n".join(lines))
        self.unfit.setVisible(bool(lines))

    def show_setup(self, setup: LineSetup) -> None:
        """Show what the shed owns."""
        self._origin = setup.measures
        self._show_own(next((name for name in setup.measures if self._is_own(name)), ""))
        for name, button in self.toggles.items():
            button.setChecked(name in setup.measures)

    def _is_own(self, name: str) -> bool:
        return name not in self.toggles and measures.measure(name) is not None

    def _show_own(self, name: str) -> None:
        jug = measures.measure(name)
        self.own.set_number(None if jug is None else jug.capacity * jug.unit_size)
        marked = jug is not None and not jug.is_scoop
        self.marks.set_number(jug.step * jug.unit_size if jug is not None and marked else None)

    def _own_names(self) -> list[str]:
        """Return the jug that is written here, and further ones that came with the set-up."""
        came = [name for name in self._origin if self._is_own(name)]
        holds, marks = self.own.number, self.marks.number
        if holds is None or not math.isfinite(holds):
            return came[1:]
        old = measures.measure(came[0]) if came else None
        unit = (
            old.unit
            if old is not None
            else ("fl oz" if self._writing.taste is UnitSystem.US else "mL")
        )
        size = measures.UNIT_ML[unit]
        step = None if marks is None or not math.isfinite(marks) else marks / size
        return [measures.own_measure(unit, holds / size, step), *came[1:]]

    def owned(self) -> tuple[str, ...]:
        """Return the chosen measures; those that came with the set-up keep their order."""
        chosen = [name for name, button in self.toggles.items() if button.isChecked()]
        chosen += self._own_names()
        kept = [name for name in self._origin if name in chosen]
        return (*kept, *(name for name in chosen if name not in kept))

    @Slot()
    def show_taste(self) -> None:
        """Show the units in use."""
        self.taste.put(self._writing.taste)

    @Slot()
    def _set_taste(self) -> None:
        self._writing.set_taste(UnitSystem(self.taste.text))

    @Slot()
    def _tell(self) -> None:
        self.changed.emit()
        self.left.emit()


def _cautions(parent: QWidget) -> Section:
    section = Section(tr("Before anything is dosed"), "", parent)
    for sentence in (
        tr("The label of the product comes first, then local rules and licensed practice."),
        tr(
            "Acid and hypochlorite together give off chlorine gas: one at a time, into a full tank."
        ),
        tr(
            "Goggles and gloves for both. Measures for acid stay apart from those for hypochlorite."
        ),
    ):
        section.body.addWidget(Text(sentence, wrapped=True))
    return section
