"""Acid to bring the pH down: half first where alkalinity is known, a small step where it is not."""

from dataclasses import dataclass, replace

from washmon.chemistry.acid import ACIDS, HIGHEST_PH, AcidKind, acid_mol_per_unit, small_step
from washmon.chemistry.checks import ChemistryError
from washmon.chemistry.titration import (
    LOWEST_TARGET_PH,
    UNKNOWN_ALKALINITY,
    AcidPlan,
    Alkalinity,
    acid_plan,
    carbon_dioxide_needed_mol_l,
    tank_water,
)
from washmon.chemistry.water import Water, at_ph, ph_of, with_acid, with_carbon_dioxide
from washmon.line.calculations.amounts import Pour, pour
from washmon.line.calculations.asking import Answers, Field, FieldFault, beside, between
from washmon.line.calculations.fields import (
    ALKALINITY,
    CARBON_DIOXIDE,
    KIND,
    LEVEL,
    PH,
    SOLID_ACIDS,
    SOURCE_PH,
    TEMPERATURE,
    THE_TANK,
    VOLUME,
    density_field,
    known_acid,
    strength_field,
    strength_used,
)
from washmon.line.calculations.result import CHLORINE_WATER, Calculation, Known, Result, ResultLine
from washmon.line.flags import Caution
from washmon.line.message import Figure, Message
from washmon.line.setup import LineSetup, Tank
from washmon.units import Kind, PlainError

CO2_G_PER_MOL = 44.01
ALKALINITY_ERROR = 0.20
"""Of a test kit or a water report: common practice, no published source."""

THE_WATER = "The fresh water, if its alkalinity is known"
TO = Field(
    "to",
    "Target pH",
    Kind.PH,
    group=THE_TANK,
    usual=7.0,
    check=between("target pH", LOWEST_TARGET_PH, 9.0),
)
HIGH = Field(
    "high", "Highest pH that will do", Kind.PH, group=THE_TANK, usual=7.5, check=between("pH", 6, 9)
)
CHLORINE = replace(
    LEVEL,
    key="chlorine",
    label="Free chlorine",
    hint="Left empty: none, so less acid.",
    usual=0.0,
)
KNOWN_ALKALINITY = replace(ALKALINITY, group=THE_WATER)
LEAST = replace(KNOWN_ALKALINITY, key="alkalinity-low", label="Alkalinity, at least", hint="")
MOST = replace(KNOWN_ALKALINITY, key="alkalinity-high", label="Alkalinity, at most", hint="")
SOURCES = (
    "Carbonate balance: Stumm & Morgan, Aquatic Chemistry; Plummer & Busenberg (1982)",
    "Hypochlorous acid: Morris (1966); acids: phreeqc.dat and usual tables",
    "Half first: common practice, no published source",
)
STEP_SOURCES = (
    "Half a teaspoon of 5 % vinegar to 5 US gallons, scaled: common practice, no published source",
    "Alkalinity of 20 to 400: Thomas, Know Your Water Source (Univ. of Georgia), and practice",
)


@dataclass(frozen=True, slots=True)
class _Waters:
    """The same tank with the best, the least and the most plausible alkalinity."""

    best: Water[float]
    softest: Water[float]
    hardest: Water[float]


def compute(answers: Answers) -> Result:
    """Return the acid to add first, and the whole where the alkalinity is known.

    Raises:
        FieldFault: no acid is due, or none can be worked out.
    """
    ph, high = answers.amount("ph"), answers.amount("high")
    if ph <= high:
        raise FieldFault(
            "ph",
            PlainError("pH {ph} is not over {high}: add no acid.", ph=f"{ph:g}", high=f"{high:g}"),
        )
    if ph > HIGHEST_PH:
        raise FieldFault(
            "ph",
            ChemistryError("A pH of {ph} is not wash water: read it again.", ph=f"{ph:.1f}"),
        )
    if answers.amount("to") >= ph:
        raise FieldFault("to", ChemistryError("The pH is not above its target: add no acid."))
    kind = answers.choice("kind")
    alkalinity = _alkalinity(answers)
    if kind == CARBON_DIOXIDE:
        return _carbon_dioxide(answers, alkalinity)
    if alkalinity is None:
        return _careful_step(answers, AcidKind(kind))
    return _half_first(answers, AcidKind(kind), alkalinity)


def _alkalinity(answers: Answers) -> Alkalinity | None:
    best = answers.maybe("alkalinity")
    if best is None:
        return None
    low, high = answers.maybe("alkalinity-low"), answers.maybe("alkalinity-high")
    low = best * (1 - ALKALINITY_ERROR) if low is None else low
    high = best * (1 + ALKALINITY_ERROR) if high is None else high
    if not low <= best <= high:
        field = "alkalinity-low" if low > best else "alkalinity-high"
        raise FieldFault(field, PlainError("The alkalinity must lie between its least and most."))
    return Alkalinity(best, low, high)


def _waters(answers: Answers, alkalinity: Alkalinity) -> _Waters:
    def water(mg_l: float) -> Water[float]:
        rest = (answers.amount(key) for key in ("source-ph", "temperature", "chlorine"))
        return at_ph(tank_water(mg_l, *rest), answers.amount("ph"))

    levels = (alkalinity.best_mg_l, alkalinity.low_mg_l, alkalinity.high_mg_l)
    with beside("alkalinity"):
        return _Waters(*(water(level) for level in levels))


_SAFE_STEP = Message(
    "A small step that can't take even water of {soft} mg/L alkalinity under pH 6.",
    {"soft": round(UNKNOWN_ALKALINITY.low_mg_l)},
)
_NOTE_THE_STEP = Message(
    "The alkalinity is not known. Note the pH before and after this step and enter "
    "both under Alkalinity from a response: the next amount will be better."
)


def _careful_step(answers: Answers, kind: AcidKind) -> Result:
    volume_l = answers.amount("volume")
    strength, density = answers.maybe("strength"), answers.maybe("density")
    with beside("ph"):
        step = small_step(volume_l, answers.amount("ph"), kind, strength, density)
    to_add = pour(step, answers.circumstances, solid=kind.value in SOLID_ACIDS, at_most=step)
    waters = _waters(answers, UNKNOWN_ALKALINITY)
    added = step * acid_mol_per_unit(kind, strength, density) / volume_l
    soft, hard = (ph_of(with_acid(each, kind, added)) for each in (waters.softest, waters.hardest))
    return Result(
        headline=Message("Add {amount}, no more", {"amount": to_add.words}),
        then=Message("Stir, wait, read the pH again. This is one careful step, not all of it."),
        lines=(
            ResultLine("Worked out", Message("{amount}", {"amount": to_add.figure})),
            ResultLine(
                "pH after it, soft to hard water",
                Message("{soft} to {hard}", {"soft": _ph(soft), "hard": _ph(hard)}),
            ),
        ),
        notes=(
            *to_add.notes,
            *_citric(kind),
            _NOTE_THE_STEP,
        ),
        cautions=(Caution.ACID, Caution.LABEL),
        how=(
            _acid_used(answers, kind),
            _SAFE_STEP,
        ),
        sources=STEP_SOURCES,
        data={
            **to_add.data,
            "alkalinity_known": False,
            "ph_after_low": soft,
            "ph_after_high": hard,
        },
    )


def _after_first(ph: float, lowest: float) -> ResultLine:
    words = Message("about {ph}, not under {low}", {"ph": _ph(ph), "low": _ph(lowest)})
    return ResultLine("pH after the first part", words)


def _half_first(answers: Answers, kind: AcidKind, alkalinity: Alkalinity) -> Result:
    waters = _waters(answers, alkalinity)
    product = (kind, answers.maybe("strength"), answers.maybe("density"))
    with beside("to"):
        plan = acid_plan(
            waters.best,
            waters.softest,
            waters.hardest,
            target_ph=answers.amount("to"),
            volume_l=answers.amount("volume"),
            product=product,
        )
    solid = kind.value in SOLID_ACIDS
    first = pour(plan.first, answers.circumstances, solid=solid, at_most=plan.first)
    whole = pour(plan.whole, answers.circumstances, solid=solid, at_most=plan.whole)
    low, high = whole.exactly(plan.whole_low), whole.exactly(plan.whole_high)
    about = Message("{whole} ({low} to {high})", {"whole": whole.words, "low": low, "high": high})
    return Result(
        headline=Message("First add {amount}", {"amount": first.words}),
        then=Message("Stir, wait, read the pH again, then work it out anew for the rest."),
        lines=(
            ResultLine("Worked out", Message("{amount}", {"amount": first.figure})),
            ResultLine("All of it, about", about),
            _after_first(plan.ph_after_first, plan.lowest_ph_after_first),
        ),
        notes=(*first.notes, *_citric(kind)),
        cautions=(Caution.ACID, Caution.LABEL),
        how=(_acid_used(answers, kind), _water_used(alkalinity), _balance(answers)),
        sources=SOURCES,
        data=_plan_data(plan, first, alkalinity),
    )


def _plan_data(
    plan: AcidPlan, first: Pour, alkalinity: Alkalinity
) -> dict[str, float | str | bool | None]:
    return {
        **first.data,
        "alkalinity_known": True,
        "alkalinity_mg_l": alkalinity.best_mg_l,
        "alkalinity_low_mg_l": alkalinity.low_mg_l,
        "alkalinity_high_mg_l": alkalinity.high_mg_l,
        "whole": plan.whole,
        "whole_low": plan.whole_low,
        "whole_high": plan.whole_high,
        "ph_after_first": plan.ph_after_first,
        "lowest_ph_after_first": plan.lowest_ph_after_first,
    }


def _carbon_dioxide(answers: Answers, alkalinity: Alkalinity | None) -> Result:
    if alkalinity is None:
        raise FieldFault(
            "alkalinity", PlainError("Gas can't be let in by a small step: enter the alkalinity.")
        )
    waters, volume_l = _waters(answers, alkalinity), answers.amount("volume")
    with beside("to"):
        whole, low, high = (
            carbon_dioxide_needed_mol_l(each, answers.amount("to")) * volume_l * CO2_G_PER_MOL
            for each in (waters.best, waters.softest, waters.hardest)
        )
    first = whole / 2
    half_way = [
        ph_of(with_carbon_dioxide(each, first / volume_l / CO2_G_PER_MOL))
        for each in (waters.best, waters.softest)
    ]
    grams = {name: Figure(value, Kind.MASS) for name, value in _named(first, whole, low, high)}
    return Result(
        headline=Message("First let in {first} of gas", {"first": grams["first"]}),
        then=Message("By the scale under the cylinder. Wait, read the pH again, then the rest."),
        lines=(
            ResultLine("All of it, about", Message("{whole} ({low} to {high})", {**grams})),
            _after_first(*half_way),
        ),
        notes=(Message("Bubbles that reach the air did nothing: expect to need more."),),
        cautions=(Caution.CARBON_DIOXIDE, Caution.LABEL),
        how=(_water_used(alkalinity), _balance(answers)),
        sources=SOURCES,
        data={
            "amount": first,
            "unit": "g",
            "alkalinity_known": True,
            "whole": whole,
            "whole_low": min(low, whole),
            "whole_high": max(high, whole),
            "ph_after_first": half_way[0],
            "lowest_ph_after_first": half_way[1],
        },
    )


def _named(first: float, whole: float, low: float, high: float) -> tuple[tuple[str, float], ...]:
    return (
        ("first", first),
        ("whole", whole),
        ("low", min(low, whole)),
        ("high", max(high, whole)),
    )


def _citric(kind: AcidKind) -> tuple[Message, ...]:
    if not ACIDS[kind].uses_up_chlorine:
        return ()
    return (
        Message(
            "Citric acid uses up free chlorine and makes trichloromethane with it (Fan & Gurtler "
            "2024): take another acid where you can, and read chlorine again after it."
        ),
    )


def _acid_used(answers: Answers, kind: AcidKind) -> Message:
    strength = strength_used(answers, kind, "strength")
    return Message("The acid is of {strength}.", {"strength": Figure(strength, Kind.PERCENT)})


def _water_used(alkalinity: Alkalinity) -> Message:
    return Message(
        "Alkalinity of the fresh water {best} ({low} to {high}) mg/L as CaCO₃.",
        {
            "best": round(alkalinity.best_mg_l),
            "low": round(alkalinity.low_mg_l),
            "high": round(alkalinity.high_mg_l),
        },
    )


def _balance(answers: Answers) -> Message:
    return Message(
        "Acid = the alkalinity at pH {ph} less that at pH {to}, of carbonate, hypochlorite "
        "({chlorine}) and water at {celsius}. Carbon dioxide that escapes later lifts it again.",
        {
            "ph": _ph(answers.amount("ph")),
            "to": _ph(answers.amount("to")),
            "chlorine": Figure(answers.amount("chlorine"), Kind.CONCENTRATION),
            "celsius": Figure(answers.amount("temperature"), Kind.TEMPERATURE),
        },
    )


def _ph(value: float) -> Figure:
    return Figure(round(value, 1), Kind.PH)


def known(setup: LineSetup, tank: Tank) -> Known:
    """Return what the set-up says of the tank, its pH limits, its acid and its source water."""
    return {
        "volume": tank.volume_l,
        "to": tank.ph.target,
        "high": tank.ph.high,
        "alkalinity": setup.source.alkalinity_mg_l,
        "source-ph": setup.source.ph,
        **known_acid(setup, tank),
    }


ACID = Calculation(
    "acid",
    "Acid to bring the pH down",
    "How much acid to add first: half of it, or a careful small step.",
    (
        VOLUME,
        PH,
        TO,
        HIGH,
        CHLORINE,
        TEMPERATURE,
        KIND,
        strength_field("strength", "kind"),
        density_field("density", "kind"),
        KNOWN_ALKALINITY,
        replace(SOURCE_PH, group=THE_WATER),
        LEAST,
        MOST,
    ),
    compute,
    known,
    of=CHLORINE_WATER,
)
