"""Wrong changes are made as they are told, and what may stay unnoticed is still there."""

import ast

import pytest

from tests.tools.mutant_runs import ROOT
from tests.tools.mutants import ROOMS, left, modules, mutants_in, sampled
from tests.tools.mutating import mutants_of, mutated

CHANGES = {
    "x = a < b": "x = a <= b",
    "x = a >= b": "x = a > b",
    "x = a in b": "x = a not in b",
    "x = a + b": "x = a - b",
    "x = a * b": "x = a / b",
    "x = a and b": "x = a or b",
    "x = 3": "x = 4",
    "x = 0.0": "x = 1.0",
    "x = True": "x = False",
    "x = floor(a)": "x = ceil(a)",
    "x = math.ceil(a)": "x = math.floor(a)",
    "x = min(a, b)": "x = max(a, b)",
    "if a:\n    pass": "if not a:\n    pass",
    "def f():\n    return a": "def f():\n    return None",
    "def f():\n    a.say(b)": "def f():\n    pass",
}


@pytest.mark.parametrize("code", CHANGES)
def test_a_change_is_the_one_that_is_told(code: str) -> None:
    (mutant,) = mutants_of("it.py", code)
    assert ast.unparse(mutated(code, mutant.number)) == CHANGES[code]
    assert mutant.before in code
    assert mutant.after in CHANGES[code]


def test_each_of_several_things_is_left_out_once() -> None:
    code = "x = {A, B, C}\nmatch e:\n    case P() | Q():\n        pass"
    changed = [ast.unparse(mutated(code, one.number)) for one in mutants_of("it.py", code)]
    assert [one.splitlines()[0] for one in changed[:3]] == [
        "x = {B, C}",
        "x = {A, C}",
        "x = {A, B}",
    ]
    assert ["case Q()" in changed[3], "case P()" in changed[4], len(changed)] == [True, True, 5]


@pytest.mark.parametrize(
    "code",
    [
        "x: dict[str, int]",
        "def f(a: tuple[int, str]) -> Literal[3]:\n    pass",
        "assert a is not None and b > 3",
        "if TYPE_CHECKING:\n    X = 3",
        "@lru_cache(maxsize=64)\ndef f():\n    pass",
        "x = f'{a:.3f}' + 'b'",
        "(a, b) = c",
        "__all__ = ['A', 'B']",
        "class A(Struct, kw_only=True):\n    pass",
    ],
)
def test_types_checks_and_what_is_only_said_are_left_alone(code: str) -> None:
    assert mutants_of("it.py", code) == []


def test_the_sample_is_the_same_each_time_and_of_all_rooms() -> None:
    chosen = sampled(2, 7)
    assert chosen == sampled(2, 7)
    assert [one.path.split("/")[1] for one in chosen] == [room for room in ROOMS for _ in range(2)]
    assert sum(len(modules(room)) for room in ROOMS) > 100


def test_what_may_stay_unnoticed_is_still_a_change_of_the_program_and_has_its_reason() -> None:
    reasons = left()
    known = {one.key for path in {key[0] for key in reasons} for one in mutants_in(ROOT / path)}
    assert reasons.keys() - known == set()
    assert [key for key, why in reasons.items() if len(why) < 20] == []
