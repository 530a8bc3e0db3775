"""The steps that rules ask for, with their amounts."""

from washmon.chemistry.checks import ChemistryError
from washmon.line.flags import Step, StepKind
from washmon.line.message import Message, Value
from washmon.line.setup import Tank


def say_step(kind: StepKind, text: str, **values: Value) -> Step:
    """Return a step that needs no amount."""
    return Step(kind=kind, say=Message(text, dict(values)))


def trouble_step(trouble: ChemistryError) -> Step:
    """Return the step that tells why no amount can be worked out."""
    return say_step(StepKind.LOOK, trouble.template, **trouble.values)


def ph_step() -> Step:
    """Return the step that asks for the pH alone."""
    return say_step(StepKind.CHECK, "Measure pH now")


def measure_step(spec: Tank) -> Step:
    """Return the step that asks for a reading."""
    if spec.peracetic is not None:
        return say_step(StepKind.CHECK, "Measure peracetic acid now")
    return say_step(StepKind.CHECK, "Measure free chlorine and pH now")
