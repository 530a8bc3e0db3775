"""Which part of free chlorine is active, and when gas stands over the water."""

from dataclasses import replace

from washmon.chemistry.chlorine_gas import (
    CEILING_PPM,
    CHLORIDE_MG_PER_MOL,
    EIGHT_HOUR_LIMIT_PPM,
    chlorine_in_air_ppm,
    dissolved_chlorine_mg_l,
    hypochlorous_in_air_ppm,
)
from washmon.chemistry.speciation import hocl_share, hocl_share_in_salt
from washmon.line.calculations.asking import Answers, Field, beside, between
from washmon.line.calculations.fields import LEVEL, PH, TEMPERATURE, THE_TANK
from washmon.line.calculations.result import CHLORINE_WATER, Calculation, Result, ResultLine, Value
from washmon.line.flags import Caution
from washmon.line.message import Figure, Message, ppm
from washmon.units import Kind

SALTY_TANK_MG_L = 1000.0
LOW_ACTIVE = 0.5
COMPARED_PH = (6.5, 7.0, 7.5, 8.0)

CHLORIDE = Field(
    "chloride",
    "Chloride",
    Kind.CONCENTRATION,
    group=THE_TANK,
    hint="Not known: 1000 ppm, a used tank, is taken for the gas.",
    optional=True,
    check=between("chloride", 0.0, 20_000.0, "mg/L"),
)


def compute(answers: Answers) -> Result:
    """Return HOCl, OCl- and Cl2 of a free chlorine, and the gas over still water."""
    free, ph, celsius = (answers.amount(key) for key in ("chlorine", "ph", "temperature"))
    chloride = answers.maybe("chloride")
    with beside("ph"):
        share = _share(ph, celsius, chloride)
        salt = SALTY_TANK_MG_L if chloride is None else chloride
        gas = float(dissolved_chlorine_mg_l(free, ph, celsius, salt))
        hocl = max(0.0, free * share - gas)
        air = float(chlorine_in_air_ppm(gas, celsius))
        vapour = float(hypochlorous_in_air_ppm(hocl, celsius))
    return Result(
        headline=Message("{share} % is active (HOCl)", {"share": round(100 * share)}),
        then=Message(
            "That is {active} of {free}.", {"active": ppm(free * share), "free": ppm(free)}
        ),
        lines=(
            ResultLine("Hypochlorous acid, HOCl", Message("{v}", {"v": ppm(hocl)})),
            ResultLine("Hypochlorite, OCl⁻", Message("{v}", {"v": ppm(free * (1 - share))})),
            *_gas_lines(answers, gas, air, vapour),
            *_compared(celsius, chloride),
        ),
        notes=_notes(answers, air, share),
        cautions=(Caution.GAS,) if air >= EIGHT_HOUR_LIMIT_PPM else (),
        how=_how(celsius, chloride),
        sources=(
            "Dissociation: Morris (1966), J. Phys. Chem. 70:3798",
            "Hydrolysis of Cl2: ECHA registration dossier 16137",
            "Henry's law: Sander (2015), Atmos. Chem. Phys. 15:4399",
            "0.5 ppm in air over 8 hours, 1 ppm at most: OSHA Chemical Sampling Information",
        ),
        data={
            "active_share": share,
            "hocl_mg_l": hocl,
            "ocl_mg_l": free * (1 - share),
            **_gas_data(gas, air, vapour),
            "chloride_mg_l": salt,
            "chloride_assumed": chloride is None,
        },
    )


def _gas_data(gas: float, air: float, vapour: float) -> dict[str, Value]:
    return {
        "cl2_mg_l": gas,
        "cl2_in_air_ppm": air,
        "hocl_in_air_ppm": vapour,
    }


def _gas_lines(answers: Answers, gas: float, air: float, vapour: float) -> tuple[ResultLine, ...]:
    number = answers.circumstances.number
    much = air >= EIGHT_HOUR_LIMIT_PPM
    return (
        ResultLine("Dissolved gas, Cl₂", Message("{v} ppm", {"v": number(gas, 3)}), notable=much),
        ResultLine(
            "Gas in still air over it, at most",
            Message("{v} ppm", {"v": number(air, 2)}),
            notable=much,
        ),
        ResultLine(
            "HOCl vapour in still air, at most", Message("{v} ppm", {"v": number(vapour, 1)})
        ),
    )


def _share(ph: float, celsius: float, chloride: float | None) -> float:
    if chloride is None:
        return float(hocl_share(ph, celsius))
    return float(hocl_share_in_salt(ph, celsius, chloride / CHLORIDE_MG_PER_MOL))


def _compared(celsius: float, chloride: float | None) -> tuple[ResultLine, ...]:
    shares = [
        f"{ph:.1f}: {100 * _share(ph, celsius, chloride):.0f} %".replace(" ", "\N{NO-BREAK SPACE}")
        for ph in COMPARED_PH
    ]
    return (ResultLine("Active at pH", Message("{shares}", {"shares": "  ".join(shares)})),)


def _notes(answers: Answers, air: float, share: float) -> tuple[Message, ...]:
    if air >= CEILING_PPM:
        return (
            Message(
                "Gas can stand over this water above the {ceiling} ppm that nobody may breathe "
                "even briefly: stop, leave and air the room, then change the water.",
                {"ceiling": round(CEILING_PPM)},
            ),
        )
    if air >= EIGHT_HOUR_LIMIT_PPM:
        return (
            Message(
                "Gas can stand over this water above the 8-hour limit of {limit} ppm: add no acid, "
                "air the room.",
                {"limit": answers.circumstances.number(EIGHT_HOUR_LIMIT_PPM, 1)},
            ),
        )
    if share < LOW_ACTIVE:
        return (
            Message("Less than half of the chlorine works: the pH is too high for this water."),
        )
    return ()


def _how(celsius: float, chloride: float | None) -> tuple[Message, ...]:
    steps = [
        Message(
            "HOCl and OCl⁻ are in balance: share = 1 ÷ (1 + 10^(pH − pKa)), with the pKa of "
            "{celsius}. Good to some points of a hundred in used water.",
            {"celsius": Figure(celsius, Kind.TEMPERATURE)},
        ),
        Message(
            "Cl₂ grows with chloride and falls with pH; the air is Henry's law over still water, "
            "the most there can be. HOCl vapour is in the smell of any chlorinated water; no limit "
            "in air is set for it."
        ),
    ]
    if chloride is None:
        steps.append(
            Message(
                "Chloride is not known: {salt} is taken for the gas (255 to 1125 were found in "
                "tomato dump tanks, Chahal, Toor and Santos 2012).",
                {"salt": ppm(SALTY_TANK_MG_L)},
            )
        )
    return tuple(steps)


ACTIVE = Calculation(
    "active",
    "Active share of chlorine",
    "How much of the free chlorine works at this pH, and when it turns into gas.",
    (
        replace(LEVEL, key="chlorine", label="Free chlorine", hint=""),
        PH,
        TEMPERATURE,
        CHLORIDE,
    ),
    compute,
    of=CHLORINE_WATER,
)
