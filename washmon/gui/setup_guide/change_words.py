"""A change of the set-up in words: what it is about, what it was, what it is now."""

from collections.abc import Callable

from washmon.gui.i18n import tr
from washmon.gui.setup_guide import setup_words
from washmon.line.message import Figure
from washmon.line.setup import LineSetup
from washmon.line.setup_changes import Change, Told
from washmon.rules.catalogue import title_of
from washmon.units import Kind

Show = Callable[[float, Kind], str]
_NOTHING = "–"


def about(change: Change, before: LineSetup | None, after: LineSetup) -> str:
    """Return what a change is about, such as "Tank 2 Rinse: critical low"."""
    if not change.path:
        return tr("First set-up of the line")
    root, *rest = change.path
    head = _heads().get(root)
    if head is None or not rest:
        field = _field(change.path[-1])
        return f"{field[:1].upper()}{field[1:]}"
    if root == "rules_off":
        return tr("Rule switched off: {rule}", rule=tr(title_of(rest[0])))
    of = head.format(name=_name(root, rest[0], before, after)) if "{name}" in head else head
    fields = rest[1:] if root in _LISTS else rest
    return ": ".join(part for part in (of, ", ".join(_field(name) for name in fields)) if part)


def told(value: Told, show: Show) -> str:
    """Return what a value was or is."""
    if isinstance(value, Figure):
        return show(value.value, value.kind)
    return value or _NOTHING


_LISTS = ("people", "tanks", "sanitizers", "acids")


def _heads() -> dict[str, str]:
    return {
        "people": tr("Person {name}"),
        "tanks": tr("Tank {name}"),
        "sanitizers": tr("Product {name}"),
        "acids": tr("Acid {name}"),
        "rules_off": "",
        "margins": tr("Margins and delays"),
        "source": tr("Fresh water"),
    }


def _name(root: str, key: str, before: LineSetup | None, after: LineSetup) -> str:
    for setup in (after, before):
        if setup is None:
            continue
        if root == "tanks":
            found = [f"{one.number} {one.name}" for one in setup.tanks if str(one.number) == key]
        elif root == "people":
            found = [f"{one.initials} {one.name}" for one in setup.people if one.initials == key]
        elif root == "sanitizers":
            found = [one.name for one in setup.sanitizers if one.key == key]
        else:
            found = [one.name for one in setup.acids if one.key == key]
        if found:
            return found[0]
    return key


def _field(name: str) -> str:
    known = {
        "chlorine": tr("free chlorine"),
        "peracetic": tr("peracetic acid"),
        "ph": tr("pH"),
        "critical_low_mg_l": tr("critical low"),
        "low_mg_l": tr("low"),
        "target_mg_l": tr("target"),
        "high_mg_l": tr("high"),
        "label_max_mg_l": tr("label maximum"),
        "critical_contact_s": tr("critical contact time"),
        "critical_ph": tr("critical pH"),
        "critical_temperature": tr("critical temperature"),
        "turbidity_max_ntu": tr("cloudiness at most"),
        "look_limit": tr("cloudiness by eye"),
        "volume_l": tr("working volume"),
        "second_volume_l": tr("volume of the second fill"),
        "hours_per_fill": tr("new water after hours"),
        "batches_per_fill": tr("new water after batches"),
        "check_minutes": tr("check after minutes"),
        "check_batches": tr("check after batches"),
        "contact_s": tr("contact time"),
        "mix_minutes": tr("mixing time"),
        "by_c": tr("difference"),
        "rules_off": tr("Rules switched off"),
        "meter_checked_on": tr("pH meter last checked on"),
        "meter_check_days": tr("pH meter checked every, days"),
        "instruments_unfit": tr("instruments unfit for use"),
        "strips_use_by": tr("Strips good until"),
        "learned_since": tr("Learn from shifts since"),
        "strip_pads_mg_l": tr("Pads printed on the strips"),
        "taste": tr("Units"),
        "commodity": tr("What is washed"),
        "calendar": tr("days that are worked"),
        "worked": tr("of the week"),
        "closed": tr("closed on"),
    }
    return known.get(name) or _captions().get(name) or _plain(name)


def _captions() -> dict[str, str]:
    return {
        margin: caption for _, _, margins in setup_words.margins() for margin, caption, _ in margins
    }


def _plain(name: str) -> str:
    """Return a field's name as words, without the unit at its end."""
    text = name
    for unit in ("_mg_l", "_g_l", "_kg_l", "_pct", "_cm", "_c", "_l", "_s"):
        text = text.removesuffix(unit)
    return text.replace("_", " ")
