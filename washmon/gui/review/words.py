"""Short words of the review: how long a shift has waited, and what in it deviates."""

from washmon.gui.i18n import tr
from washmon.gui.kit.state_mark import MarkState
from washmon.line.deviating import Deviations
from washmon.line.working_days import REVIEW_WITHIN, WARNED_AT


def days_words(days: int) -> str:
    """Return how many of the working days are gone."""
    if days <= REVIEW_WITHIN:
        return tr("{days} of {most} working days", days=days, most=REVIEW_WITHIN)
    return tr("{days} working days, {most} are allowed", days=days, most=REVIEW_WITHIN)


def look_of(days: int) -> MarkState | None:
    """Return the mark of a shift that has waited so long; None: there is time."""
    if days > REVIEW_WITHIN:
        return MarkState.ACT
    return MarkState.WATCH if days >= WARNED_AT else None


def deviating_words(found: Deviations) -> str:
    """Return what deviates, counted."""
    counts = (
        (len(found.readings), tr("1 reading"), tr("{count} readings")),
        (len(found.batches), tr("1 batch"), tr("{count} batches")),
        (len(found.actions), tr("1 other entry"), tr("{count} other entries")),
        (found.flags, tr("1 flag"), tr("{count} flags")),
        (found.holds, tr("1 hold"), tr("{count} holds")),
        (found.corrections, tr("1 correction"), tr("{count} corrections")),
        (len(found.said), tr("1 gap in the record"), tr("{count} gaps in the record")),
    )
    said = [one if count == 1 else many.format(count=count) for count, one, many in counts if count]
    return ", ".join(said) or tr("Nothing deviates")
