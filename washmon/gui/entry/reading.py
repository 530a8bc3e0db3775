"""The reading: what was measured in a tank, only what this tank uses."""

from washmon.gui.entry.ask import Ask
from washmon.gui.entry.form import Fields, TankForm, choice_field, number_field, second_waits
from washmon.gui.entry.texts import Texts
from washmon.gui.i18n import tr
from washmon.gui.kit.sheet_spec import FieldSpec
from washmon.line.events import Method, ReadingTaken
from washmon.line.setup import LabelBasis, Look
from washmon.line.state import TankState
from washmon.units import Kind

_KINDS = {
    "fac_mg_l": Kind.CONCENTRATION,
    "paa_mg_l": Kind.CONCENTRATION,
    "peroxide_mg_l": Kind.CONCENTRATION,
    "ph": Kind.PH,
    "turbidity_ntu": Kind.TURBIDITY,
    "water_c": Kind.TEMPERATURE,
    "pulp_c": Kind.TEMPERATURE,
    "total_mg_l": Kind.CONCENTRATION,
    "orp_mv": Kind.POTENTIAL,
}
_USUAL = {
    "fac_method": Method.STRIP,
    "paa_method": Method.STRIP,
    "ph_method": Method.METER,
}
_METHODS = {"fac_mg_l": "fac_method", "paa_mg_l": "paa_method", "ph": "ph_method"}
_OF_CHLORINE = frozenset({"fac_mg_l", "total_mg_l"})
_OF_PERACETIC = frozenset({"paa_mg_l", "peroxide_mg_l"})


def reading_form() -> TankForm:
    """Return the form of a reading."""
    return TankForm(tr("Reading"), _fields, _build, _more, second=second_waits)


def _used(ask: Ask, tank: TankState, key: str) -> bool:
    """Tell whether a tank is asked for a value at once, without "More…"."""
    spec = tank.spec
    match key:
        case "fac_mg_l" | "ph":
            used = spec.peracetic is None
        case "paa_mg_l":
            used = spec.peracetic is not None
        case "turbidity_ntu":
            used = spec.turbidity_max_ntu is not None
        case "look":
            used = spec.look_limit is not None
        case "water_c" | "pulp_c":
            used = spec.temperature_rule is not None
        case "total_mg_l":
            used = not spec.peracetic and spec.chlorine.label_basis is LabelBasis.TOTAL
        case _:
            used = False
    return used or ask.was(key) is not None


def _fits(ask: Ask, tank: TankState, key: str) -> bool:
    """Tell whether a value can be of this tank's water, or stands in a corrected entry."""
    other = _OF_CHLORINE if tank.spec.peracetic else _OF_PERACETIC
    return key not in other or ask.was(key) is not None


def _with_method(ask: Ask, tank: TankState, key: str) -> Fields:
    """Return the field of a value, and beside it that of its method where it has one."""
    method = _METHODS.get(key)
    number = _number(ask, tank, key)
    return (number,) if method is None else (number, _method(ask, tank, method, key))


def _fields(ask: Ask, tank: TankState) -> Fields:
    used = [key for key in _KINDS if _used(ask, tank, key)]
    fields = [field for key in used for field in _with_method(ask, tank, key)]
    if _used(ask, tank, "look"):
        # Beside a meter the card is the second best: Enter passes it by.
        fields.append(_look(ask, aside="turbidity_ntu" in used))
    return tuple(fields)


def _more(ask: Ask, tank: TankState) -> Fields:
    keys = [key for key in _KINDS if _fits(ask, tank, key) and not _used(ask, tank, key)]
    rest = [field for key in keys for field in _with_method(ask, tank, key)]
    look = [] if _used(ask, tank, "look") else [_look(ask, aside=False)]
    return (*rest, *look)


def _number(ask: Ask, tank: TankState, key: str) -> FieldSpec:
    label = {
        "fac_mg_l": tr("Free chlorine"),
        "paa_mg_l": tr("Peracetic acid"),
        "peroxide_mg_l": tr("Hydrogen peroxide"),
        "ph": tr("pH"),
        "turbidity_ntu": tr("Cloudiness"),
        "water_c": tr("Water"),
        "pulp_c": tr("Pulp"),
        "total_mg_l": tr("Total chlorine"),
        "orp_mv": tr("ORP"),
    }[key]
    placed = tank.fill.latest(key) if tank.fill else None
    last = getattr(placed.event, key) if placed else None
    return number_field(ask, key, label, _KINDS[key], last, hint=" ")


def _method(ask: Ask, tank: TankState, key: str, value: str) -> FieldSpec:
    methods = (
        (Method.STRIP.value, tr("Strip")),
        (Method.KIT.value, tr("Kit")),
        (Method.METER.value, tr("Meter")),
    )
    readings = [placed.event for fill in tank.fills for placed in fill.readings]
    measured = (one for one in reversed(readings) if getattr(one, value) is not None)
    last = next(measured, None)
    usual = _USUAL[key] if last is None else getattr(last, key)
    label = {
        "fac_method": tr("Chlorine by"),
        "paa_method": tr("Acid by"),
        "ph_method": tr("pH by"),
    }[key]
    return choice_field(ask, key, label, methods, usual, aside=True)


def _look(ask: Ask, *, aside: bool) -> FieldSpec:
    looks = (
        (Look.READABLE.value, tr("Readable")),
        (Look.FAINT.value, tr("Faint")),
        (Look.GONE.value, tr("Gone")),
    )
    return choice_field(ask, "look", tr("Card seen through the water"), looks, aside=aside)


def _build(texts: Texts) -> ReadingTaken:
    look = texts.text("look")

    def number(key: str) -> float | None:
        return texts.number(key, _KINDS[key])

    return ReadingTaken(
        at=texts.at(),
        by=texts.ask.person.initials,
        tank=texts.tank,
        fac_mg_l=number("fac_mg_l"),
        total_mg_l=number("total_mg_l"),
        ph=number("ph"),
        turbidity_ntu=number("turbidity_ntu"),
        water_c=number("water_c"),
        pulp_c=number("pulp_c"),
        orp_mv=number("orp_mv"),
        paa_mg_l=number("paa_mg_l"),
        peroxide_mg_l=number("peroxide_mg_l"),
        paa_method=texts.one_of("paa_method", Method, Method.STRIP),
        fac_method=texts.one_of("fac_method", Method, Method.STRIP),
        ph_method=texts.one_of("ph_method", Method, Method.METER),
        look=Look(look) if look else None,
        second=texts.second,
    )
