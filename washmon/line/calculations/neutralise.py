"""Take the chlorine out of water before it is drained."""

from washmon.chemistry.neutralising import FIELD_DOSE_G_PER_G, Neutraliser, neutraliser_g
from washmon.line.calculations.amounts import pour
from washmon.line.calculations.asking import Answers, Choice, Field, beside
from washmon.line.calculations.fields import THE_TANK, VOLUME, level_check
from washmon.line.calculations.result import CHLORINE_WATER, Calculation, Known, Result, ResultLine
from washmon.line.flags import Caution
from washmon.line.message import Figure, Message
from washmon.line.setup import LineSetup, Tank
from washmon.units import Kind

TOTAL = Field(
    "total",
    "Total chlorine in it",
    Kind.CONCENTRATION,
    group=THE_TANK,
    hint="Total, not free: combined chlorine harms fish too.",
    check=level_check,
)
AGENT_WORDS = {
    Neutraliser.SODIUM_THIOSULFATE_PENTAHYDRATE: "Sodium thiosulfate, crystals (pentahydrate)",
    Neutraliser.SODIUM_THIOSULFATE: "Sodium thiosulfate, anhydrous",
    Neutraliser.SODIUM_BISULFITE: "Sodium bisulfite",
    Neutraliser.SODIUM_METABISULFITE: "Sodium metabisulfite",
    Neutraliser.SODIUM_SULFITE: "Sodium sulfite",
    Neutraliser.ASCORBIC_ACID: "Ascorbic acid (vitamin C)",
}
AGENT = Field(
    "agent",
    "Taken out with",
    choices=tuple(Choice(agent.value, words) for agent, words in AGENT_WORDS.items()),
    group="The powder",
    usual=Neutraliser.SODIUM_THIOSULFATE_PENTAHYDRATE.value,
)


def compute(answers: Answers) -> Result:
    """Return the grams of an agent that take total chlorine out of a volume."""
    volume_l, total = answers.amount("volume"), answers.amount("total")
    agent = Neutraliser(answers.choice("agent"))
    with beside("total"):
        to_add = pour(
            float(neutraliser_g(volume_l, total, agent)), answers.circumstances, solid=True
        )
    ratio = FIELD_DOSE_G_PER_G[agent]
    return Result(
        headline=Message(
            "Add {amount}",
            {"amount": to_add.words},
        ),
        then=Message("Stir, wait, test with a strip: let it go only when none shows."),
        lines=(ResultLine("Worked out", Message("{amount}", {"amount": to_add.figure})),),
        notes=(
            *to_add.notes,
            Message(
                "Into water that is out of use, never into concentrate or into a tank that "
                "washes. More than is needed takes the oxygen out of the stream."
            ),
        ),
        cautions=(Caution.DISCHARGE,),
        how=(
            Message(
                "{ratio} g to each g of total chlorine, a field dose at pH 7 with some to spare: "
                "{volume} at {total} holds {chlorine} g.",
                {
                    "ratio": answers.circumstances.number(ratio, 2),
                    "volume": Figure(volume_l, Kind.VOLUME),
                    "total": Figure(total, Kind.CONCENTRATION),
                    "chlorine": answers.circumstances.number(volume_l * total / 1000.0, 1),
                },
            ),
        ),
        sources=("Field doses: AWWA, guide to the disinfection of water mains, table 7-2",),
        data={**to_add.data, "g_per_g_chlorine": ratio, "agent": agent.value},
    )


def known(_setup: LineSetup, tank: Tank) -> Known:
    """Return the volume of a tank."""
    return {"volume": tank.volume_l}


NEUTRALISE = Calculation(
    "neutralise",
    "Take chlorine out",
    "What removes chlorine from used water before it is drained.",
    (VOLUME, TOTAL, AGENT),
    compute,
    known,
    of=CHLORINE_WATER,
)
