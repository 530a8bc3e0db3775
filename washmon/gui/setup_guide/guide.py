"""The set-up guide: a line described in two minutes, and changed later in the same pages.

What stands around each page of the guide: steps, title, units, and the buttons below.
"""

from collections.abc import Callable
from datetime import date

import msgspec
from PySide6.QtCore import QLocale, Qt, Signal, Slot
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QAbstractButton, QApplication, QWidget

from washmon import data
from washmon.gui.i18n import tr
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.confirm import ask
from washmon.gui.kit.eye_order import EyeOrdered, step
from washmon.gui.setup_guide.essentials_page import EssentialsPage
from washmon.gui.setup_guide.guide_judging import Judge
from washmon.gui.setup_guide.layout import FormPage
from washmon.gui.setup_guide.line_pages import EMPTY, LinePages, fresh, same
from washmon.gui.setup_guide.look_page import LookPage, changed
from washmon.gui.setup_guide.pages_frame import PagesFrame
from washmon.gui.setup_guide.saver import SaverBar
from washmon.gui.setup_guide.setup_summary import summary
from washmon.gui.setup_guide.template_page import TemplatePage
from washmon.gui.setup_guide.writing import WritingStyle
from washmon.line.setup import LineSetup
from washmon.line.templates import Shelf, Template, shelf
from washmon.line.validate import cautions, faults
from washmon.units import UnitSystem


class GuideFrame(PagesFrame, EyeOrdered):
    """Works its buttons by keys; what they do is said elsewhere."""

    def __init__(self, pages: tuple[FormPage, ...], parent: QWidget | None = None) -> None:
        self.back = PressButton(tr("Back"))
        self.next = PressButton(tr("Next"), Rank.PRIMARY, "Ctrl+Enter", bound=False)
        super().__init__(
            pages,
            PressButton(tr("Leave without saving"), Rank.QUIET),
            (self.back, self.next),
            few=frozenset({0, 1, len(pages) - 1}),
            folded_only=frozenset({1}),
            parent=parent,
        )
        self.saver = SaverBar(self)
        self.back.setMinimumWidth(140)
        self.next.setMinimumWidth(220)
        self.lay_out(self.saver, edge_px=12)

    def focusNextPrevChild(self, next: bool) -> bool:  # noqa: A002, FBT001 - Qt's name
        """Let Tab follow the eye, whatever was made or lent when."""
        return step(self.window(), forward=next) or super().focusNextPrevChild(next)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter goes on, field by field and then page by page; Ctrl+Enter turns the page."""
        if event.key() == Qt.Key.Key_Escape:
            self.leave.click()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
                self.next.click()
            else:
                self._enter()
        else:
            super().keyPressEvent(event)

    def _enter(self) -> None:
        focus = QApplication.focusWidget()
        if isinstance(focus, QAbstractButton) and not focus.isCheckable():
            focus.click()
            return
        if not self.page.enter_on(focus):
            self.next.click()

    def show_page(self, at: int, *, units: bool) -> None:
        """Show a page and put the keyboard on its first field; ``units`` shows their switch."""
        self.units.setVisible(units)
        self.back.setEnabled(at > 0)
        self.next.set_label(tr("Save the set-up") if at == self.last else tr("Next"))
        self.bring(at)


class SetupGuide(GuideFrame):
    """Pages over one set-up; nothing that was typed is lost by going back or by a fault.

    A first line needs few of them; the others fold behind *More*.

    ``finished`` carries a valid :class:`LineSetup`; ``left`` says that the person went away
    without saving. Call :meth:`start` before showing it.
    """

    finished = Signal(object)

    def __init__(
        self,
        parent: QWidget | None = None,
        *,
        today: Callable[[], date] = date.today,
        locale: QLocale | None = None,
        templates: Shelf | None = None,
    ) -> None:
        self.writing = WritingStyle(locale)
        found = templates if templates is not None else shelf(data.resource("templates"))
        self.template = TemplatePage(found, self.writing)
        self.line = LinePages(self.writing)
        self.place, self.products = self.line.place, self.line.products
        self.tanks, self.measures = self.line.tanks, self.line.measures
        self.margins, self.rules = self.line.margins, self.line.rules
        self.essentials = EssentialsPage(self.line, self.writing)
        self.look = LookPage()
        super().__init__((self.template, self.essentials, *self.line.all, self.look), parent)
        self.writing.setParent(self)
        self.setObjectName("paper")
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self._today = today
        self._start = EMPTY
        self._first = True
        self._judging = Judge(self.pages, self.writing, faults)
        self._connect()

    def _connect(self) -> None:
        for page in self.pages:
            page.left.connect(self._judge)
            page.changed.connect(self._follow_change)
        self.template.picked.connect(self._pick_template)
        self.rail.chosen.connect(self.go_to)
        self.rail.more.clicked.connect(self._show_more)
        self.essentials.more_asked.connect(self._show_more)
        self.back.clicked.connect(self._go_back)
        self.next.clicked.connect(self._go_on)
        self.leave.clicked.connect(self.ask_to_leave)
        self.look.wanted.connect(self._show_path)
        self.units.changed.connect(self._set_taste)
        self.writing.changed.connect(self._follow_taste)

    # --- the set-up

    def start(self, setup: LineSetup | None) -> None:
        """Begin with a set-up to change, or with none for a new line."""
        self._first = setup is None
        self.page.put_away()
        self._start = fresh(self.writing.taste) if setup is None else setup
        self.writing.set_taste(self._start.taste)
        self._follow_taste()
        self.template.forget(replaces=not self._first)
        self.saver.close_up()
        self.line.show_setup(self._start)
        self._clean = self.draft()
        self._judging.forget()
        self.message.clear()
        self._fold(folded=self._first)
        self._judge()
        self.go_to(0 if self._first else self.last)

    def draft(self) -> LineSetup:
        """Return the set-up as it is written; NaN stands for a number that cannot be read."""
        return self.line.onto(self._start)

    @Slot(object)
    def _pick_template(self, template: Template) -> None:
        """Bring in a template; ask first where it would replace what somebody wrote."""
        draft = self.draft()
        before = self.template.chosen
        clean = self._clean
        untouched = same(
            (draft.tanks, draft.sanitizers, draft.acids),
            (clean.tanks, clean.sanitizers, clean.acids),
        )
        if (untouched and self._start.tanks == ()) or not draft.tanks:
            self._bring_in(template)
            return
        self.template.mark(before)
        self._offered = template
        question = ask(
            self,
            tr("Replace the products and tanks by those of this template?"),
            tr("Replace"),
            tr("Keep"),
            tr("Place, people and measures stay as they are."),
        )
        question.answered.connect(self._answer_template)

    @Slot(bool)
    def _answer_template(self, yes: bool) -> None:  # noqa: FBT001 (a signal's argument)
        if yes:
            self._bring_in(self._offered)

    def _bring_in(self, template: Template) -> None:
        draft = template.draft(self.writing.taste, self.measures.owned())
        self.template.mark(template)
        self.place.show_line(draft)
        self.line.show_water(draft)
        now = self.draft()
        self._clean = msgspec.structs.replace(
            self._clean, tanks=now.tanks, sanitizers=now.sanitizers, acids=now.acids
        )
        self._judge()

    # --- faults

    @Slot()
    def _judge(self) -> None:
        self.rail.show_counts(self._judging.show(self.draft()))
        self.tanks.offer(self.products.choices())

    @Slot()
    def _follow_change(self) -> None:
        """Take a fault away while it is being mended."""
        self.message.clear()
        if self._judging.any_shown():
            self._judge()

    # --- moving

    @Slot(int)
    def go_to(self, at: int) -> None:
        """Show a page; what was left behind is judged."""
        if at != self.at and self.isVisible():
            self._judging.reveal(self.page)
        if at not in self.rail.shown:
            self._fold(folded=self.pages[at] is self.essentials)
        self.page.put_away()
        self._judge()
        if at == self.last:
            self._show_look()
        else:
            self.saver.close_up()
        self.pages[at].bring(self.draft())
        self.show_page(at, units=self.pages[at] is not self.measures)

    def _show_look(self) -> None:
        draft = self.draft()
        said = {one.path: self.writing.say(one.message) for one in cautions(draft, self._today())}
        self.look.show_summary(
            summary(draft, self.writing),
            self._judging.findings(self._judging.faults(draft)),
            self._judging.findings(said),
            [] if self._first else changed(self._start, draft, self.writing),
        )

    @Slot()
    def _go_back(self) -> None:
        self.go_to(self.rail.next_to(self.at, -1))

    @Slot()
    def _go_on(self) -> None:
        if self.at == self.last:
            self.save()
        else:
            self.go_to(self.rail.next_to(self.at, 1))

    @Slot()
    def _show_more(self) -> None:
        """Show all pages, or the few that a first line needs."""
        self._fold(folded=not self.rail.folded)
        self.go_to(self.pages.index(self.essentials if self.rail.folded else self.place))

    def _fold(self, *, folded: bool) -> None:
        self.essentials.in_use = folded
        self.rail.fold(folded=folded, may_change=self._first)

    @Slot(str)
    def _show_path(self, path: str) -> None:
        """Go to the field of a path and put the keyboard there."""
        page = self._judging.page_of(path)
        self.go_to(page)
        self.pages[page].show_field(path)
        if home := self._judging.home(path):
            self._judging.fields()[home].focus()

    @Slot()
    def save(self) -> None:
        """Hand over the set-up, or show all that is to mend and go to the first."""
        self._judging.reveal()
        draft = self.draft()
        found = self._judging.findings(self._judging.faults(draft))
        self._judge()
        if not found:
            self.message.clear()
            self.finished.emit(draft)
            return
        self._show_path(found[0].path)
        self.message.warn(
            tr("Not saved yet: one thing is to mend.")
            if len(found) == 1
            else tr("Not saved yet: {count} things are to mend.", count=len(found))
        )

    @property
    def unsaved(self) -> bool:
        """Whether something is written here that no set-up has."""
        return not same(self.draft(), self._clean)

    @Slot()
    def settle(self) -> None:
        """Take what is written as kept, or as given up."""
        self._clean = self.draft()

    # --- units

    @Slot()
    def _set_taste(self) -> None:
        self.writing.set_taste(UnitSystem(self.units.text))

    @Slot()
    def _follow_taste(self) -> None:
        """Show the units in use; untouched measures change with them."""
        self.units.put(self.writing.taste)
        if self._first:
            self.line.follow_taste()
        self._judge()
        if self.page is self.look:
            self._show_look()
        elif self.page in (self.rules, self.essentials):
            self.page.bring(self.draft())
