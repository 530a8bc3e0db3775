"""What an entry sheet asks for, and what it hands back: plain frozen data."""

from dataclasses import dataclass, field
from enum import Enum


class FieldKind(Enum):
    """How a field is filled in."""

    NUMBER = "number"
    TEXT = "text"
    CHOICE = "choice"


@dataclass(frozen=True, slots=True)
class Offer:
    """Words to take into a text field; only where other fields hold what ``when`` says of them."""

    words: str
    when: tuple[tuple[str, str], ...] = ()

    def fits(self, values: dict[str, str]) -> bool:
        """Tell whether it is offered while these values stand in the sheet."""
        return all(values.get(key) == value for key, value in self.when)


@dataclass(frozen=True, slots=True)
class FieldSpec:
    """One field.

    ``last`` stands greyed in an empty number or text field and is never taken for an entry; of a
    choice it is the key that is pressed already. ``choices`` are pairs of key and words. A field
    that is ``aside`` is passed by Enter and reached by Tab, mouse and touch. ``value`` is text
    that stands there already, as in a correction.
    """

    key: str
    label: str
    unit: str = ""
    kind: FieldKind = FieldKind.NUMBER
    last: str = ""
    required: bool = False
    choices: tuple[tuple[str, str], ...] = ()
    hint: str = ""
    aside: bool = False
    value: str = ""
    offers: tuple[Offer, ...] = ()


@dataclass(frozen=True, slots=True)
class TankSpec:
    """A tank to choose by its digit; ``fields`` where they differ from the sheet's own.

    ``note`` stands under that of the sheet once the tank is chosen.
    """

    key: str
    label: str
    fields: tuple[FieldSpec, ...] | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class SheetSpec:
    """A whole sheet. With no ``tanks``, or one, nothing is to be chosen.

    ``tank`` is the key of the tank that is chosen already; ``note`` is a quiet line under the
    title, such as a caution.
    """

    title: str
    fields: tuple[FieldSpec, ...] = ()
    tanks: tuple[TankSpec, ...] = ()
    note: str = ""
    tank: str = ""
    save: str = ""
    anyway: str = ""
    """The word on the button that says yes to what was asked, where it is no doubt."""

    def note_of(self, tank: str) -> str:
        """Return the note of the sheet, and under it that of a tank."""
        beside = (each.note for each in self.tanks if each.key == tank)
        return "\n".join(note for note in (self.note, *beside) if note)

    def fields_of(self, tank: str) -> tuple[FieldSpec, ...]:
        """Return the fields that one tank asks for."""
        for each in self.tanks:
            if each.key == tank and each.fields is not None:
                return each.fields
        return self.fields


@dataclass(frozen=True, slots=True)
class TypedEntry:
    """What was typed: raw text by field key, empty where nothing was.

    ``sure`` is True when the person has read the doubt about these values and saves all the same.
    """

    tank: str
    values: dict[str, str] = field(default_factory=dict)
    sure: bool = False
