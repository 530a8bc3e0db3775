"""Raise free chlorine: how much hypochlorite, and what it does to the pH.

What a dose of hypochlorite does to the pH, with the caustic that comes with it.
"""

import math
from dataclasses import replace
from typing import NamedTuple

from washmon.chemistry.hypochlorite import (
    HIGHEST_LEVEL_MG_L,
    MOST_CAUSTIC_PCT,
    StrengthBasis,
    caustic_per_mol,
    dose_g,
    dose_ml,
    rise_from_solid_mg_l,
    rise_mg_l,
    typical_density_kg_l,
)
from washmon.chemistry.measuring import NEAR
from washmon.chemistry.titration import tank_water
from washmon.chemistry.uncertainty import (
    LABEL_ERROR,
    VOLUME_ERROR,
    ErrorRange,
    largest_rise,
    reached,
)
from washmon.chemistry.water import (
    CAUSTIC_HIGH,
    CAUSTIC_LOW,
    CAUSTIC_PER_MOL,
    at_ph,
    ph_of,
    with_chlorine_used,
    with_hypochlorite,
)
from washmon.line.calculations.amounts import Pour, pour
from washmon.line.calculations.asking import Answers, Field, beside, between
from washmon.line.calculations.fields import (
    ALKALINITY,
    IF_KNOWN,
    LEVEL,
    METHOD,
    PH,
    SOURCE_PH,
    TARGET,
    TEMPERATURE,
    THE_PRODUCT,
    VOLUME,
    known_level,
)
from washmon.line.calculations.product import LIQUID, PRODUCT, Product, known_product, product_of
from washmon.line.calculations.result import (
    CHLORINE_WATER,
    Calculation,
    Known,
    Result,
    ResultLine,
    Value,
)
from washmon.line.events import Method
from washmon.line.flags import Caution
from washmon.line.message import Figure, Message, ppm
from washmon.line.reading import level_range
from washmon.line.setup import LineSetup, Tank
from washmon.line.validate import USUAL_LABEL_MG_L
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


LABEL_MOST = Field(
    "most",
    "Most that the label allows",
    Kind.CONCENTRATION,
    group=THE_PRODUCT,
    hint="The amount keeps it at its upper end.",
    optional=True,
    check=between("maximum of the label", 0.0, HIGHEST_LEVEL_MG_L, "ppm"),
)
SOURCES = (
    "Strength and mass balance: White, Handbook of Chlorination (1972)",
    "Levels as mg/L Cl2: Standard Methods 4500-Cl",
    "Errors of 5 % in the volume and 10 % in the label: common practice, no published source",
)


class _Dose(NamedTuple):
    """What goes into the tank, and how sure that is."""

    level: float
    target: float
    product: Product
    to_add: Pour
    reading: tuple[float, float]
    reach: ErrorRange
    """What it brings the level to, mg/L."""
    maximum: float | None
    """What the label allows, mg/L; ``None`` was not told."""

    @property
    def rise(self) -> float:
        """What is lacking, mg/L."""
        return self.target - self.level


def compute(answers: Answers) -> Result:
    """Return the dose from a level to a target, in the measures owned, with its range."""
    dose = _dose(answers)
    to_add, reach = dose.to_add, dose.reach
    ph_lines, ph_data, ph_notes = ph_after(answers, reach.best - dose.level)
    return Result(
        headline=Message(
            "Add {amount}",
            {"amount": to_add.words},
        ),
        then=Message("Stir, wait until it is mixed, read again before adding more."),
        lines=(
            ResultLine("Worked out", Message("{amount}", {"amount": to_add.figure})),
            ResultLine(
                "Brings it to",
                Message(
                    "{level} ({low} to {high})",
                    {"level": ppm(reach.best), "low": ppm(reach.low), "high": ppm(reach.high)},
                ),
                notable=dose.maximum is not None and reach.high > dose.maximum,
            ),
            *ph_lines,
        ),
        notes=(*to_add.notes, *_beware(dose), *ph_notes),
        cautions=(Caution.HYPOCHLORITE, Caution.LABEL),
        how=_how(dose, answers),
        sources=SOURCES + (PH_SOURCES if ph_lines else ()),
        data={**_data(dose), **ph_data},
    )


def _dose(answers: Answers) -> _Dose:
    level, target, maximum = answers.amount("from"), answers.amount("to"), answers.maybe("most")
    product, method = product_of(answers), Method(answers.choice("method"))
    low, high = level_range(level, method) if level > 0 else (0.0, 0.0)
    was = ErrorRange(min(low, level), level, max(high, level))
    with beside("to"):
        amount = _amount(answers, product, target)
        most = None
        if maximum is not None:
            error = math.hypot(VOLUME_ERROR, LABEL_ERROR)
            most = _amount(answers, product, level + largest_rise(was, maximum, error))
        to_add = pour(amount, answers.circumstances, solid=product.solid, at_most=most)
    return _Dose(
        level, target, product, to_add, (low, high), _reach(answers, was, product, to_add), maximum
    )


def _amount(answers: Answers, product: Product, target: float) -> float:
    formula = dose_g if product.solid else dose_ml
    volume_l, level = answers.amount("volume"), answers.amount("from")
    return float(formula(volume_l, level, target, product.strength))


def _reach(answers: Answers, was: ErrorRange, product: Product, to_add: Pour) -> ErrorRange:
    """Return what the measured amount brings about."""
    volume_l = answers.amount("volume")
    if product.solid:
        rise = float(rise_from_solid_mg_l(volume_l, to_add.actual, product.strength))
    else:
        rise = float(rise_mg_l(volume_l, was.best, to_add.actual, product.strength))
    error = math.hypot(VOLUME_ERROR, LABEL_ERROR)
    return reached(was, rise, error, error)


def _beware(dose: _Dose) -> tuple[Message, ...]:
    over_label = (_OVER_LABEL,) if dose.target > USUAL_LABEL_MG_L else ()
    short = (_SHORT,) if dose.reach.best < (1 - NEAR) * dose.target else ()
    return (*over_label, *short, *((_DISSOLVE,) if dose.product.solid else ()))


def _how(dose: _Dose, answers: Answers) -> tuple[Message, ...]:
    low, high = dose.reading
    return (
        dose.product.how(answers.circumstances.decimal_point),
        Message(
            "{volume} from {level} to {target} lacks {rise}; amount = volume × rise ÷ "
            "strength, with the volume added counted. Clean water: dirt takes some of it "
            "before it shows.",
            {
                "volume": Figure(answers.amount("volume"), Kind.VOLUME),
                "level": ppm(dose.level),
                "target": ppm(dose.target),
                "rise": ppm(dose.rise),
            },
        ),
        Message(
            "The range holds the reading ({low} to {high}), {volume} % of the volume and "
            "{label} % of the label.",
            {
                "low": ppm(low),
                "high": ppm(high),
                "volume": round(100 * VOLUME_ERROR),
                "label": round(100 * LABEL_ERROR),
            },
        ),
    )


def _data(dose: _Dose) -> dict[str, Value]:
    product = dose.product
    return {
        **dose.to_add.data,
        "level_after_mg_l": dose.reach.best,
        "level_after_low_mg_l": dose.reach.low,
        "level_after_high_mg_l": dose.reach.high,
        "available_chlorine": product.strength,
        "available_chlorine_unit": product.unit,
        "density_kg_l": product.density_kg_l,
        "density_guessed": product.guessed,
        "rise_mg_l": dose.rise,
    }


_OVER_LABEL = Message(
    "The target is over {usual}, where many labels of wash water end: dose no more than the "
    "label of the product allows.",
    {"usual": Figure(USUAL_LABEL_MG_L, Kind.CONCENTRATION)},
)
_SHORT = Message(
    "This stops short of the target: by all that is not sure, more could pass the label's most."
)
_DISSOLVE = Message(
    "Dissolve it in a clean bucket of water first: undissolved grains burn fruit (Ritenour and "
    "others, UF/IFAS CH160)."
)


def known(setup: LineSetup, tank: Tank) -> Known:
    """Return what the set-up says of the tank and its product."""
    product = setup.sanitizer(tank.sanitizer)
    return (
        known_level(setup, tank)
        | known_product(setup, tank)
        | {
            "most": tank.chlorine.label_max_mg_l,
            "caustic": None if product is None else product.caustic_pct,
        }
    )


DOSE = Calculation(
    "dose",
    "Raise chlorine",
    "How much hypochlorite brings a tank from a level to its target.",
    (
        VOLUME,
        LEVEL,
        METHOD,
        TARGET,
        *PRODUCT,
        LABEL_MOST,
        PH.left_open(IF_KNOWN),
        ALKALINITY,
        SOURCE_PH,
        CAUSTIC,
        replace(TEMPERATURE, group=IF_KNOWN),
    ),
    compute,
    known,
    of=CHLORINE_WATER,
)
