"""Chains are anchored in each other: what is cut off one of them is missed by the others."""

from msgspec import UNSET
from msgspec.structs import replace

from washmon.line.event_base import Anchoring
from washmon.line.events import Event
from washmon.line.journal import SITE
from washmon.store.store import Store

_MOST = 6
"""Chains that were written last, at most, besides the newest shifts."""


def anchored(store: Store, chain: str, event: Event) -> Event:
    """Return an event with the heads of other chains, where its kind is worth it.

    A server that does not answer tells none: then the event is kept without.

    Raises:
        StoreUnavailable: the database can't be read.
    """
    if not isinstance(event, Anchoring) or store.keeps_here:
        return event
    return replace(event, anchors=_heads(store, besides=chain) or UNSET)


def _heads(store: Store, *, besides: str) -> tuple[tuple[str, str], ...]:
    """Return the chains that were written last, but one, each with the hash it ends with.

    They are the site's, those that were written since the database was opened, and the newest
    shifts.
    """
    newest = (row.chain for row in store.shifts(limit=2))
    chains = dict.fromkeys((SITE, *reversed(store.touched[-_MOST:]), *newest))
    heads = ((chain, store.head(chain)) for chain in chains if chain != besides)
    return tuple((chain, head) for chain, head in heads if head is not None)
