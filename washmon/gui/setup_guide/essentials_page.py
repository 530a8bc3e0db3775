"""What no template can know, on one page: each field is lent by the page that it belongs to.

Widgets lent from where they stand to another page, and given back to the same place.
"""

from collections.abc import Iterator
from typing import NamedTuple, cast

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QBoxLayout, QGridLayout, QLayout, QSizePolicy, QWidget

from washmon.gui.i18n import tr
from washmon.gui.kit.buttons import PressButton
from washmon.gui.kit.form_fields import FormField
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.gui.setup_guide.layout import FormPage, Scroller, Section
from washmon.gui.setup_guide.line_pages import LinePages
from washmon.gui.setup_guide.product_forms import SanitizerForm
from washmon.gui.setup_guide.setup_summary import as_the_template_has_it
from washmon.gui.setup_guide.tank_form import TankForm
from washmon.gui.setup_guide.writing import WritingStyle
from washmon.line.setup import LineSetup


class _Lent(NamedTuple):
    widget: QWidget
    layout: QBoxLayout | QGridLayout
    at: tuple[int, int, int, int]
    """Row, column and their spans; in a box the place is the row."""
    alignment: Qt.AlignmentFlag
    hidden: bool


class Lending:
    """What one page shows of others for a while; a field is never there twice."""

    def __init__(self) -> None:
        self._lent: list[_Lent] = []

    def take(self, *widgets: QWidget) -> None:
        """Take widgets out of their layouts, to be put into others.

        Raises:
            ValueError: no box or grid holds one of them.
        """
        for widget in widgets:
            parent = widget.parentWidget()
            layout = None if parent is None else _holder(parent.layout(), widget)
            if layout is None:
                raise ValueError(f"{widget} stands in no layout.")
            at = layout.indexOf(widget)
            item = layout.itemAt(at)
            alignment = Qt.AlignmentFlag(0) if item is None else item.alignment()
            self._lent.append(
                _Lent(widget, layout, _place(layout, at), alignment, widget.isHidden())
            )
            layout.removeWidget(widget)

    def show(self) -> None:
        """Let all that was taken be seen in its new place, but for what was hidden before."""
        for one in self._lent:
            one.widget.setVisible(not one.hidden)

    def give_back(self) -> None:
        """Put all that was taken where it stood."""
        while self._lent:
            one = self._lent.pop()
            hidden = one.widget.isHidden()  # a new parent hides it
            row, column, rows, columns = one.at
            if isinstance(one.layout, QGridLayout):
                one.layout.addWidget(one.widget, row, column, rows, columns, one.alignment)
            else:
                one.layout.insertWidget(row, one.widget, 0, one.alignment)
            one.widget.setVisible(not hidden)


def _place(layout: QBoxLayout | QGridLayout, at: int) -> tuple[int, int, int, int]:
    if isinstance(layout, QGridLayout):
        row, column, rows, columns = cast("tuple[int, int, int, int]", layout.getItemPosition(at))
        return row, column, rows, columns
    return at, 0, 1, 1


def _holder(layout: QLayout | None, widget: QWidget) -> QBoxLayout | QGridLayout | None:
    """Return the layout that holds a widget itself."""
    if layout is None:
        return None
    for at in range(layout.count()):
        item = layout.itemAt(at)
        if item is None:
            continue
        if item.widget() is widget and isinstance(layout, QBoxLayout | QGridLayout):
            return layout
        found = _holder(item.layout(), widget)
        if found is not None:
            return found
    return None


class EssentialsPage(FormPage):
    """Who leads, what the container says, how much the tanks hold, what the shed measures with.

    Signals:
        more_asked(): something else of the line is to be changed.
    """

    more_asked = Signal()

    def __init__(
        self, line: LinePages, writing: WritingStyle, parent: QWidget | None = None
    ) -> None:
        super().__init__(
            tr("The essentials"), tr("Only what no template can know. All else may wait."), parent
        )
        self._line = line
        self._writing = writing
        self._lending = Lending()
        self._labels: dict[TankForm, str] = {}
        self.in_use = True
        """Whether faults of its fields are mended here, or on the pages that they belong to."""
        self._scroller = Scroller(self)
        self.outer.addWidget(self._scroller)
        self._scroller.column.addStretch(1)
        self._own: list[Section] = []
        self.more = PressButton(tr("More: change any of this"), then=self.more_asked)
        self.more.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)

    def bring(self, draft: LineSetup) -> None:
        """Take the fields from their pages."""
        self.put_away()
        whole = [form.says for form in self._products()]
        shed = self._line.measures.in_the_shed
        self._lending.take(*whole, shed)
        tanks = [self._tanks()] if self._line.tanks.roster.forms else []
        self._own = [self._who(), *tanks, self._rest(draft)]
        first, *between, last = self._own
        for at, section in enumerate((first, *whole, *between, shed, last)):
            self._scroller.column.insertWidget(at, section)
        self._lending.show()
        self._labels = {form: form.label_basis.text for form in self._line.tanks.roster.forms}

    def put_away(self) -> None:
        """Give the fields back to their pages."""
        own, self._own = self._own, []
        if not own:
            return
        for form, before in self._labels.items():
            if form.label_basis.text != before:
                self._line.tanks.spread_label(form)
        self._lending.give_back()
        self.more.setParent(self)
        for section in own:
            self._scroller.column.removeWidget(section)
            section.hide()
            section.deleteLater()

    def fields(self, path: str = "") -> Iterator[tuple[str, FormField]]:
        """Yield what is asked here, each with the path that it has on its own page."""
        del path
        places = self._line.place, self._line.products, self._line.tanks, self._line.measures
        homes = {field: path for page in places for path, field in page.fields()}
        yield from ((homes[field], field) for field in self._wanted())

    def owns(self, path: str) -> bool:
        """Tell whether a fault at this path is mended here."""
        return self.in_use and any(path == one for one, _ in self.fields())

    # --- what is asked

    def _wanted(self) -> Iterator[FormField]:
        place, measures = self._line.place, self._line.measures
        if place.rows:
            yield from (place.rows[0].initials, place.rows[0].name)
        yield from (place.site, place.location)
        for form in self._products():
            yield from form.said
        for tank in self._line.tanks.roster.forms:
            yield from self._of_tank(tank)
        yield from (measures.own, measures.marks)

    def _products(self) -> list[SanitizerForm]:
        forms = self._line.products.roster.forms
        return [form for form in forms if isinstance(form, SanitizerForm)]

    def _of_tank(self, tank: TankForm) -> list[FormField]:
        """Return its volume, and its label; what the label means is asked once a product."""
        same = [
            one
            for one in self._line.tanks.roster.forms
            if one.sanitizer.text == tank.sanitizer.text
        ]
        label = [tank.label_basis] if same[0] is tank else []
        return [tank.volume, tank.label_max, *label]

    # --- how it stands

    def _who(self) -> Section:
        section = Section(
            tr("Who, and where"),
            tr(
                "You lead the first shifts as their supervisor. Site and location may wait: the "
                "records of shifts lack them until they are written."
            ),
            self,
        )
        place = self._line.place
        cells: list[tuple[FormField, int]] = [(place.site, 3), (place.location, 4)]
        if place.rows:
            cells[:0] = [(place.rows[0].initials, 1), (place.rows[0].name, 4)]
        self._lending.take(*(field for field, _ in cells))
        section.row(*cells)
        return section

    def _tanks(self) -> Section:
        section = Section(
            tr("Tanks"),
            tr("How much each holds when it is full, and what the label of its product says."),
            self,
        )
        for at, form in enumerate(self._line.tanks.roster.forms):
            title = Text(f"{at + 1}  {form.label}", Size.BODY, bold=True, wrapped=True)
            title.setContentsMargins(0, 26, 0, 0)
            fields = self._of_tank(form)
            self._lending.take(*fields)
            section.row((title, 2), *zip(fields, (3, 3, 4), strict=False))
        return section

    def _rest(self, draft: LineSetup) -> Section:
        section = Section(tr("The rest stays as the template has it"), "", self)
        for line in as_the_template_has_it(draft, self._writing):
            section.body.addWidget(Text(line, Size.SMALL, tone=Tone.SOFT, wrapped=True))
        section.body.addWidget(self.more)
        return section
