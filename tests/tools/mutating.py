"""Small wrong changes to a module's code, each of which some test should notice."""

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import chain
from typing import Any

SWAPPED: dict[type[ast.AST], type[ast.AST]] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.And: ast.Or,
    ast.Or: ast.And,
}
RENAMED = {"floor": "ceil", "ceil": "floor", "min": "max", "max": "min", "any": "all", "all": "any"}
DISPLAYS = ast.Tuple | ast.List | ast.Set


@dataclass(frozen=True)
class Mutant:
    """One change: where, what stands there, and what stands there instead.

    ``lines`` are those of the statement, by which its tests are found; ``number`` counts the
    changes of the module.
    """

    path: str
    where: str
    lines: tuple[int, int]
    before: str
    after: str
    number: int

    def __str__(self) -> str:
        return f"{self.path}:{self.lines[0]} {self.where}: {self.before}  ->  {self.after}"

    @property
    def key(self) -> tuple[str, str, str, str]:
        """What stays the same when lines move."""
        return self.path, self.where, self.before, self.after


@dataclass(frozen=True)
class _Change:
    """``holder``'s ``key`` becomes ``new``; ``shown`` is the code around it."""

    holder: Any
    key: str | int
    new: Any
    shown: ast.AST

    def swap(self) -> Any:
        """Put the new in and return the old."""
        if isinstance(self.key, str):
            old = getattr(self.holder, self.key)
            setattr(self.holder, self.key, self.new)
            return old
        old, self.holder[self.key] = self.holder[self.key], self.new
        return old

    def texts(self) -> tuple[str, str]:
        """Return the code around it before and after; the tree stays as it was."""
        before = _short(self.shown)
        old = self.swap()
        shown = self.new if self.shown is old else self.shown
        after = _short(shown)
        _Change(self.holder, self.key, old, self.shown).swap()
        return before, after


def _short(node: ast.AST) -> str:
    """Return the first line of a node's code."""
    return ast.unparse(node).partition("\n")[0]


def mutants_of(path: str, code: str) -> list[Mutant]:
    """Return every change that is made to a module, in the order of its code."""
    found = []
    for number, (where, lines, change) in enumerate(_changes(ast.parse(code))):
        found.append(Mutant(path, where, lines, *change.texts(), number))
    return found


def mutated(code: str, number: int) -> ast.Module:
    """Return the code of a module with one change in it."""
    tree = ast.parse(code)
    for turn, (_, _, change) in enumerate(_changes(tree)):
        if turn == number:
            change.swap()
            return ast.fix_missing_locations(tree)
    raise IndexError(number)


def starts(code: str) -> dict[str, int]:
    """Return the line on which each function and class of a module begins, by its name."""
    return dict(_starts(ast.parse(code), ""))


def _starts(node: ast.AST, where: str) -> Iterator[tuple[str, int]]:
    for one in ast.iter_child_nodes(node):
        inner = where
        if isinstance(one, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
            inner = f"{where}.{one.name}".lstrip(".")
            yield inner, one.lineno
        yield from _starts(one, inner)


Place = tuple[str, tuple[int, int]]


def _changes(tree: ast.Module) -> Iterator[tuple[str, tuple[int, int], _Change]]:
    yield from _inside(tree, ("", (1, 1)))


def _inside(node: ast.AST, place: Place) -> Iterator[tuple[str, tuple[int, int], _Change]]:
    """Yield the changes of a node and of what is in it, but not of types and of what is told."""
    where, lines = place
    if isinstance(node, ast.stmt | ast.match_case):
        lines = _head(node)
    if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
        where = f"{where}.{node.name}".lstrip(".")
    if _is_left_alone(node):
        return
    for change in chain(_of_statements(node), _of_operators(node), _of_values(node)):
        yield where, _head(change.shown) if isinstance(change.shown, ast.Expr) else lines, change
    for name, value in ast.iter_fields(node):
        if name in {"annotation", "returns", "type_params", "format_spec"}:
            continue
        for one in value if isinstance(value, list) else [value]:
            if isinstance(one, ast.AST):
                yield from _inside(one, (where, lines))


def _is_left_alone(node: ast.AST) -> bool:
    """Whether a node is a check for the type checker, a cache's size, or a type."""
    match node:
        case ast.Assert() | ast.Import() | ast.ImportFrom():
            return True
        case ast.If(test=ast.Name(id="TYPE_CHECKING")):
            return True
        case ast.keyword(arg="kw_only") | ast.Assign(targets=[ast.Name(id="__all__")]):
            return True  # neither changes anything that runs as it is written
        case ast.Call(func=ast.Name(id="lru_cache" | "TypeVar" | "cast" | "assert_never")):
            return True
        case ast.Subscript(slice=ast.Tuple()):
            return True
    return False


def _head(node: ast.stmt | ast.match_case) -> tuple[int, int]:
    """Return the lines of a statement without those of its body."""
    if isinstance(node, ast.match_case):
        return node.pattern.lineno, (node.guard or node.pattern).end_lineno or node.pattern.lineno
    body: list[ast.AST] = [*getattr(node, "body", []), *getattr(node, "cases", [])]
    if not body:
        return node.lineno, node.end_lineno or node.lineno
    first = body[0].pattern if isinstance(body[0], ast.match_case) else body[0]
    return node.lineno, max(node.lineno, getattr(first, "lineno", node.lineno) - 1)


def _of_statements(node: ast.AST) -> Iterator[_Change]:
    """Yield that a call made for what it does is dropped."""
    for name in ("body", "orelse", "finalbody"):
        body = getattr(node, name, None)
        if isinstance(body, list):
            for at, one in enumerate(body):
                if isinstance(one, ast.Expr) and isinstance(one.value, ast.Call):
                    yield _Change(body, at, ast.Pass(), one)


def _of_operators(node: ast.AST) -> Iterator[_Change]:
    """Yield other boundaries, signs and connectives, and conditions turned round."""
    match node:
        case ast.Compare(ops=ops):
            for at, op in enumerate(ops):
                yield _Change(ops, at, SWAPPED[type(op)](), node)
        case ast.BinOp(op=op) if type(op) in SWAPPED and not _is_text(node):
            yield _Change(node, "op", SWAPPED[type(op)](), node)
        case ast.BoolOp(op=op):
            yield _Change(node, "op", SWAPPED[type(op)](), node)
        case ast.If(test=test) | ast.IfExp(test=test) | ast.While(test=test):
            yield _Change(node, "test", ast.UnaryOp(ast.Not(), test), test)


def _of_values(node: ast.AST) -> Iterator[_Change]:
    """Yield other numbers, roundings and results, and each thing left out of several."""
    match node:
        case ast.Constant(value=bool() | int() | float() as value):
            yield _Change(node, "value", _moved(value), node)
        case ast.Call(func=ast.Name(id=name) as func) if name in RENAMED:
            yield _Change(func, "id", RENAMED[name], node)
        case ast.Call(func=ast.Attribute(attr=name) as func) if name in RENAMED:
            yield _Change(func, "attr", RENAMED[name], node)
        case ast.Return(value=ast.expr() as value) if not _is_none(value):
            yield _Change(node, "value", ast.Constant(None), node)
        case ast.Tuple() | ast.List() | ast.Set():
            yield from _dropped(node, "elts", node.elts)
        case ast.MatchOr(patterns=patterns):
            yield from _dropped(node, "patterns", patterns)


def _dropped(node: ast.AST, key: str, parts: list[Any]) -> Iterator[_Change]:
    if isinstance(getattr(node, "ctx", None), ast.Store) or len(parts) < 2:
        return
    for at in range(len(parts)):
        yield _Change(node, key, parts[:at] + parts[at + 1 :], node)


def _moved(value: float) -> float:
    """Return another number: the other truth, the next whole one, a tenth more."""
    if isinstance(value, bool):
        return not value
    if isinstance(value, int):
        return value + 1
    return value * 1.1 if value else 1.0


def _is_none(node: ast.expr) -> bool:
    return isinstance(node, ast.Constant) and node.value is None


def _is_text(node: ast.BinOp) -> bool:
    sides = (node.left, node.right)
    return any(
        isinstance(side, ast.JoinedStr)
        or (isinstance(side, ast.Constant) and isinstance(side.value, str))
        for side in sides
    )
