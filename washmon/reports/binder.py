"""A binder: the records of a period in one PDF, with an index, lists, and what proves them.

The same inputs give the same bytes. Who made it and when are inputs, too.
"""

import hashlib
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass, field
from datetime import date, datetime

from washmon.line.message import Figure
from washmon.line.register_state import Stock
from washmon.line.registers import Registers
from washmon.line.setup import LineSetup
from washmon.line.setup_changes import Told, changes
from washmon.line.site_events import SetupSaved
from washmon.line.state import ShiftState
from washmon.line.training import Register
from washmon.reports import binder_registers
from washmon.reports.binder_leaves import Leaf, Row
from washmon.reports.binder_sheet import BinderSheet
from washmon.reports.paper import Bold, PaperSize, Running
from washmon.reports.printed import lay_out, running_of
from washmon.reports.training import list_training, training_lines
from washmon.units import UnitSystem, show

_MOST_SAID = 60


@dataclass(frozen=True)
class Binding:
    """What a binder is made of, besides the records.

    ``site_chain`` is how many entries the site's own chain has, and the hash it ends with.
    ``saves`` are all set-ups that were ever saved, the oldest first; ``training`` is the register
    of practice that was signed off.
    """

    first: date
    last: date
    maker: str
    made_at: datetime
    site_chain: tuple[int, str]
    leaves: tuple[Leaf, ...]
    saves: tuple[SetupSaved, ...] = ()
    training: Register = field(default_factory=Register)
    wrong: Mapping[str, Sequence[str]] = field(default_factory=dict)
    """By chain: what is not as it was written."""
    stock: Stock = field(default_factory=lambda: Stock(registers=Registers()))
    """What was registered when it was made."""

    @property
    def lines(self) -> tuple[str, ...]:
        """The lines that washed, each once."""
        return tuple(dict.fromkeys(leaf.line for leaf in self.leaves))

    @property
    def seal(self) -> str:
        """SHA-256 over name, entries and hash of each chain contained, and of the site's chain."""
        ends = [("site", *self.site_chain)]
        ends += [(leaf.chain, leaf.entries, leaf.head) for leaf in self.leaves]
        text = "".join(f"{chain} {entries} {head}\n" for chain, entries, head in ends)
        return hashlib.sha256(text.encode()).hexdigest()


def bound(
    binding: Binding,
    shifts: Iterable[ShiftState],
    paper: PaperSize = PaperSize.A4,
    taste: UnitSystem | None = None,
    progress: Callable[[int], None] = lambda _done: None,
) -> bytes:
    """Return a binder as a PDF.

    Args:
        binding: what it is made of.
        shifts: those of its leaves, in their order; none, and it has lists without records.
        paper: what it is printed on.
        taste: the units, those of each shift's set-up unless given.
        progress: is told the number of records laid out, after each.
    """
    running = _running(binding)
    with closing(BinderSheet(paper, running, binding.made_at)) as sheet:
        _cover(sheet, binding)
        sheet.keep_index(len(_LISTS) + 2 + len(binding.leaves), running)
        for title, write in _LISTS:
            sheet.begin(title, running)
            sheet.heading(title)
            write(sheet, binding)
        for done, shift in enumerate(shifts, 1):
            _record(sheet, binding, shift, done, taste)
            progress(done)
        return sheet.finish()


def _record(
    sheet: BinderSheet, binding: Binding, shift: ShiftState, at: int, taste: UnitSystem | None
) -> None:
    wrong = binding.wrong.get(shift.chain, ())
    running = running_of(shift, whole=not wrong)
    leaf = binding.leaves[at - 1]
    if at == 1:
        sheet.begin("Records of the shifts", running)
        sheet.mark(leaf.title, 1)
    else:
        sheet.begin(leaf.title, running, 1)
    lay_out(sheet, shift, taste or shift.setup.taste, wrong)


def _running(binding: Binding) -> Running:
    kind = " · NOT WHOLE" if binding.wrong else ""
    about = " · ".join([_site(binding), *binding.lines, _period(binding)])
    return Running(f"Wash-water binder{kind}", about, f"binder {binding.seal}")


def _site(binding: Binding) -> str:
    return "; ".join(dict.fromkeys(leaf.site for leaf in binding.leaves))


def _period(binding: Binding) -> str:
    return f"{binding.first} to {binding.last}"


def _cover(sheet: BinderSheet, binding: Binding) -> None:
    sheet.mark("Cover")
    sheet.heading("Wash-water records of a period")
    entries, head = binding.site_chain
    whole = "NOT WHOLE: see Verification" if binding.wrong else "WHOLE: see Verification"
    facts = [
        ("Site", _site(binding)),
        ("Lines", ", ".join(binding.lines)),
        ("Period", f"{_period(binding)}, by the day on which a shift began"),
        ("Shifts", str(len(binding.leaves))),
        ("Made by", binding.maker),
        ("Made at", binding.made_at.isoformat(sep=" ", timespec="seconds")),
        ("Journal", Bold(whole) if binding.wrong else whole),
        ("Site's chain", f"{entries} entries, ends with {head or 'nothing'}"),
        ("Hash of this binder", binding.seal),
    ]
    sheet.facts(facts, label_mm=40)
    offsets = sorted({one for leaf in binding.leaves for one in leaf.offsets})
    if len(offsets) > 1:
        sheet.say(
            f"The clock was changed in this period ({', '.join(offsets)}): times are those of the "
            "shed, and each record tells the offset it began with."
        )
    sheet.say(
        "The hash of this binder is the SHA-256 of a line for the site's chain and for each shift, "
        "in their order here: name, number of entries and last hash, with a space between, and a "
        "line feed after. Practice is left out."
    )


def _week(sheet: BinderSheet, binding: Binding) -> None:
    rows = [row for leaf in binding.leaves for row in leaf.week]
    sheet.say("A row for each tank and shift. Levels in mg/L, weights in kg, times in % of use.")
    limits = dict.fromkeys(row for leaf in binding.leaves for row in leaf.limits)
    heads = ("Line", "Tank", "Kept with", "Critical", "Low", "Target", "High", "pH")
    sheet.listing(heads, (3, 4, 3, 2, 2, 2, 2, 3), list(limits))
    kept = [at for at, _ in enumerate(_WEEK) if any(row[at] for row in rows)]
    if len(binding.lines) == 1:  # which stands on every page
        kept.remove(1)
    sheet.listing(
        [_WEEK[at][0] for at in kept],
        [_WEEK[at][1] for at in kept],
        [tuple(row[at] for at in kept) for row in rows],
    )


_WEEK = (
    ("Date", 17.6),
    ("Line", 13),
    ("Tank", 9),
    ("Batch", 10.5),
    ("kg", 9),
    ("Lowest", 12.2),
    ("Median", 12.8),
    ("In limits", 11),
    ("Not known", 11.5),
    ("Under crit.", 11),
    ("pH", 8.6),
    ("Held", 8.8),
    ("Open", 9.5),
    ("Doses mL", 11),
    ("Water L", 11),
    ("Cost", 10),
    ("Review", 12.6),
)
"""Heads of the columns of the week report, as a page has room for them, each with its mm."""


def _corrective(sheet: BinderSheet, binding: Binding) -> None:
    parts = [row for leaf in binding.leaves for row in leaf.parts]
    acts = [row for leaf in binding.leaves for row in leaf.acts]
    sheet.say("Decided on held product, in the four parts of a corrective action", bold=True)
    told = ("Decided", "Found", "Product", "Water", "Not again", "By")
    _list(sheet, told, (3, 3, 3, 3, 3, 1), parts, "Nothing was decided.")
    sheet.say("Done while a flag called for it, by tank and shift", bold=True)
    heads = ("Shift", "Line", "Tank", "Done, how often", "Flags")
    _list(sheet, heads, (2.9, 2, 2.2, 4, 6), acts, "Nothing called for it.")


def _holds(sheet: BinderSheet, binding: Binding) -> None:
    rows = [row for leaf in binding.leaves for row in leaf.holds]
    heads = ("Placed", "Tank", "Lots", "Batches", "Reason", "By", "Decision", "Decided")
    _list(sheet, heads, (3.4, 2.2, 2.4, 1.4, 3.4, 1, 2, 3.4), rows, "Nothing was held.")


def _lots(sheet: BinderSheet, binding: Binding) -> None:
    rows = [row for leaf in binding.leaves for row in leaf.lots]
    heads = ("Shift", "Lot", "Produce", "Came from", "Batches", "kg", "Went to: batches")
    _list(sheet, heads, (3.4, 2, 2.2, 2.6, 1.4, 1.3, 4.6), rows, "No lot was named.")


def _reviews(sheet: BinderSheet, binding: Binding) -> None:
    sheet.say(
        "Records are to be reviewed within seven working days after they are made "
        "(21 CFR 117.165). Days: from the day after the shift's end to its first review, by the "
        "days that the site works and those on which it is closed, as its set-up told then; before "
        "it told any, Monday to Friday. Where there is no review, up to the making of this binder."
    )
    heads = ("Shift", "Ended", "Signed", "Reviewed", "Days", "Review")
    sheet.listing(heads, (4, 4.8, 2.4, 2.4, 1, 3.6), [leaf.review for leaf in binding.leaves])


def _instruments(sheet: BinderSheet, binding: Binding) -> None:
    checks = tuple(row for leaf in binding.leaves for row in leaf.checks)
    binder_registers.instruments(sheet, binding.stock, binding.made_at.date(), checks)


def _supplies(sheet: BinderSheet, binding: Binding) -> None:
    binder_registers.supplies(sheet, binding.stock, binding.made_at.date())


def _papers(sheet: BinderSheet, binding: Binding) -> None:
    binder_registers.papers(sheet, binding.stock, binding.made_at.date())


def _training(sheet: BinderSheet, binding: Binding) -> None:
    """List what was signed off in the period, by the day of the sign-off."""
    list_training(sheet, training_lines(binding.training, binding.first, binding.last))


def _setups(sheet: BinderSheet, binding: Binding) -> None:
    rows: list[Row] = []
    known: dict[str, LineSetup] = {}
    for save in binding.saves:
        if binding.first <= save.at.date() <= binding.last:
            rows += _changed(save, known.get(save.setup.line))
        known[save.setup.line] = save.setup
    heads = ("Saved", "By", "Line", "What", "Was", "Now")
    _list(sheet, heads, (2.2, 1, 2, 5, 3, 3), rows, "No set-up was changed in this period.")


def _changed(save: SetupSaved, before: LineSetup | None) -> Iterator[Row]:
    for one in changes(before, save.setup):
        yield (
            f"{save.at:%Y-%m-%d %H:%M}",
            save.by,
            save.setup.line,
            " · ".join(_plain(name) for name in one.path) or "First set-up of the line",
            _told(one.was, save.setup.taste),
            _told(one.now, save.setup.taste),
        )


def _plain(name: str) -> str:
    for unit in ("_mg_l", "_l", "_s", "_pct", "_ntu"):
        name = name.removesuffix(unit)
    return name.replace("_", " ")


def _told(value: Told, taste: UnitSystem) -> str:
    if isinstance(value, Figure):
        return show(value.value, value.kind, taste)
    return value or "–"


def _verification(sheet: BinderSheet, binding: Binding) -> None:
    said = [sentence for some in binding.wrong.values() for sentence in some]
    if said:
        sheet.say("NOT WHOLE: something is not as it was written.", bold=True)
        for sentence in said[:_MOST_SAID]:
            sheet.say(sentence)
        if len(said) > _MOST_SAID:
            sheet.say(f"And {len(said) - _MOST_SAID} more: see washmon verify.")
    else:
        sheet.say("WHOLE: every entry of these shifts follows from the one before it.", bold=True)
    entries, head = binding.site_chain
    rows: list[Row] = [("site", str(entries), head or "nothing", _whole(binding, "site"))]
    rows += [
        (leaf.chain, str(leaf.entries), leaf.head, _whole(binding, leaf.chain))
        for leaf in binding.leaves
    ]
    sheet.listing(("Chain", "Entries", "Ends with", "Whole"), (4, 1.3, 11, 2), rows)


def _whole(binding: Binding, chain: str) -> str:
    return Bold("NOT WHOLE") if chain in binding.wrong else "whole"


def _list(
    sheet: BinderSheet,
    heads: Sequence[str],
    shares: Sequence[float],
    rows: Sequence[Row],
    nothing: str,
) -> None:
    """Print a list, or say that there is nothing in it."""
    if rows:
        sheet.listing(heads, shares, rows)
    else:
        sheet.say(nothing)


_LISTS: tuple[tuple[str, Callable[[BinderSheet, Binding], None]], ...] = (
    ("Week report", _week),
    ("Corrective actions", _corrective),
    ("Holds", _holds),
    ("Lots", _lots),
    ("Reviews", _reviews),
    ("Instrument register", _instruments),
    ("Packs and containers", _supplies),
    ("Training", _training),
    ("Set-up changes", _setups),
    ("Papers", _papers),
    ("Verification", _verification),
)
