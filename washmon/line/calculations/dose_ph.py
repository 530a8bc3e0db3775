"""What a dose of hypochlorite does to the pH, with the caustic that comes with it."""

from washmon.chemistry.hypochlorite import (
    MOST_CAUSTIC_PCT,
    StrengthBasis,
    caustic_per_mol,
    typical_density_kg_l,
)
from washmon.chemistry.titration import tank_water
from washmon.chemistry.water import (
    CAUSTIC_HIGH,
    CAUSTIC_LOW,
    CAUSTIC_PER_MOL,
    at_ph,
    ph_of,
    with_chlorine_used,
    with_hypochlorite,
)
from washmon.line.calculations.asking import Answers, Field, beside, between
from washmon.line.calculations.fields import IF_KNOWN
from washmon.line.calculations.product import LIQUID, product_of
from washmon.line.calculations.result import ResultLine, Value
from washmon.line.message import Figure, Message
from washmon.units import Kind

PH_TOO_HIGH = 7.5
_WORTH_TELLING_PH = 0.15
CAUSTIC = Field(
    "caustic",
    "Sodium hydroxide in the product",
    Kind.PERCENT,
    group=IF_KNOWN,
    hint="By weight, on the data sheet: often 0.2 to 1.",
    optional=True,
    check=between("sodium hydroxide in the product", 0.0, MOST_CAUSTIC_PCT, "%"),
    only=(LIQUID,),
)
PH_SOURCES = (
    "Carbonate balance: Stumm & Morgan, Aquatic Chemistry; Plummer & Busenberg (1982)",
    "Hypochlorous acid: Morris (1966)",
    "Excess caustic, where it is not told, 0 to 0.2 mol/mol: value from memory",
)


def ph_after(
    answers: Answers, rise: float
) -> tuple[tuple[ResultLine, ...], dict[str, Value], tuple[Message, ...]]:
    """Return what the dose does to the pH, where pH and alkalinity are known."""
    ph, alkalinity = answers.maybe("ph"), answers.maybe("alkalinity")
    if ph is None or alkalinity is None:
        return (), {}, ()
    with beside("ph"):
        water = tank_water(
            alkalinity,
            answers.amount("source-ph"),
            answers.amount("temperature"),
            answers.amount("from"),
        )
        water = at_ph(water, ph)
        told = _caustic(answers)
        dosed = [with_hypochlorite(water, rise, caustic) for caustic in told]
        low, after, high = (ph_of(each) for each in dosed)
        later = ph_of(with_chlorine_used(dosed[1], rise))
    lines = (
        ResultLine("pH after it", _ph_words(low, after, high), notable=high > PH_TOO_HIGH),
        ResultLine("pH once it is used up", Message("{ph}", {"ph": _ph(later)})),
    )
    notes: tuple[Message, ...] = ()
    if after > PH_TOO_HIGH >= ph:
        notes = (
            Message(
                "The dose lifts the pH over {high}: read it when the dose is mixed in, and only "
                "then think of acid.",
                {"high": Figure(PH_TOO_HIGH, Kind.PH)},
            ),
        )
    data: dict[str, Value] = {
        "ph_after": after,
        "ph_after_low": low,
        "ph_after_high": high,
        "ph_when_used_up": later,
    }
    return lines, data, notes


def _caustic(answers: Answers) -> tuple[float, float, float]:
    """Return the excess caustic, mol/mol: least, best and most."""
    naoh_pct, product = answers.maybe("caustic"), product_of(answers)
    if naoh_pct is None or product.solid:
        return CAUSTIC_LOW, CAUSTIC_PER_MOL, CAUSTIC_HIGH
    with beside("caustic"):
        density = product.density_kg_l
        if density is None:
            by_volume = StrengthBasis.G_PER_L_AVAILABLE_CHLORINE
            density = typical_density_kg_l(product.strength, by_volume)
        known = caustic_per_mol(naoh_pct, density, product.strength)
    return known, known, known


def _ph_words(low: float, best: float, high: float) -> Message:
    if high - low < _WORTH_TELLING_PH:
        return Message("{ph}", {"ph": _ph(best)})
    return Message(
        "{ph} ({low} to {high}, by its caustic)",
        {"ph": _ph(best), "low": _ph(low), "high": _ph(high)},
    )


def _ph(value: float) -> Figure:
    return Figure(round(value, 1), Kind.PH)
