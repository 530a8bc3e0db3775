"""Come down from too high a level by changing water."""

from washmon.chemistry.dilution import drained_share, overflow_l
from washmon.line.calculations.asking import Answers, Field, beside
from washmon.line.calculations.fields import LEVEL, TARGET, THE_TANK, VOLUME, level_check
from washmon.line.calculations.result import CHLORINE_WATER, Calculation, Known, Result, ResultLine
from washmon.line.flags import Caution
from washmon.line.message import Figure, Message
from washmon.line.setup import LineSetup, Tank
from washmon.units import Kind

FRESH = Field(
    "fresh",
    "In the fresh water",
    Kind.CONCENTRATION,
    group=THE_TANK,
    usual=0.0,
    check=level_check,
)


def compute(answers: Answers) -> Result:
    """Return how much to drain and refill, or to let run through."""
    volume_l, level, target, fresh = (
        answers.amount(key) for key in ("volume", "from", "to", "fresh")
    )
    with beside("to"):
        share = drained_share(level, target, fresh)
        through = overflow_l(volume_l, level, target, fresh)
    drained = Figure(share * volume_l, Kind.VOLUME)
    return Result(
        headline=Message(
            "Drain {drained} ({share} %) and refill",
            {"drained": drained, "share": round(100 * share)},
        ),
        then=Message("Stir, read chlorine and pH again: fresh water brings its own alkalinity."),
        lines=(
            ResultLine(
                "Or let run through the full tank",
                Message("{through}", {"through": Figure(through, Kind.VOLUME)}),
            ),
        ),
        notes=(Message("Or wait: washing uses chlorine up. Never add acid to bring it down."),),
        cautions=(Caution.DISCHARGE,),
        how=(
            Message(
                "Share = (level − target) ÷ (level − fresh water): from {level} to {target}. "
                "Running through a stirred tank takes volume × ln of the same ratio, so more.",
                {
                    "level": Figure(level, Kind.CONCENTRATION),
                    "target": Figure(target, Kind.CONCENTRATION),
                },
            ),
        ),
        sources=("Mass balance; dilution of a stirred tank, any text on reactors",),
        data={
            "drain_l": share * volume_l,
            "drain_share": share,
            "overflow_l": through,
        },
    )


def known(_setup: LineSetup, tank: Tank) -> Known:
    """Return the volume and the target of a tank."""
    return {"volume": tank.volume_l, "to": tank.chlorine.target_mg_l}


LOWER = Calculation(
    "lower",
    "Come down from too high",
    "How much water to drain and refill.",
    (VOLUME, LEVEL, TARGET, FRESH),
    compute,
    known,
    of=CHLORINE_WATER,
)
