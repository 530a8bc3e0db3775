"""Contact time × concentration: how much chlorine a batch meets."""

from dataclasses import replace

from washmon.chemistry.exposure import LevelAt, ct_over_mg_min_l
from washmon.chemistry.speciation import hocl_share
from washmon.line.calculations.asking import Answers, Field, beside, between
from washmon.line.calculations.fields import LEVEL, PH, TEMPERATURE, level_check
from washmon.line.calculations.result import CHLORINE_WATER, Calculation, Known, Result, ResultLine
from washmon.line.message import Figure, Message
from washmon.line.setup import LineSetup, Tank
from washmon.units import Kind

BATCH = "The batch"
END = Field(
    "end",
    "Free chlorine at the end",
    Kind.CONCENTRATION,
    group=BATCH,
    hint="Left empty: as at the start.",
    optional=True,
    check=level_check,
)
CONTACT = Field(
    "contact",
    "Time in the water",
    Kind.CONTACT_TIME,
    group=BATCH,
    check=between("contact time", 0.1, 86_400.0, "s"),
)


def compute(answers: Answers) -> Result:
    """Return CT of free chlorine and of its active part."""
    start, contact_s = answers.amount("chlorine"), answers.amount("contact")
    end = answers.maybe("end")
    last = start if end is None else end
    with beside("contact"):
        ct = ct_over_mg_min_l((LevelAt(0.0, start), LevelAt(contact_s, last)))
    with beside("ph"):
        share = float(hocl_share(answers.amount("ph"), answers.amount("temperature")))
    number = answers.circumstances.number
    return Result(
        headline=Message("{ct} mg·min/L of active chlorine", {"ct": number(ct * share, 1)}),
        lines=(
            ResultLine("Of all free chlorine", Message("{ct} mg·min/L", {"ct": number(ct, 1)})),
            ResultLine("Active share", Message("{share} %", {"share": round(100 * share)})),
        ),
        notes=(
            Message(
                "Compare batches with it, conclude no kill from it: tables of CT are for clean "
                "drinking water. In wash water chlorine keeps germs from travelling."
            ),
        ),
        how=(
            Message(
                "Mean of {start} and {end}, times {contact}; the active part is HOCl at pH {ph}.",
                {
                    "start": Figure(start, Kind.CONCENTRATION),
                    "end": Figure(last, Kind.CONCENTRATION),
                    "contact": Figure(contact_s, Kind.CONTACT_TIME),
                    "ph": Figure(answers.amount("ph"), Kind.PH),
                },
            ),
        ),
        sources=("Dissociation: Morris (1966), J. Phys. Chem. 70:3798",),
        data={
            "ct_mg_min_l": ct,
            "hocl_ct_mg_min_l": ct * share,
            "active_share": share,
        },
    )


def known(_setup: LineSetup, tank: Tank) -> Known:
    """Return the contact time of a tank."""
    return {"contact": tank.contact_s}


EXPOSURE = Calculation(
    "exposure",
    "Contact time × concentration",
    "How much chlorine a batch meets, and how much of it is active.",
    (
        replace(LEVEL, key="chlorine", label="Free chlorine", hint="", group=BATCH),
        END,
        CONTACT,
        replace(PH, group=BATCH),
        replace(TEMPERATURE, group=BATCH),
    ),
    compute,
    known,
    of=CHLORINE_WATER,
)
