"""Raise free chlorine: how much hypochlorite, and what it does to the pH."""

from dataclasses import replace
from typing import NamedTuple

from washmon.chemistry.hypochlorite import dose_g, dose_ml
from washmon.chemistry.titration import tank_water
from washmon.chemistry.uncertainty import LABEL_ERROR, VOLUME_ERROR, Range, dose_range
from washmon.chemistry.water import at_ph, ph_of, with_chlorine_used, with_hypochlorite
from washmon.line.calculations.amounts import Pour, pour
from washmon.line.calculations.asking import Answers, beside
from washmon.line.calculations.fields import (
    ALKALINITY,
    IF_KNOWN,
    LEVEL,
    METHOD,
    PH,
    SOURCE_PH,
    TARGET,
    TEMPERATURE,
    VOLUME,
    known_level,
)
from washmon.line.calculations.product import PRODUCT, Product, known_product, product_of
from washmon.line.calculations.result import Calculation, Known, Line, Result, Value
from washmon.line.events import Method
from washmon.line.flags import Caution
from washmon.line.message import Figure, Message, ppm
from washmon.line.reading import level_range
from washmon.line.setup import LineSetup, Tank
from washmon.line.validate import USUAL_LABEL_MG_L
from washmon.units import Kind

PH_TOO_HIGH = 7.5
SOURCES = (
    "Strength and mass balance: White, Handbook of Chlorination (1972)",
    "Levels as mg/L Cl2: Standard Methods 4500-Cl",
    "Errors of 5 % in the volume and 10 % in the label: common practice, no published source",
)
PH_SOURCES = (
    "Carbonate balance: Stumm & Morgan, Aquatic Chemistry; Plummer & Busenberg (1982)",
    "Hypochlorous acid: Morris (1966); excess caustic 0.08 mol/mol, value from memory",
)


class _Dose(NamedTuple):
    """What goes into the tank, and how sure that is."""

    level: float
    target: float
    product: Product
    to_add: Pour
    reading: tuple[float, float]
    reach: Range

    @property
    def rise(self) -> float:
        """What is lacking, mg/L."""
        return self.target - self.level


def compute(answers: Answers) -> Result:
    """Return the dose from a level to a target, in the measures owned, with its range."""
    dose = _dose(answers)
    to_add, reach = dose.to_add, dose.reach
    ph_lines, ph_data, ph_notes = _ph_after(answers, dose.rise)
    return Result(
        headline=Message(
            "Add about {amount} ({range})",
            {"amount": to_add.words, "range": to_add.span(reach.low, reach.high)},
        ),
        then=Message("Stir, wait until it is mixed, read again before adding more."),
        lines=(
            Line("Worked out", Message("{amount}", {"amount": to_add.figure})),
            Line("Raises it by", Message("{rise}", {"rise": ppm(dose.rise)})),
            *ph_lines,
        ),
        notes=(*to_add.notes, *_beware(dose), *ph_notes),
        cautions=(Caution.HYPOCHLORITE, Caution.LABEL),
        how=_how(dose, answers),
        sources=SOURCES + (PH_SOURCES if ph_lines else ()),
        data={**_data(dose), **ph_data},
    )


def _dose(answers: Answers) -> _Dose:
    volume_l, level, target = (answers.amount(key) for key in ("volume", "from", "to"))
    product = product_of(answers)
    formula = dose_g if product.solid else dose_ml
    with beside("to"):
        amount = float(formula(volume_l, level, target, product.strength))
        method = Method(answers.choice("method"))
        low, high = level_range(level, method) if level > 0 else (0.0, 0.0)
        reach = dose_range(
            volume_l, Range(low, level, high), target, product.strength, solid=product.solid
        )
        to_add = pour(amount, answers.circumstances, solid=product.solid)
    return _Dose(level, target, product, to_add, (low, high), reach)


def _beware(dose: _Dose) -> tuple[Message, ...]:
    over_label = (_OVER_LABEL,) if dose.target > USUAL_LABEL_MG_L else ()
    return (*over_label, *((_DISSOLVE,) if dose.product.solid else ()))


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
        "amount_low": round(dose.reach.low, 3),
        "amount_high": round(dose.reach.high, 3),
        "available_chlorine": round(product.strength, 2),
        "available_chlorine_unit": product.unit,
        "density_kg_l": product.density_kg_l,
        "density_guessed": product.guessed,
        "rise_mg_l": round(dose.rise, 2),
    }


_OVER_LABEL = Message(
    "The target is over {usual}, where many labels of wash water end: dose no more than the "
    "label of the product allows.",
    {"usual": Figure(USUAL_LABEL_MG_L, Kind.CONCENTRATION)},
)
_DISSOLVE = Message(
    "Dissolve it in a clean bucket of water first: undissolved grains burn fruit (Ritenour and "
    "others, UF/IFAS CH160)."
)


def _ph_after(
    answers: Answers, rise: float
) -> tuple[tuple[Line, ...], dict[str, Value], tuple[Message, ...]]:
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
        dosed = with_hypochlorite(at_ph(water, ph), rise)
        after = ph_of(dosed)
        later = ph_of(with_chlorine_used(dosed, rise))
    lines = (
        Line(
            "pH after it",
            Message("{ph}", {"ph": Figure(round(after, 1), Kind.PH)}),
            notable=after > PH_TOO_HIGH,
        ),
        Line("pH once it is used up", Message("{ph}", {"ph": Figure(round(later, 1), Kind.PH)})),
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
    return lines, {"ph_after": round(after, 2), "ph_when_used_up": round(later, 2)}, notes


def known(setup: LineSetup, tank: Tank) -> Known:
    """Return what the set-up says of the tank and its product."""
    return known_level(setup, tank) | known_product(setup, tank)


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
        PH.left_open(IF_KNOWN),
        ALKALINITY,
        SOURCE_PH,
        replace(TEMPERATURE, group=IF_KNOWN),
    ),
    compute,
    known,
)
