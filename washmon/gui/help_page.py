"""Help: the keys, the words, the rules with their sources, and the cautions."""

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QScrollArea, QWidget

from washmon.gui.context import decimal_point
from washmon.gui.glossary import WORDS
from washmon.gui.i18n import begun, tr
from washmon.gui.kit.boxes import STRETCH, add, hbox, keep_width, vbox
from washmon.gui.kit.buttons import PressButton, Rank
from washmon.gui.kit.card import Card
from washmon.gui.kit.spoken import SpokenRole, speak_as
from washmon.gui.kit.text import Text, Tone
from washmon.gui.kit.theme import Size
from washmon.line.flags import ALWAYS_ON
from washmon.line.gate import TABLE
from washmon.line.quantities import QUANTITIES
from washmon.line.setup import Role
from washmon.rules import all_rules
from washmon.sessions.practice.keys import key_rows
from washmon.units import Kind, UnitSystem, show

KEYS = (
    ("F1", "Reading: tank digit, value, Enter; Enter on the last field saves, Esc leaves."),
    ("F2", "Batch: Enter keeps the lot of the batch before."),
    ("F3  F4", "Dose of hypochlorite; acid. Never both at once."),
    ("F5", "Water change, whole or part; a second fill filled or swapped in."),
    ("+", "Same again: one more batch; only on the Board at rest. F8 takes it back."),
    ("F6  Shift+F6", "Hold batches; decide what is done with them."),
    ("F7", "Note. Alt+1 to Alt+4 take the words that are offered, here and in a decision."),
    ("F8", "For two minutes: take the last entry back. Later: correct an earlier one."),
    ("Alt+W", "What if: batches washed, an amount added, the water changed; and what comes next."),
    ("F9  F10", "Logbook; end the shift."),
    ("Ctrl+L", "In the Logbook: all that touched the lot whose number is typed."),
    ("F12", "A round: one reading of each tank on one sheet"),
    ("Space", "The first step: done, with its amount; only on the Board at rest"),
    ("Esc", "Leave a sheet; on the Board, put the keyboard at rest."),
    ("F11  Shift+F1", "Calculator; this page. Both lead back to what was begun."),
    ("Shift+F11", "Far view: for a wall screen or across the bench."),
    ("Alt+M", "Menu: check of an instrument, hand over, replay, session file, set-up, theme."),
    (
        "Alt+S",
        (
            "Sound on or off: softly when a wait is over; for a stop and what is overdue again and "
            "again, until any key, which then does nothing else."
        ),
    ),
    ("By touch", "A field with letters brings a keyboard; two fingers zoom and move a plot."),
    ("Ctrl+Enter", "Save at once, from any field."),
    ("Ctrl+Q", "Close. The shift goes on at the next start."),
)
CAUTIONS = (
    (
        "WARNING: hypochlorite and acid together make chlorine gas. One at a time, each into "
        "plenty of water, never into the same measure, never from one container into another."
    ),
    "Goggles and gloves for every concentrate. Clean, dry measures. Air the room.",
    (
        "The product label, the safety data sheet, local codes and licensed practice come first. "
        "What this program says is advice to the person who is responsible, not permission."
    ),
    "Ask the local authority before wash water is drained.",
)

SCENARIO_FILES = (
    "A text file (TOML, UTF-8). Units stand in the names; a share is of what is usual, 0.5 for "
    "half. In the Logbook, the record of a shift makes one from it; in Practice, Look after "
    "scenarios writes one with forms, tries it, and brings files in and out."
)


_WIDEST_PX = 1240  # longer lines are hard to read


class _Reading(QScrollArea):
    """What is scrolled through by the keyboard."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        speak_as(self, SpokenRole.Pane, tr("Help"))


class HelpPage(QWidget):
    """Reads from top to bottom; Esc leaves."""

    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.back = PressButton(tr("Back"), Rank.SECONDARY, "Esc", then=self.left)
        inside = QWidget()
        inside.setObjectName("scrolled")
        keep_width(inside, _WIDEST_PX, most=True)
        vbox(
            _table(tr("Keys"), [(key, tr(text)) for key, text in KEYS]),
            _table(tr("Cautions"), [("", tr(text)) for text in CAUTIONS]),
            _table(tr("Words"), [(tr(word), tr(text)) for word, text in WORDS]),
            _measured(),
            _acts(),
            _rules(),
            _scenarios(),
            STRETCH,
            on=inside,
            gap_px=12,
            margins_px=(0, 0, 6, 0),
        )
        area = _Reading(self)
        area.setWidgetResizable(True)
        area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        area.setWidget(inside)
        vbox(
            hbox((Text(tr("Help"), Size.LARGE, bold=True), 1), self.back),
            (area, 1),
            on=self,
            gap_px=8,
            margins_px=(12, 8, 12, 12),
        )


def _scenarios() -> Card:
    """Return how a scenario file is written."""
    return _table(tr("Scenario files for practice"), [("", tr(SCENARIO_FILES)), *key_rows()])


def _table(title: str, rows: list[tuple[str, str]]) -> Card:
    card = Card(margin_px=16)
    card.body.addWidget(Text(title, Size.TITLE, bold=True))
    for head, text in rows:
        line = QHBoxLayout()
        if head:
            label = Text(head, bold=True, wrapped=True)
            keep_width(label, 260)
            line.addWidget(label, 0, Qt.AlignmentFlag.AlignTop)
        line.addWidget(Text(text, tone=Tone.PLAIN, wrapped=True), 1)
        card.body.addLayout(line)
    return card


def _measured() -> Card:
    """Return what can be measured, between which values, and which are asked about."""
    rows = []
    for one in QUANTITIES:
        if one.kind is not None and one.bounds is not None:
            low, high, least, most = (_in_both_units(end, one.kind) for end in one.bounds)
            text = "From {low} to {high}; asked about under {least} or over {most}."
            if low == least:
                text = "From {low} to {high}; asked about over {most}."
            said = tr(text, low=low, high=high, least=least, most=most)
            rows.append((begun(tr(one.name)), said))
    return _table(tr("What can be measured"), rows)


def _in_both_units(value: float, kind: Kind) -> str:
    """Return a value as either taste reads it: Help knows nobody's."""
    metric, us = (show(value, kind, taste, decimal_point()) for taste in UnitSystem)
    return metric if metric == us else f"{metric} ({us})"


def _acts() -> Card:
    """Return who may do what, once there are PINs."""
    card = Card(margin_px=16)
    card.body.addWidget(Text(tr("Who may do what"), Size.TITLE, bold=True))
    words = tr(
        "Once a manager has set a PIN, this holds; until then initials stand. Nobody changes their "
        "own role, and one manager with a PIN stays in the set-up."
    )
    card.body.addWidget(Text(words, tone=Tone.SOFT, wrapped=True))
    grid = QGridLayout()
    grid.setHorizontalSpacing(12)
    grid.setColumnStretch(0, 1)
    roles = (Role.LINE_WORKER, Role.SUPERVISOR, Role.MANAGER)
    heads = ("", tr("Line worker"), tr("Supervisor"), tr("Manager"), tr("With a PIN"))
    for place, head in enumerate(heads):
        grid.addWidget(Text(head, Size.SMALL, tone=Tone.SOFT), 0, place)
    for row, (act, may) in enumerate(TABLE.items(), start=1):
        grid.addWidget(Text(begun(tr(act.value)), bold=True, wrapped=True), row, 0)
        said = [tr("yes") if role in may.roles else tr("no") for role in roles]
        for place, text in enumerate([*said, tr("yes") if may.pin else tr("no")], start=1):
            tone = Tone.PLAIN if text == tr("yes") else Tone.SOFT
            grid.addWidget(Text(text, tone=tone), row, place)
    card.body.addLayout(grid)
    return card


def _rules() -> Card:
    """Return the rules: what each is called, whether it can be put out of sight, and its source."""
    card = Card(margin_px=16)
    card.body.addWidget(Text(tr("Rules and their sources"), Size.TITLE, bold=True))
    grid = QGridLayout()
    grid.setHorizontalSpacing(12)
    grid.setColumnStretch(2, 1)
    heads = (tr("Rule"), tr("Switch off or shelve"), tr("Source"))
    for place, head in enumerate(heads):
        grid.addWidget(Text(head, Size.SMALL, tone=Tone.SOFT), 0, place)
    for row, rule in enumerate(all_rules(), start=1):
        name = Text(begun(tr(rule.title)), bold=True, wrapped=True)
        keep_width(name, 260)
        fixed = rule.id in ALWAYS_ON
        may = Text(tr("never") if fixed else tr("with a reason"), bold=fixed)
        for place, text in enumerate((name, may, Text(rule.source, wrapped=True))):
            grid.addWidget(text, row, place, Qt.AlignmentFlag.AlignTop)
    add(
        card.body,
        grid,
        Text(tr("A flag that says stop is never shelved."), tone=Tone.SOFT, wrapped=True),
    )
    return card
