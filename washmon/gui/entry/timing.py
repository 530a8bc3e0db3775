"""The form for times that were wrong: all of a shift's, by as much as the clock was."""

import re

from washmon.gui.entry.ask import Ask
from washmon.gui.entry.sheet_form import Fields, LineForm, choice_field
from washmon.gui.entry.texts import Texts
from washmon.gui.i18n import tr
from washmon.gui.kit.sheet_spec import FieldKind as Fill
from washmon.gui.kit.sheet_spec import FieldSpec
from washmon.line.events import ClockChanged

_SPAN = re.compile(r"(\d{1,4})[:.hH](\d{2})")
LATER, EARLIER = "later", "earlier"


def clock_form() -> LineForm:
    """Return the form; whoever uses it says why, and nothing that was written is lost."""
    return LineForm(tr("Times were wrong"), _fields, _build, note=_note, save=tr("Move the times"))


def _note(ask: Ask) -> str:
    began = f"{ask.shift.started.at:%Y-%m-%d %H:%M}"
    return tr(
        "Moves the start of the shift ({began}) and all entries so far. A single entry is "
        "corrected in the list of entries.",
        began=began,
    )


def _fields(ask: Ask) -> Fields:
    ways = ((LATER, tr("Later")), (EARLIER, tr("Earlier")))
    return (
        choice_field(ask, "way", tr("Move them"), ways, LATER),
        FieldSpec(
            "span",
            tr("By"),
            kind=Fill.TEXT,
            required=True,
            hint=tr("hours:minutes, as 9:00"),
        ),
        FieldSpec("reason", tr("Why"), kind=Fill.TEXT, required=True),
    )


def _build(texts: Texts) -> ClockChanged:
    found = _SPAN.fullmatch(texts.text("span"))
    if found is None:
        texts.faults["span"] = tr("Write hours and minutes, such as 9:00, or 24:00 for a day.")
    seconds = 0 if found is None else (int(found[1]) * 60 + int(found[2])) * 60
    ahead = texts.text("way") != EARLIER
    return ClockChanged(
        at=texts.ask.now,
        by=texts.ask.person.initials,
        by_s=seconds if ahead else -seconds,
        reason=texts.needed("reason"),
    )
