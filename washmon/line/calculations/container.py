"""How strong a container of liquid hypochlorite still is, by its age or by a kit."""

from datetime import date

from washmon.chemistry.ageing import (
    Stay,
    half_life_days,
    is_weak,
    present_strength_g_l,
    strength_from_diluted_g_l,
)
from washmon.chemistry.uncertainty import TESTED_ERROR
from washmon.line.calculations.asking import Answers, Field, FieldFault, beside, between
from washmon.line.calculations.product import STRENGTH, product_of
from washmon.line.calculations.result import (
    CHLORINE_WATER,
    Calculation,
    Known,
    Result,
    ResultLine,
    Value,
)
from washmon.line.calculations.strength import LIQUID_BASIS, LIQUID_DENSITY
from washmon.line.calculations.strength import known as known_label
from washmon.line.flags import Caution
from washmon.line.message import Figure, Message
from washmon.line.setup import LineSetup, Tank
from washmon.units import Kind, PlainError

WARMER_C, WARMEST_C = 5.0, 60.0
STORAGE = "Its time in storage"
TEST = "If you test it: a kit reading of a diluted sample"

MADE = Field("made", "Made, or delivered fresh, on", group=STORAGE, optional=True)
ON = Field("on", "Strength on this day", group=STORAGE, usual="today")
STORED_AT = Field(
    "storage-temperature",
    "Storage temperature",
    Kind.TEMPERATURE,
    group=STORAGE,
    usual=20.0,
    check=between("storage temperature", -20.0, WARMEST_C, "°C"),
)
READING = Field("reading", "The kit reads", Kind.CONCENTRATION, group=TEST, optional=True)
SAMPLE = Field("sample", "Product in the sample", Kind.SMALL_VOLUME, group=TEST, usual=1.0)
TOTAL = Field("total", "Made up with water to", Kind.SMALL_VOLUME, group=TEST, usual=1000.0)


def compute(answers: Answers) -> Result:
    """Return the strength now: what the kit says, else what age and warmth left.

    Raises:
        FieldFault: neither date nor reading, or one that can't be.
    """
    label = product_of(answers).strength
    tested = _tested(answers)
    estimate = _estimate(answers, label)
    present = tested if tested is not None else estimate
    if present is None:
        raise FieldFault("made", PlainError(_UNKNOWN))
    weak = is_weak(present, label)
    lines = [
        ResultLine("On the label", _strength(answers, label)),
        ResultLine("Left of it", _share(present / label), notable=weak),
        *_kit_lines(answers, tested, estimate),
        *_age_lines(answers, label, estimate),
    ]
    return Result(
        headline=Message(
            "It tests at {strength}" if tested is not None else "It should still hold {strength}",
            _strength(answers, present).values,
        ),
        then=Message("Dose with this number, as grams per litre of available chlorine."),
        lines=tuple(lines),
        notes=_advice(weak=weak, is_tested=tested is not None),
        cautions=(Caution.HYPOCHLORITE,) if tested is not None else (),
        how=_how(answers, tested, estimate),
        sources=(
            "Decay: Adam & Gordon (1999), Inorg. Chem. 38:1299",
            "Under 80 % of the label is weak: common practice, no published source",
        ),
        data=_data(label, tested, estimate, weak=weak),
        carry={"strength": present, "basis": "g_per_l_available_chlorine", "solid": ""},
    )


_UNKNOWN = (
    "When it was made is not known: test it with a kit on a diluted sample and enter the reading, "
    "or use a fresh container."
)


def _tested(answers: Answers) -> float | None:
    reading = answers.maybe("reading")
    if reading is None:
        return None
    with beside("reading"):
        return strength_from_diluted_g_l(reading, answers.amount("sample"), answers.amount("total"))


def _days(made: date, answers: Answers) -> float:
    on = answers.day("on") or answers.circumstances.today
    if on < made:
        raise FieldFault("made", PlainError("It can't be made after the day that is asked for."))
    return float((on - made).days)


def _left(answers: Answers, label: float, warmer_c: float = 0.0) -> float | None:
    made = answers.day("made")
    if made is None:
        return None
    stay = Stay(_days(made, answers), answers.amount("storage-temperature") + warmer_c)
    with beside("made"):
        return present_strength_g_l(label, [stay])


def _estimate(answers: Answers, label: float) -> float | None:
    return _left(answers, label)


def _age_lines(answers: Answers, label: float, estimate: float | None) -> list[ResultLine]:
    if estimate is None:
        return []
    stored = answers.amount("storage-temperature")
    lines = []
    if stored + WARMER_C <= WARMEST_C:
        warmer = _left(answers, label, WARMER_C) or 0.0
        lines = [ResultLine("Had it stood 5 °C warmer", _strength(answers, warmer))]
    half = half_life_days(estimate, stored, fresh_g_l=label)
    days = round(half)
    text = Message("1 day" if days == 1 else "{days} days", {"days": days})
    return [*lines, ResultLine("Half of that is left after", text)]


def _kit_lines(answers: Answers, tested: float | None, estimate: float | None) -> list[ResultLine]:
    if tested is None:
        return []
    low, high = tested * (1 - TESTED_ERROR), tested * (1 + TESTED_ERROR)
    number = answers.circumstances.number
    lines = [
        ResultLine(
            "Kit's range",
            Message("{low} to {high} g/L", {"low": number(low), "high": number(high)}),
        )
    ]
    if estimate is not None:
        off = abs(tested / estimate - 1) > 0.15  # noqa: PLR2004 - beyond kit and equation together
        lines.append(ResultLine("By its age alone", _strength(answers, estimate), notable=off))
    return lines


def _advice(*, weak: bool, is_tested: bool) -> tuple[Message, ...]:
    notes = []
    if weak:
        notes.append(
            Message(
                "This container is weak: replace it, or test it before each use. Weak product "
                "needs larger doses, which bring more chlorate and salt."
            )
        )
    if not is_tested:
        notes.append(
            Message(
                "This is the best case: sunlight, metal and dirt are faster. A kit on a diluted "
                "sample is better than any estimate."
            )
        )
    return tuple(notes)


def _how(answers: Answers, tested: float | None, estimate: float | None) -> tuple[Message, ...]:
    steps = []
    made = answers.day("made")
    if estimate is not None and made is not None:
        steps.append(
            Message(
                "{days} days at {warmth}: second-order decay, so that half as strong decays a "
                "quarter as fast; salt and warmth speed it up.",
                {
                    "days": round(_days(made, answers)),
                    "warmth": Figure(answers.amount("storage-temperature"), Kind.TEMPERATURE),
                },
            )
        )
    if tested is not None:
        steps.append(
            Message(
                "Strength = reading × dilution: {sample} made up to {total} reads {reading}. Good "
                "to about 5 %.",
                {
                    "sample": Figure(answers.amount("sample"), Kind.SMALL_VOLUME),
                    "total": Figure(answers.amount("total"), Kind.SMALL_VOLUME),
                    "reading": Figure(answers.amount("reading"), Kind.CONCENTRATION),
                },
            )
        )
    return tuple(steps)


def _data(
    label: float, tested: float | None, estimate: float | None, *, weak: bool
) -> dict[str, Value]:
    present = tested if tested is not None else estimate
    return {
        "present_g_l": present,
        "label_g_l": label,
        "share_of_label": None if present is None else present / label,
        "tested_g_l": tested,
        "estimated_g_l": estimate,
        "weak": weak,
    }


def _strength(answers: Answers, value: float) -> Message:
    number = f"{answers.circumstances.number(value, 1)}\N{NO-BREAK SPACE}g/L"
    return Message("{strength}", {"strength": number})


def _share(share: float) -> Message:
    return Message("{share} %", {"share": round(100 * share)})


def known(setup: LineSetup, tank: Tank) -> Known:
    """Return the label of the tank's product and when it was made."""
    label = known_label(setup, tank)
    product = setup.sanitizer(tank.sanitizer)
    return {**label, "made": product.made_on} if product is not None and label else label


CONTAINER = Calculation(
    "container",
    "How strong is this container?",
    "What age and warmth have left of a liquid, and what a kit says of it.",
    (STRENGTH, LIQUID_BASIS, LIQUID_DENSITY, MADE, ON, STORED_AT, READING, SAMPLE, TOTAL),
    compute,
    known,
    takes_over="dose",
    of=CHLORINE_WATER,
)
