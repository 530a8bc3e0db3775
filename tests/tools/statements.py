"""How many statements the program has, by room, docstrings aside, and how many lines.

Run ``python -m tests.tools.statements [FOLDER]``. A sentence under a field or a constant counts as
a statement here: only what Python keeps as a docstring is left out.
"""

import ast
import sys
from collections import Counter
from pathlib import Path

HOLDERS = (ast.Module, ast.ClassDef, ast.FunctionDef, ast.AsyncFunctionDef)


def statements(source: str) -> int:
    """Return the number of statements of a module, docstrings aside."""
    nodes = list(ast.walk(ast.parse(source)))
    documented = sum(isinstance(one, HOLDERS) and bool(ast.get_docstring(one)) for one in nodes)
    return sum(isinstance(one, ast.stmt) for one in nodes) - documented


def main() -> None:
    """Print the counts, the largest room first."""
    root = Path(sys.argv[1] if len(sys.argv) > 1 else "washmon")
    rooms, lines = Counter[str](), 0
    for path in root.rglob("*.py"):
        source = path.read_text("utf-8")
        rooms["/".join(path.relative_to(root).parts[:-1][:2]) or "."] += statements(source)
        lines += source.count("\n")
    for room, count in rooms.most_common():
        print(f"{count:7,}  {room}")  # noqa: T201
    print(f"{rooms.total():7,}  in {lines:,} lines")  # noqa: T201


if __name__ == "__main__":
    main()
