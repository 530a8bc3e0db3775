"""The house rules that a machine can count: nothing grows past what one can read at a sitting."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
LONGEST_CLASS, LONGEST_FUNCTION, LONGEST_MODULE = 250, 40, 400
"""Lines; of a function without its docstring, which tells how it is called."""
MIGRATIONS = ROOT / "washmon/store/migrations/versions"
"""What a database went through once is not written anew."""
FILES = sorted([*(ROOT / "washmon").rglob("*.py"), *(ROOT / "tests").rglob("*.py")])


def overlong(code: str) -> Iterator[str]:
    """Yield the classes and functions of a module that are too long, with their lines."""
    for node in ast.walk(ast.parse(code)):
        match node:
            case ast.ClassDef():
                most = LONGEST_CLASS
            case ast.FunctionDef() | ast.AsyncFunctionDef():
                most = LONGEST_FUNCTION
            case _:
                continue
        lines = _lines(node)
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) and ast.get_docstring(node):
            lines -= _lines(node.body[0])
        if lines > most:
            yield f"{node.name}: {lines} lines, {most} at most"


def _lines(node: ast.stmt) -> int:
    return (node.end_lineno or node.lineno) - node.lineno + 1


def test_classes_and_functions_are_short_enough_to_read() -> None:
    files = [path for path in FILES if path.parent != MIGRATIONS]
    found = {str(path.relative_to(ROOT)): [*overlong(path.read_text("utf-8"))] for path in files}
    assert {path: long for path, long in found.items() if long} == {}


def test_modules_of_the_program_are_short_enough_to_read() -> None:
    program = [path for path in FILES if path.is_relative_to(ROOT / "washmon")]
    lines = {path.name: len(path.read_text("utf-8").splitlines()) for path in program}
    assert {name: count for name, count in lines.items() if count > LONGEST_MODULE} == {}


@pytest.mark.parametrize("kind", ["def", "class"])
def test_what_is_too_long_is_found(kind: str) -> None:
    most = LONGEST_FUNCTION if kind == "def" else LONGEST_CLASS
    head = f"{kind} it():\n" if kind == "def" else f"{kind} it:\n"
    assert [*overlong(head + "    pass\n" * (most - 1))] == []
    assert [*overlong(head + "    pass\n" * most)] == [f"it: {most + 1} lines, {most} at most"]


def test_every_module_of_the_program_says_what_it_is() -> None:
    program = [path for path in FILES if path.is_relative_to(ROOT / "washmon")]
    told = [(ast.get_docstring(ast.parse(path.read_text("utf-8"))) or "") for path in program]
    assert [path for path, words in zip(program, told, strict=True) if not words] == []
    # One sentence on the first line; more may stand below it.
    assert [words for words in told if not words.splitlines()[0].endswith((".", "?", ":"))] == []


JUDGES = ("line/judging.py", "line/validate", "forecast/", "sessions/practice/")
"""Who may compare with a limit: who judges; who holds limits against each other; who counts draws
of what a level may be; invented people with habits of their own."""
LIMIT = re.compile(
    r"critical_low_mg_l|label_max_mg_l|legal_\w+|turbidity_max_ntu|critical_ph|critical_contact_s"
    r"|look_limit|spec\.contact_s|temperature_rule\.by_c"
    r"|(limits|chlorine|peracetic|ph)\.(low|high|target)(_mg_l)?\b"
)
ORDERED = (ast.Lt, ast.LtE, ast.Gt, ast.GtE)


def compared_limits(code: str) -> Iterator[str]:
    """Yield the comparisons of a module that have a limit of a set-up on either side."""
    for node in ast.walk(ast.parse(code)):
        if isinstance(node, ast.Compare) and any(isinstance(op, ORDERED) for op in node.ops):
            sides = [ast.unparse(one) for one in (node.left, *node.comparators)]
            if any(LIMIT.search(side) for side in sides):
                yield ast.unparse(node)


def test_nobody_but_the_judge_compares_a_value_with_a_limit() -> None:
    program = ROOT / "washmon"
    names = {path: path.relative_to(program).as_posix() for path in program.rglob("*.py")}
    found = {
        name: [*compared_limits(path.read_text("utf-8"))]
        for path, name in names.items()
        if not name.startswith(JUDGES)
    }
    assert {name: told for name, told in found.items() if told} == {}


@pytest.mark.parametrize(
    "code",
    ["level < spec.limits.low_mg_l", "1 <= x <= tank.turbidity_max_ntu", "ph > spec.ph.high"],
)
def test_a_comparison_with_a_limit_is_found(code: str) -> None:
    assert [*compared_limits(code)] == [code]
    assert [*compared_limits("under_low(level, spec) and spec.critical_ph is not None")] == []


def imports_of(module: str, code: str, modules: frozenset[str]) -> set[str]:
    """Return the modules that one names anywhere: in functions and for types only, too."""
    named: set[str] = set()
    for node in ast.walk(ast.parse(code)):
        match node:
            case ast.Import(names=names):
                named |= {one.name for one in names}
            case ast.ImportFrom(module=str(origin), names=names):
                full = {f"{origin}.{one.name}" for one in names}
                named |= {one if one in modules else origin for one in full}
    return (named & modules) - {module}


def circles(imports: dict[str, set[str]]) -> list[tuple[str, ...]]:
    """Return what is left when modules are taken away that import nothing of what is left."""
    left = {module: set(named) for module, named in imports.items()}
    while ends := [module for module, named in left.items() if not named & left.keys()]:
        for module in ends:
            del left[module]
    # What is only led to by a circle is none of it.
    while starts := set(left) - {one for named in left.values() for one in named}:
        for module in starts:
            del left[module]
    return [tuple(sorted(left))] if left else []


def test_no_module_imports_itself_by_way_of_others() -> None:
    program = {
        ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__"): path
        for path in (ROOT / "washmon").rglob("*.py")
    }
    modules = frozenset(program)
    imports = {
        module: imports_of(module, path.read_text("utf-8"), modules)
        for module, path in program.items()
    }
    assert circles(imports) == []


def test_a_circle_is_found_in_functions_and_among_types_too() -> None:
    modules = frozenset({"a", "a.b", "c", "d"})
    typed = "if TYPE_CHECKING:\n    from c import C"
    late = "def f():\n    from a import b"
    assert imports_of("a.b", typed, modules) == {"c"}
    assert imports_of("c", late, modules) == {"a.b"}
    assert circles({"a.b": {"c"}, "c": {"a.b"}, "d": {"c"}, "a": {"d"}}) == [("a.b", "c")]
    assert circles({"a.b": {"c"}, "c": set(), "d": {"c"}}) == []


ITERATORS = {"enumerate", "filter", "finditer", "iter", "map", "reversed", "zip"}
"""What is true even of nothing, as it only may yield something."""


def hollow(code: str) -> Iterator[str]:
    """Yield the assertions of a module that hold, too, where there is nothing to look at.

    Those are ``all`` of what may be empty (see ``tests/some.py``), unless hypothesis draws it and
    nothing is one of the draws, and an iterator, which is true before it has yielded anything.
    """
    tree = ast.parse(code)
    drawn = {id(one) for test in ast.walk(tree) if _is_drawn(test) for one in ast.walk(test)}
    for node in ast.walk(tree):
        if not isinstance(node, ast.Assert):
            continue
        calls = [one for one in ast.walk(node.test) if isinstance(one, ast.Call)]
        never = _called(node.test) in ITERATORS or isinstance(node.test, ast.GeneratorExp)
        if never or (id(node) not in drawn and any(_may_be_of_nothing(one) for one in calls)):
            yield ast.unparse(node)


def _is_drawn(node: ast.AST) -> bool:
    marks = node.decorator_list if isinstance(node, ast.FunctionDef) else []
    return any(_called(mark) == "given" for mark in marks)


def _called(node: ast.AST) -> str:
    match node:
        case ast.Call(func=ast.Name(id=name)) | ast.Call(func=ast.Attribute(attr=name)):
            return name
    return ""


def _may_be_of_nothing(call: ast.Call) -> bool:
    if not isinstance(call.func, ast.Name) or call.func.id != "all":
        return False
    things: ast.expr = call.args[0]
    if isinstance(things, ast.GeneratorExp | ast.ListComp):
        if any(loop.ifs for loop in things.generators):
            return True
        things = things.generators[0].iter
    if isinstance(things, ast.Tuple | ast.List):
        return all(isinstance(one, ast.Starred) for one in things.elts)
    return _called(things) != "some"


def _test_codes() -> dict[str, str]:
    tests = ROOT / "tests"
    return {
        path.relative_to(tests).as_posix(): path.read_text("utf-8") for path in tests.rglob("*.py")
    }


def test_no_assertion_holds_because_there_is_nothing_to_look_at() -> None:
    found = {name: [*hollow(code)] for name, code in _test_codes().items()}
    assert {name: told for name, told in found.items() if told} == {}


@pytest.mark.parametrize(
    "code",
    [
        "assert all((one > 0 for one in found))",
        "assert all(found)",
        "assert all((one for one in (*found,)))",
        "assert all((one for one in some(found) if one))",
        "assert root.iter('line')",
        "assert (one for one in found)",
    ],
)
def test_an_assertion_over_nothing_is_found(code: str) -> None:
    assert [*hollow(code)] == [code]
    assert [*hollow("assert all((one > 0 for one in some(found))) and all((a, b))")] == []
    assert [*hollow(f"@given(st.text())\ndef test_it(found):\n    {code}")] in ([], [code])


def test_no_test_module_imports_from_another() -> None:
    lent = re.compile(r"^(?:from|import) tests\.(?:\w+\.)*test_\w+", re.MULTILINE)
    codes = {name: code for name, code in _test_codes().items() if "/test_" in f"/{name}"}
    assert [name for name, code in codes.items() if lent.search(code)] == []
    assert lent.search("from tests.line.test_check import shed")


CLOCKS = {"perf_counter", "process_time", "thread_time"}


def timed(codes: dict[str, str]) -> Iterator[str]:
    """Yield the tests outside of benchmarks that take times, and are not marked as benchmarks.

    ``codes`` are by path. What takes times calls a clock, or what does so in its own module or in
    one of ``tests`` that it imports from; the bench of the obedient supervisor only tells times.
    """
    watched = {name for name in codes if not name.startswith(("benchmarks/", "obedience/"))}
    trees = {name: ast.parse(codes[name]) for name in watched}
    takers = {_module(name): _takers(tree, set()) for name, tree in trees.items()}
    for name, tree in trees.items():
        lent = {
            alias.name
            for one in ast.walk(tree)
            if isinstance(one, ast.ImportFrom)
            for alias in one.names
            if alias.name in takers.get(one.module or "", ())
        }
        for test in _takers(tree, lent):
            if test.startswith("test_") and not _is_marked(tree, test):
                yield f"{name}: {test}"


def _module(name: str) -> str:
    return f"tests.{name.removesuffix('.py').replace('/', '.')}"


def _takers(tree: ast.Module, lent: set[str]) -> set[str]:
    """Return the functions of a module that call a clock, or what was lent to it, or each other."""
    calls = {one.name: _calls(one) for one in tree.body if isinstance(one, ast.FunctionDef)}
    found: set[str] = set()
    while (
        more := {name for name, called in calls.items() if called & (CLOCKS | lent | found)} - found
    ):
        found |= more
    return found


def _calls(node: ast.AST) -> set[str]:
    return {_called(one) for one in ast.walk(node)}


def _is_marked(tree: ast.Module, test: str) -> bool:
    return any(
        ast.unparse(mark) == "pytest.mark.benchmark_ratio"
        for one in tree.body
        if isinstance(one, ast.FunctionDef) and one.name == test
        for mark in one.decorator_list
    )


def test_no_two_modules_of_tests_have_one_name() -> None:
    """Or pytest, which imports them by their names, collects neither of them in a whole run."""
    names = [path.name for path in FILES if path.name.startswith("test_")]
    assert len(names) > 300
    assert sorted(names) == sorted(set(names))


def test_times_are_taken_in_benchmarks_only() -> None:
    assert [*timed(_test_codes())] == []


def test_a_test_that_takes_times_is_found() -> None:
    helper = "def best():\n    return time.perf_counter()\n"
    test = "from tests.help import best\ndef test_it():\n    assert best() < 1\n"
    marked = test.replace("def ", "@pytest.mark.benchmark_ratio\ndef ")
    assert [*timed({"help.py": helper, "test_a.py": test})] == ["test_a.py: test_it"]
    assert [*timed({"help.py": helper, "test_a.py": marked, "benchmarks/test_b.py": test})] == []


TOLD = ("chemistry", "units")
"""Rooms whose functions tell each argument, with its unit, where there are many or arrays."""


def untold_arguments(code: str) -> Iterator[str]:
    """Yield the public functions with arrays, or more than three arguments, that tell none."""
    for node in ast.walk(ast.parse(code)):
        if not isinstance(node, ast.FunctionDef) or node.name.startswith("_"):
            continue
        given = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]
        own = [one for one in given if one.arg not in {"self", "cls"}]
        arrays = any("NDArray" in ast.unparse(one.annotation) for one in own if one.annotation)
        if (len(own) > 3 or arrays) and "\nArgs:\n" not in (ast.get_docstring(node) or ""):
            yield node.name


def test_functions_of_chemistry_and_units_tell_their_arguments() -> None:
    files = [path for room in TOLD for path in (ROOT / "washmon" / room).rglob("*.py")]
    found = {path.name: [*untold_arguments(path.read_text("utf-8"))] for path in files}
    assert {name: told for name, told in found.items() if told} == {}


@pytest.mark.parametrize("arguments", ["a, b, c, d", "a: NDArray[np.float64]"])
def test_an_argument_that_is_not_told_is_found(arguments: str) -> None:
    assert [*untold_arguments(f'def dose({arguments}):\n    """Dose."""')] == ["dose"]
    assert [*untold_arguments("def dose(a, b, c):\n    pass")] == []
    told = f'def dose({arguments}):\n    """Dose.\n\n    Args:\n        a: mg/L.\n    """'
    assert [*untold_arguments(told)] == []
