"""What 21 CFR 112.50 and 117.190 ask to be kept, where it is here, and what is still lacking.

112.50(b)(1) to (10) and 117.190(a) were read for this table; 112.50(b)(11) is told from memory.
What is asked of water before harvest only, 112.50(b)(3), (4), (8) and (9), and of a supply chain,
117.190(a)(5), is no matter of wash water and left out. Which of it applies, the farm decides.
"""

from collections.abc import Collection
from datetime import date

from msgspec import Struct

from washmon.line.registers import Device, Paper, PaperKind, Registers


class Requirement(Struct, frozen=True, kw_only=True):
    """One thing that is to be kept: in English, to be translated where it is shown."""

    clause: str
    asks: str
    kinds: tuple[PaperKind, ...] = ()
    """Papers that answer it; any of them does."""
    here: str = ""
    """Where the program itself keeps it; empty where only papers do."""
    only_if: str = ""
    """When it is asked for at all; empty: always."""


class Answer(Struct, frozen=True, kw_only=True):
    """How something that is asked for stands on a day."""

    asked: Requirement
    papers: tuple[Paper, ...]
    lacks: bool
    late: bool
    """There are papers, and the review of each is overdue."""


ASKED = (
    Requirement(
        clause="112.50(b)(1)",
        asks="findings of the inspections of the water system",
        kinds=(PaperKind.INSPECTION,),
    ),
    Requirement(
        clause="112.50(b)(2)",
        asks="written assessments of the water",
        kinds=(PaperKind.ASSESSMENT,),
        only_if="if the water is used before harvest, too",
    ),
    Requirement(
        clause="112.50(b)(5)",
        asks="results of all tests of the water by a laboratory",
        kinds=(PaperKind.LABORATORY,),
    ),
    Requirement(
        clause="112.50(b)(6)",
        asks="yearly results or certificates of the public supply",
        kinds=(PaperKind.CERTIFICATE,),
        only_if="if the water comes from one",
    ),
    Requirement(
        clause="112.50(b)(7), 117.190(a)(3)",
        asks="what was done where the water was not as it must be",
        here="Logbook: actions, holds and decisions of each shift",
    ),
    Requirement(
        clause="112.50(b)(10)",
        asks="the science or information that the treatment rests on",
        kinds=(PaperKind.VALIDATION, PaperKind.LABEL),
    ),
    Requirement(
        clause="112.50(b)(11), 117.190(a)(2)",
        asks="results of monitoring the treatment",
        here="Logbook: readings of each shift",
    ),
    Requirement(
        clause="117.190(a)(1)",
        asks="why there is no preventive control",
        kinds=(PaperKind.OTHER,),
        only_if="if the food safety plan has none for a hazard",
    ),
    Requirement(clause="117.190(a)(4)(i)", asks="validation", kinds=(PaperKind.VALIDATION,)),
    Requirement(
        clause="117.190(a)(4)(ii), (iii), (vii)",
        asks="verification of monitoring and of corrective actions, review of records",
        here="Logbook: signatures and reviews under each shift",
    ),
    Requirement(
        clause="117.190(a)(4)(iv)",
        asks="calibration of instruments",
        kinds=(PaperKind.CALIBRATION,),
        here="Registers: checks of each instrument",
    ),
    Requirement(
        clause="117.190(a)(4)(v), (vi)",
        asks="tests of products and of the surroundings",
        kinds=(PaperKind.LABORATORY,),
        only_if="as the food safety plan asks for them",
    ),
    Requirement(
        clause="117.190(a)(4)(viii)",
        asks="reanalysis of the food safety plan",
        kinds=(PaperKind.OTHER,),
        only_if="once it is due",
    ),
    Requirement(
        clause="117.190(a)(6)",
        asks="training of the qualified individual and the auditor",
        kinds=(PaperKind.TRAINING,),
    ),
)


def answers(registers: Registers, today: date, missing: Collection[str] = ()) -> tuple[Answer, ...]:
    """Return how each thing that is asked for stands: by its papers, or by what is kept here.

    ``missing`` are the SHA-256 of papers whose content is gone or was changed: they answer nothing.
    """
    papers = [
        one for one in registers.of(Paper) if one.retired_on is None and one.sha256 not in missing
    ]
    devices = [one for one in registers.of(Device) if one.retired_on is None]
    return tuple(_answer(one, papers, today, has_devices=bool(devices)) for one in ASKED)


def _answer(asked: Requirement, papers: list[Paper], today: date, *, has_devices: bool) -> Answer:
    mine = tuple(one for one in papers if one.kind in asked.kinds)
    here = bool(asked.here) and (not asked.kinds or has_devices)
    late = [one for one in mine if one.review_on is not None and one.review_on < today]
    return Answer(
        asked=asked,
        papers=mine,
        lacks=not mine and not here,
        late=bool(mine) and len(late) == len(mine),
    )
