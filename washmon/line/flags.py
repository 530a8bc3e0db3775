"""What a rule says of a tank: its level, its reason, and the one step it asks for."""

from datetime import datetime
from enum import StrEnum

from msgspec import Struct

from washmon.line.message import Message


class Level(StrEnum):
    """How much a flag presses."""

    WATCH = "watch"
    ACT = "act"
    STOP = "stop"

    @property
    def rank(self) -> int:
        """0 for watch, 2 for stop."""
        return list(Level).index(self)


class Condition(StrEnum):
    """How a tank is, in one word."""

    IN_LIMITS = "in limits"
    WATCH = "watch"
    ACT = "act"
    STOP = "stop"
    UNKNOWN = "unknown"


class StepKind(StrEnum):
    """The things a person can be asked to do, the most protective first."""

    LEAVE = "leave"  # step back from the tank, air the room
    HOLD = "hold"
    CHANGE_WATER = "change water"
    LOWER = "lower"  # exchange part of the water
    WAIT = "wait"
    ACID = "acid"
    DOSE = "dose"
    WARM = "warm"
    CONTACT = "contact"
    CHECK = "check"
    FILL = "fill"  # the vessel of a second fill
    VERIFY = "verify"  # try an instrument against a standard
    LOOK = "look"

    @property
    def rank(self) -> int:
        """0 for the most protective."""
        return list(StepKind).index(self)


class Caution(StrEnum):
    """Short cautions, shown where the hand is about to move; texts under ``resources``."""

    HYPOCHLORITE = "hypochlorite"
    ACID = "acid"
    GAS = "gas"
    LABEL = "label"
    PERACETIC = "peracetic"
    CARBON_DIOXIDE = "carbon dioxide"
    DISCHARGE = "discharge"


class Amount(Struct, frozen=True):
    """How much of a product: millilitres of a liquid or grams of a solid."""

    value: float
    unit: str

    def __post_init__(self) -> None:
        """Refuse a unit that nothing downstream understands."""
        if self.unit not in {"mL", "g"}:
            raise ValueError(f"An amount is in mL or g, not {self.unit!r}.")


class Step(Struct, frozen=True, kw_only=True):
    """The one thing that a flag tells a person to do."""

    kind: StepKind
    say: Message
    product: str | None = None
    amount: Amount | None = None
    amount_low: float | None = None
    amount_high: float | None = None
    batches: tuple[int, ...] = ()
    """Journal places of the batches that a hold step is about."""
    cautions: tuple[Caution, ...] = ()
    second: bool = False
    """It is about the second fill: made ready beside the tank or, to change the water, swapped in.
    """


ALWAYS_ON = frozenset(
    {
        "chlorine-critical",
        "chlorine-label",
        "hold",
        "paa-critical",
        "paa-limit",
        "peroxide-limit",
        "ph-gas",
        "second-gas",
    }
)
"""Rules that nobody can switch off, and whose flags nobody can shelve."""
FAILED = "broken:"
"""Goes before the id of a rule that failed, as the id of the flag that says so."""


class Flag(Struct, frozen=True, kw_only=True):
    """One rule's word on one tank."""

    tank: int
    rule: str
    level: Level
    title: Message
    why: Message
    since: datetime
    """When the reason for it began, by the data."""
    step: Step | None = None
    """What it asked for, in journals of a time when each flag had a step of its own."""
    more: tuple[Message, ...] = ()
    """Further sentences of the reason: what the step will do, and with which numbers."""

    @property
    def key(self) -> tuple[int, str]:
        """What makes it the same flag from one look to the next."""
        return (self.tank, self.rule)

    @property
    def never_shelved(self) -> Message | None:
        """Why it must stay in sight; nothing where it may be put aside for a while."""
        if self.rule.removeprefix(FAILED) in ALWAYS_ON:
            return Message(
                "This flag guards people or what people eat: it is never shelved, nor its rule "
                "switched off."
            )
        if self.level is Level.STOP:
            return Message("A stop is never shelved: do first what it asks for.")
        return None
