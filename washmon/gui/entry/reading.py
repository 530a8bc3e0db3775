"""The reading: what was measured in a tank, only what this tank uses."""

from washmon.gui.entry.ask import Ask
from washmon.gui.entry.form import Fields, TankForm, choice_field, number_field
from washmon.gui.entry.texts import Texts
from washmon.gui.i18n import tr
from washmon.line.events import Method, ReadingTaken
from washmon.line.setup import LabelBasis, Look
from washmon.line.state import TankState
from washmon.units import Kind

_KINDS = {
    "fac_mg_l": Kind.CONCENTRATION,
    "ph": Kind.PH,
    "turbidity_ntu": Kind.TURBIDITY,
    "water_c": Kind.TEMPERATURE,
    "pulp_c": Kind.TEMPERATURE,
    "total_mg_l": Kind.CONCENTRATION,
    "orp_mv": Kind.POTENTIAL,
}


def form() -> TankForm:
    """Return the form of a reading."""
    return TankForm(tr("Reading"), _fields, _build, _more)


def _used(ask: Ask, tank: TankState) -> list[str]:
    """Return which numbers this tank is asked for, in the order in which Enter visits them."""
    spec = tank.spec
    wanted = {
        "fac_mg_l": True,
        "ph": True,
        "turbidity_ntu": spec.turbidity_max_ntu is not None,
        "water_c": spec.temperature_rule is not None,
        "pulp_c": spec.temperature_rule is not None,
        "total_mg_l": spec.chlorine.label_basis is LabelBasis.TOTAL,
    }
    return [key for key in _KINDS if wanted.get(key) or ask.was(key) is not None]


def _number(ask: Ask, tank: TankState, key: str) -> Fields:
    placed = tank.fill.latest(key) if tank.fill else None
    last = getattr(placed.event, key) if placed else None
    field = number_field(ask, key, _label(key), _KINDS[key], last)
    match key:
        case "fac_mg_l":
            return field, _method(ask, tank, "fac_method", key, Method.STRIP)
        case "ph":
            return field, _method(ask, tank, "ph_method", key, Method.METER)
    return (field,)


def _method(ask: Ask, tank: TankState, key: str, value: str, usual: Method) -> Fields[0]:
    methods = (
        (Method.STRIP.value, tr("Strip")),
        (Method.KIT.value, tr("Kit")),
        (Method.METER.value, tr("Meter")),
    )
    readings = [placed.event for fill in tank.fills for placed in fill.readings]
    last = next((getattr(one, key) for one in reversed(readings) if getattr(one, value)), usual)
    return choice_field(ask, key, tr("by"), methods, last, aside=True)
