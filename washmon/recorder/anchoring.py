"""Chains are anchored in each other: what is cut off one of them is missed by the others."""

from msgspec import UNSET
from msgspec.structs import replace

from washmon.line.event_base import Anchoring
from washmon.line.events import Event
from washmon.store.store import Store


def anchored(store: Store, chain: str, event: Event) -> Event:
    """Return an event with the heads of other chains, where its kind is worth it.

    A server that does not answer tells none: then the event is kept without.

    Raises:
        StoreUnavailable: the database can't be read.
    """
    if not isinstance(event, Anchoring) or store.keeps_here:
        return event
    return replace(event, anchors=store.newest_heads(besides=chain) or UNSET)
