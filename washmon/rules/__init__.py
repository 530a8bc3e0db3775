"""Flags from the state of a shift: what is wrong, how pressing it is, and the one next step.

Every module of this package may hold rules (see :func:`washmon.rules.base.rule`); they are found
by themselves.
"""

import importlib
import pkgutil
from functools import cache

from washmon.rules.base import Rule


@cache
def all_rules() -> tuple[Rule, ...]:
    """Return every rule of this package, by id."""
    found = {}
    for module in pkgutil.iter_modules(__path__):
        for value in vars(importlib.import_module(f"{__name__}.{module.name}")).values():
            if isinstance(value, Rule):
                found[value.id] = value
    return tuple(found[key] for key in sorted(found))


@cache
def _by_id() -> dict[str, Rule]:
    return {rule.id: rule for rule in all_rules()}


def rule_of(id_: str) -> Rule | None:
    """Return the rule with this id; nothing for what no rule of this version says."""
    return _by_id().get(id_)
