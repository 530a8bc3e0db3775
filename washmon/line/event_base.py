"""What all events have in common, and what some of them anchor or cover."""

from datetime import datetime

from msgspec import UNSET, Struct, UnsetType

RULES = "rules"
"""Stands in ``by`` where nobody but the rules engine spoke."""


class Happened(Struct, frozen=True, kw_only=True, tag_field="event", forbid_unknown_fields=True):
    """What all events have in common."""

    at: datetime
    by: str


class Anchoring(Happened, frozen=True, kw_only=True):
    """What stands at a place that is worth anchoring the other chains in.

    ``anchors`` names chains, each with the hash that it ended with when this was written down, so
    that what is cut off there is missed here. Earlier versions wrote none.
    """

    anchors: tuple[tuple[str, str], ...] | UnsetType = UNSET


class Signature(Anchoring, frozen=True, kw_only=True):
    """What all signatures under a shift have in common.

    ``covers`` is the hash that the chain ended with when it was signed: whatever comes later is not
    covered.
    """

    covers: str
