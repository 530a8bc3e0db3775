"""The steps that rules ask for, with their amounts."""

from msgspec.structs import replace

from washmon.chemistry.checks import ChemistryError
from washmon.line.flags import Caution, Step, StepKind
from washmon.line.message import Message, Moment, Value
from washmon.line.mixing import Change
from washmon.line.setup import Tank
from washmon.rules.base import Sight

CHANGE = "Change the water: drain, clean, refill, then dose and measure"
SECOND = "Second fill: "
"""Goes before each step for a second fill, so that no hand goes to the wrong water."""


def say_step(kind: StepKind, text: str, **values: Value) -> Step:
    """Return a step that needs no amount."""
    return Step(kind=kind, say=Message(text, dict(values)))


def trouble_step(trouble: ChemistryError) -> Step:
    """Return the step that tells why no amount can be worked out."""
    return say_step(StepKind.LOOK, trouble.template, **trouble.values)


def ph_step() -> Step:
    """Return the step that asks for the pH alone."""
    return say_step(StepKind.CHECK, "Measure pH now")


def for_second(step: Step) -> Step:
    """Return a step as one for the second fill, and saying so."""
    say = Message(SECOND + step.say.text, step.say.values)
    return replace(step, say=say, second=True)


def change_step(sight: Sight, text: str = CHANGE) -> Step:
    """Return the step that changes the water: by a swap, where the second fill is ready."""
    if sight.second is not None and sight.second.ready:
        return Step(
            kind=StepKind.CHANGE_WATER,
            say=Message("Swap in the second fill"),
            cautions=(Caution.DISCHARGE,),
            second=True,
        )
    return Step(kind=StepKind.CHANGE_WATER, say=Message(text), cautions=(Caution.DISCHARGE,))


def wait_or_check(sight: Sight, added: Change) -> Step:
    """Return the step after an addition: wait until it has mixed in, then measure."""
    if sight.now >= sight.mixed_at(added):
        return measure_step(sight.spec)
    return Step(
        kind=StepKind.WAIT,
        say=Message(
            "Stir, wait until {time}, then measure", {"time": Moment(sight.mixed_at(added))}
        ),
    )


def measure_step(spec: Tank) -> Step:
    """Return the step that asks for a reading."""
    if spec.peracetic is not None:
        return say_step(StepKind.CHECK, "Measure peracetic acid now")
    return say_step(StepKind.CHECK, "Measure free chlorine and pH now")
