"""Peracetic acid: the dose, and the limits that it and what comes with it must keep."""

import math
from dataclasses import replace

from washmon.chemistry.measuring import NEAR
from washmon.chemistry.peracetic import (
    HIGHEST_PAA_MG_L,
    LIMIT_HEDP_MG_L,
    LIMIT_PAA_MG_L,
    LIMIT_PEROXIDE_MG_L,
    PeraceticContents,
    PeraceticProduct,
    contents_at,
    highest_paa_mg_l,
    peracetic_dose_ml,
    with_peracetic,
)
from washmon.chemistry.titration import tank_water
from washmon.chemistry.uncertainty import (
    LABEL_ERROR,
    VOLUME_ERROR,
    ErrorRange,
    largest_rise,
    reached,
)
from washmon.chemistry.water import at_ph, ph_of
from washmon.line.calculations.amounts import pour
from washmon.line.calculations.asking import Answers, Field, beside, between
from washmon.line.calculations.fields import (
    ALKALINITY,
    IF_KNOWN,
    PH,
    SOURCE_PH,
    TEMPERATURE,
    THE_PRODUCT,
    THE_TANK,
    VOLUME,
)
from washmon.line.calculations.result import Calculation, Known, Result, ResultLine, Value
from washmon.line.flags import Caution
from washmon.line.message import Figure, Message, ppm
from washmon.line.setup import LineSetup, SanitizerKind, Tank
from washmon.units import Kind

USUAL_DENSITY_KG_L = 1.12
LIMITS = {"paa": LIMIT_PAA_MG_L, "peroxide": LIMIT_PEROXIDE_MG_L, "hedp": LIMIT_HEDP_MG_L}
NAMES = {
    "paa": "Peracetic acid",
    "peroxide": "Hydrogen peroxide",
    "hedp": "HEDP, a stabiliser",
}
OVER = {
    "paa": "This would be over the federal limit for peracetic acid.",
    "peroxide": "This would be over the federal limit for hydrogen peroxide.",
    "hedp": "This would be over the federal limit for HEDP, the stabiliser.",
}


def _level(key: str, label: str, hint: str = "", *, optional: bool = False) -> Field:
    return Field(
        key,
        label,
        Kind.CONCENTRATION,
        group=THE_TANK,
        hint=hint,
        optional=optional,
        check=between("peracetic acid", 0.0, HIGHEST_PAA_MG_L, "ppm"),
    )


_ERROR = math.hypot(VOLUME_ERROR, LABEL_ERROR)
_STOPS_SHORT = Message(
    "This stops short of the target: by all that is not sure, more could pass the federal limit."
)
PAA_NOW = _level("from", "PAA now", "As read; fresh water 0.")


def compute(answers: Answers) -> Result:
    """Return the dose and what the water then holds, against 21 CFR 173.315."""
    volume_l, level, target = (answers.amount(key) for key in ("volume", "from", "to"))
    product = _product(answers)
    with beside("to"):
        amount = float(peracetic_dose_ml(volume_l, level, target, product))
        to_add = pour(amount, answers.circumstances, at_most=_most_ml(answers, product))
        reach = _reach(answers, product, to_add.actual)
        contents = _contents(answers, product, reach.best)
    over = contents.over
    highest = highest_paa_mg_l(product)
    ph_lines, ph_data = _ph_after(answers, product, reach.best - level)
    return Result(
        headline=Message("Add {amount}", {"amount": to_add.words}),
        then=Message("Stir, wait, read peracetic acid again, in ppm PAA."),
        lines=(
            ResultLine("Worked out", Message("{amount}", {"amount": to_add.figure})),
            _brings(reach),
            *_against_limits(contents, product),
            ResultLine("Most PAA of a fresh fill", Message("{most}", {"most": ppm(highest)})),
            *ph_lines,
        ),
        notes=(*to_add.notes, *_short(reach.best, target), *_over(over, highest)),
        cautions=(Caution.PERACETIC, Caution.LABEL),
        how=_how(product),
        sources=(
            "Limits: 21 CFR 173.315(a)(5), produce that is not a raw commodity; else the label",
            "Mass balance by weight % and density; pKa 8.2 of peracetic acid, value from memory",
        ),
        data={
            **to_add.data,
            "level_after_low_mg_l": reach.low,
            "level_after_high_mg_l": reach.high,
            **_contents_data(contents),
            "highest_paa_mg_l": highest,
            **ph_data,
        },
    )


def _brings(reach: ErrorRange) -> ResultLine:
    level, low, high = (ppm(one) for one in (reach.best, reach.low, reach.high))
    words = Message("{level} ({low} to {high})", {"level": level, "low": low, "high": high})
    return ResultLine("Brings it to", words)


def _contents_data(contents: PeraceticContents) -> dict[str, Value]:
    return {
        "paa_mg_l": contents.paa_mg_l,
        "peroxide_mg_l": contents.peroxide_mg_l,
        "hedp_mg_l": contents.hedp_mg_l,
        "over_limits": ", ".join(contents.over),
    }


def _product(answers: Answers) -> PeraceticProduct:
    with beside("paa"):
        return PeraceticProduct(
            paa_pct=answers.amount("paa"),
            peroxide_pct=answers.amount("peroxide"),
            density_kg_l=answers.amount("density"),
            acetic_pct=answers.amount("acetic"),
            hedp_pct=answers.amount("hedp"),
        )


def _most_ml(answers: Answers, product: PeraceticProduct) -> float:
    """Return the most that keeps the federal limit of peracetic acid at its upper end."""
    level = answers.amount("from")
    rise = largest_rise(ErrorRange(level, level, level), LIMIT_PAA_MG_L, _ERROR)
    return float(peracetic_dose_ml(answers.amount("volume"), level, level + rise, product))


def _reach(answers: Answers, product: PeraceticProduct, added_ml: float) -> ErrorRange:
    """Return what the measured amount brings about."""
    level, volume_l = answers.amount("from"), answers.amount("volume")
    strength_g_l = 10.0 * product.paa_pct * product.density_kg_l
    rise = added_ml * (strength_g_l - level / 1000.0) / (volume_l + added_ml / 1000.0)
    return reached(ErrorRange(level, level, level), rise, _ERROR, _ERROR)


def _short(reached_mg_l: float, target: float) -> tuple[Message, ...]:
    return (_STOPS_SHORT,) if reached_mg_l < (1 - NEAR) * target else ()


def _contents(
    answers: Answers, product: PeraceticProduct, reached_mg_l: float
) -> PeraceticContents:
    """Return what the water holds after the dose, with the peroxide that was there before it."""
    level, before = answers.amount("from"), answers.maybe("peroxide-now")
    fresh = contents_at(reached_mg_l, product)
    if before is None:
        return fresh
    peroxide = before + contents_at(reached_mg_l - level, product).peroxide_mg_l
    return replace(fresh, peroxide_mg_l=peroxide)


def _against_limits(
    contents: PeraceticContents, product: PeraceticProduct
) -> tuple[ResultLine, ...]:
    values = {
        "paa": contents.paa_mg_l,
        "peroxide": contents.peroxide_mg_l,
        "hedp": contents.hedp_mg_l,
    }
    if product.hedp_pct <= 0:
        del values["hedp"]
    return tuple(
        ResultLine(
            NAMES[name],
            Message("{level}, limit {limit}", {"level": ppm(level), "limit": ppm(LIMITS[name])}),
            notable=name in contents.over,
        )
        for name, level in values.items()
    )


def _over(over: tuple[str, ...], highest: float) -> tuple[Message, ...]:
    if not over:
        return ()
    at_most = Message(
        "With this product a fresh fill keeps all limits up to {highest} of PAA; its label may "
        "say less.",
        {"highest": ppm(highest)},
    )
    return (*(Message(OVER[name]) for name in over), at_most)


def _ph_after(
    answers: Answers, product: PeraceticProduct, rise: float
) -> tuple[tuple[ResultLine, ...], dict[str, Value]]:
    ph, alkalinity = answers.maybe("ph"), answers.maybe("alkalinity")
    if ph is None or alkalinity is None:
        return (), {}
    with beside("ph"):
        rest = (answers.amount("source-ph"), answers.amount("temperature"), 0.0)
        water = at_ph(tank_water(alkalinity, *rest), ph)
        after = ph_of(with_peracetic(water, rise, product))
    line = ResultLine("pH after it", Message("{ph}", {"ph": Figure(round(after, 1), Kind.PH)}))
    return (line,), {"ph_after": after}


def _how(product: PeraceticProduct) -> tuple[Message, ...]:
    return (
        Message(
            "Amount = volume × rise ÷ (percent by weight × density): {paa} at {density}. Leaving "
            "out the density would give a tenth too much.",
            {
                "paa": Figure(product.paa_pct, Kind.PERCENT),
                "density": Figure(product.density_kg_l, Kind.DENSITY),
            },
        ),
        Message(
            "Peroxide and stabiliser come with each dose and stay as PAA is used up: after doses "
            "on top of each other, measure peroxide and enter it."
        ),
    )


def known(setup: LineSetup, tank: Tank) -> Known:
    """Return the volume of a tank and, where it is kept with it, its target and its product."""
    product = setup.sanitizer(tank.sanitizer)
    if tank.peracetic is None or product is None or product.kind is not SanitizerKind.PERACETIC:
        return {"volume": tank.volume_l}
    return {
        "volume": tank.volume_l,
        "to": tank.peracetic.target_mg_l,
        "paa": product.strength,
        "peroxide": product.peroxide_pct,
        "hedp": product.hedp_pct or 0.0,
        "density": product.density_kg_l,
    }


def _percent(key: str, label: str, usual: float | None = None) -> Field:
    return Field(
        key,
        label,
        Kind.PERCENT,
        group=THE_PRODUCT,
        usual=usual,
        check=between("percent", 0.0, 100.0, "%"),
    )


PERACETIC = Calculation(
    "peracetic",
    "Peracetic acid",
    "The dose, and the limits that it and its peroxide must keep.",
    (
        VOLUME,
        PAA_NOW,
        _level("to", "Target PAA"),
        _level("peroxide-now", "Peroxide now, if measured", optional=True),
        _percent("paa", "Peracetic acid"),
        _percent("peroxide", "Hydrogen peroxide"),
        _percent("acetic", "Acetic acid", 0.0),
        _percent("hedp", "HEDP", 0.0),
        Field(
            "density",
            "Density of this product",
            Kind.DENSITY,
            group=THE_PRODUCT,
            usual=USUAL_DENSITY_KG_L,
            check=between("density of the product", 0.95, 1.45, "kg/L"),
        ),
        PH.left_open(IF_KNOWN),
        ALKALINITY,
        SOURCE_PH,
        replace(TEMPERATURE, group=IF_KNOWN),
    ),
    compute,
    known,
)
