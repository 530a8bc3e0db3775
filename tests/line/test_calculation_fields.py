"""What each question of the calculator takes, and what stands in where nothing is written.

What no water and no product can be, and what is usual: common practice, no published source.
"""

import math

import pytest

from washmon.line.calculations import CALCULATIONS
from washmon.line.calculations.asking import Field
from washmon.units import Kind, PlainError

WATER, LIQUID, ACID_DENSITY = (-2.0, 60.0), (0.95, 1.45), (0.95, 1.9)
OF_A_KIND = {
    Kind.CONCENTRATION: (0.0, 5000.0),
    Kind.PH: (2.0, 12.5),
    Kind.TEMPERATURE: WATER,
    Kind.DENSITY: LIQUID,
    Kind.PERCENT: (0.0, 100.0),
}
TAKEN = {
    "strength": (0.001, 350.0),  # of a solid up to 100 %, of a liquid in g/L up to 350
    "acid strength": (0.001, 100.0),
    "acid-strength": (0.001, 100.0),
    "acid density": ACID_DENSITY,
    "acid-density": ACID_DENSITY,
    "caustic": (0.0, 5.0),
    "alkalinity": (0.0, 2000.0),
    "alkalinity-low": (0.0, 2000.0),
    "alkalinity-high": (0.0, 2000.0),
    "source-ph": (4.0, 11.0),
    "acid to": (6.0, 9.0),
    "high": (6.0, 9.0),
    "chloride": (0.0, 20_000.0),
    "storage-temperature": (-20.0, 60.0),
    "amount": (1e-6, 1e6),
    "contact": (0.1, 86_400.0),
}
USUAL = {
    "temperature": 20.0,
    "source-ph": 7.8,
    "storage-temperature": 20.0,
    "sample": 1.0,
    "total": 1000.0,
    "acid to": 7.0,
    "high": 7.5,
    "fresh": 0.0,
    "acid chlorine": 0.0,
    "acetic": 0.0,
    "hedp": 0.0,
    "peracetic density": 1.12,
}
ASKED = [
    (calculation.key, field)
    for calculation in CALCULATIONS
    for field in calculation.fields
    if field.kind is not None
]


PRODUCT = "strength basis density"
QUESTIONS = {
    "dose": f"volume from method to solid {PRODUCT} most ph alkalinity source-ph caustic "
    "temperature",
    "rise": f"volume from solid {PRODUCT} amount",
    "strength": PRODUCT,
    "container": f"{PRODUCT} made on storage-temperature reading sample total",
    "active": "chlorine ph temperature chloride",
    "acid": "volume ph to high chlorine temperature kind strength density alkalinity source-ph "
    "alkalinity-low alkalinity-high",
    "alkalinity": "volume chlorine ph-before ph-after ph-method temperature added amount "
    f"acid-strength acid-density {PRODUCT}",
    "lower": "volume from to fresh",
    "neutralise": "volume total agent",
    "peracetic": "volume from to peroxide-now paa peroxide acetic hedp density ph alkalinity "
    "source-ph temperature",
    "exposure": "chlorine end contact ph temperature",
}


def test_what_is_asked_in_which_order() -> None:
    asked = {one.key: [field.key for field in one.fields] for one in CALCULATIONS}
    assert asked == {key: keys.split() for key, keys in QUESTIONS.items()}


def takes(field: Field, value: float) -> bool:
    assert field.check is not None
    try:
        field.check(value)
    except PlainError:
        return False
    return True


@pytest.mark.parametrize(("key", "field"), ASKED, ids=lambda one: getattr(one, "key", one))
def test_a_question_takes_what_can_be_up_to_its_ends(key: str, field: Field) -> None:
    if field.check is None or field.key == "volume":
        return
    assert field.kind is not None
    known = TAKEN.get(f"{key} {field.key}") or TAKEN.get(field.key)
    low, high = known or OF_A_KIND[field.kind]
    near = (low, high, math.nextafter(low, -math.inf), math.nextafter(high, math.inf))
    assert [takes(field, value) for value in near] == [True, True, False, False]


def test_what_stands_in_where_nothing_is_written() -> None:
    for key, field in ASKED:
        none = field.optional or (field.key == "total" and key != "container")
        usual = None if none else USUAL.get(f"{key} {field.key}", USUAL.get(field.key))
        assert field.usual == usual, (key, field.key)
