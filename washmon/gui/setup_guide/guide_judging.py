"""Which faults a set-up has, beside which fields they stand, and who may see them yet."""

from collections.abc import Callable, Iterable
from typing import Generic, TypeVar

from washmon.gui.i18n import tr
from washmon.gui.kit.form_fields import FormField
from washmon.gui.setup_guide.layout import FormPage
from washmon.gui.setup_guide.look_page import ToMend
from washmon.gui.setup_guide.writing import WritingStyle
from washmon.line.setup_fault import SetupFault

DraftT = TypeVar("DraftT")


class Judge(Generic[DraftT]):
    """Looks at the pages of a guide, or of an editor; ``find`` says what is wrong with a draft."""

    def __init__(
        self,
        pages: tuple[FormPage, ...],
        writing: WritingStyle,
        find: Callable[[DraftT], Iterable[SetupFault]],
    ) -> None:
        self._pages = pages
        self._writing = writing
        self._find = find

    def fields(self) -> dict[str, FormField]:
        """Return the fields of all pages by their paths, in the order of the pages."""
        return dict(pair for page in self._pages for pair in page.fields())

    def faults(self, draft: DraftT) -> dict[str, str]:
        """Return one sentence for each path at which something is to mend.

        What cannot be read is told before what cannot be so.
        """
        found: dict[str, str] = {}
        for path, field in self.fields().items():
            if not field.isHidden() and (problem := field.problem()):
                found[path] = problem
        for fault in self._find(draft):
            found.setdefault(fault.path, self._writing.say(fault.message))
        return found

    def show(self, draft: DraftT) -> list[int]:
        """Show each fault beside its field, where somebody has been; return how many per page."""
        fields = self.fields()
        shown: dict[str, str] = {}
        counts = [0] * len(self._pages)
        for path, sentence in self.faults(draft).items():
            home = self.home(path)
            if home and fields[home].visited and home not in shown:
                shown[home] = sentence
                counts[self.page_of(path)] += 1
        for path, field in fields.items():
            field.show_fault(shown.get(path, ""))
        return counts

    def any_shown(self) -> bool:
        """Tell whether a fault is in sight somewhere."""
        return any(field.fault.text for field in self.fields().values())

    def reveal(self, page: FormPage | None = None) -> None:
        """Let the faults of a page, or of all, be seen from now on."""
        for one in self._pages if page is None else (page,):
            for _, field in one.fields():
                field.reveal()

    def forget(self) -> None:
        """Let no fault be seen before somebody has been at its field again."""
        for field in self.fields().values():
            field.visited = False

    def home(self, path: str) -> str:
        """Return the path of the nearest field that a fault can stand beside, or nothing."""
        fields = self.fields()
        while path and path not in fields:
            path = path.rpartition(".")[0]
        return path

    def page_of(self, path: str) -> int:
        """Return the page on which a path is mended; the last one for what has no page."""
        last = len(self._pages) - 1
        return next((at for at, page in enumerate(self._pages) if page.owns(path)), last)

    def findings(self, found: dict[str, str]) -> list[ToMend]:
        """Return sentences with the names of their places, in the order of the pages."""
        order = {path: at for at, path in enumerate(self.fields())}
        listed = [ToMend(path, sentence, self._place(path)) for path, sentence in found.items()]
        return sorted(
            listed, key=lambda one: (self.page_of(one.path), order.get(one.path, len(order)))
        )

    def _place(self, path: str) -> str:
        """Say where a path leads, such as Tank 2."""
        root, _, rest = path.partition(".")
        at = rest.split(".")[0]
        if root == "tanks" and at.isdigit():
            return tr("Tank {number}", number=int(at) + 1)
        return self._pages[self.page_of(path)].place(path)
