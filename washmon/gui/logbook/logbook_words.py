"""Short words of the Logbook: days, spans of time, shares, counts."""

from datetime import datetime, timedelta

from PySide6.QtCore import QDate, QLocale

from washmon.gui.context import UserContext
from washmon.gui.i18n import tr
from washmon.gui.kit.state_mark import MarkState
from washmon.line.flags import Level, StepKind
from washmon.line.setup import Role
from washmon.line.signing import GivenSignature, Signing, SigningStage
from washmon.line.state import ShiftState
from washmon.reports.costs import Cost, decimals_of
from washmon.units import Kind, show

DASH = "–"
LOOKS = {Level.WATCH: MarkState.WATCH, Level.ACT: MarkState.ACT, Level.STOP: MarkState.STOP}


def day(at: datetime) -> str:
    """Return a day with its weekday, as the reader's locale names them."""
    return QLocale().toString(QDate(at.year, at.month, at.day), "ddd d MMM yyyy")


def clock(at: datetime | None) -> str:
    """Return a time of day, in the zone it was written in."""
    return DASH if at is None else f"{at:%H:%M}"


def span(started: datetime, ended: datetime) -> str:
    """Return how long something took."""
    minutes = round((ended - started) / timedelta(minutes=1))
    hours, rest = divmod(minutes, 60)
    if not hours:
        return tr("{minutes} min", minutes=rest)
    return tr("{hours} h {minutes} min", hours=hours, minutes=rest) if rest else f"{hours} h"


def percent(share: float) -> str:
    """Return a share as whole percent; never 0 or 100 for what is only nearly so."""
    if 0 < share < 0.01:
        return "< 1 %"
    if 0.99 < share < 1:
        return "> 99 %"
    return f"{share * 100:.0f} %"


def cost_words(cost: Cost, currency: str, person: UserContext) -> str:
    """Return what something cost; what has no price is not known, never counted as nothing."""
    if not currency or not (cost.whole or cost.known):
        return tr("not known")
    amount = show(
        cost.known,
        Kind.MONEY,
        person.taste,
        person.decimal_point,
        decimals=decimals_of(currency),
    )
    money = f"{amount}\N{NO-BREAK SPACE}{currency}"
    return money if cost.whole else tr("at least {cost}", cost=money)


def done_word(kind: StepKind, count: int) -> str:
    """Return what was done, counted."""
    one, many = {
        StepKind.DOSE: (tr("1 dose"), tr("{count} doses", count=count)),
        StepKind.ACID: (
            tr("1 acid addition"),
            tr("{count} acid additions", count=count),
        ),
        StepKind.CHANGE_WATER: (tr("1 water change"), tr("{count} water changes", count=count)),
        StepKind.LOWER: (tr("1 exchange"), tr("{count} exchanges", count=count)),
        StepKind.HOLD: (tr("1 hold"), tr("{count} holds", count=count)),
    }[kind]
    return one if count == 1 else many


def role_word(role: Role) -> str:
    """Return what somebody does in the shed."""
    return {
        Role.LINE_WORKER: tr("line worker"),
        Role.SUPERVISOR: tr("supervisor"),
        Role.TRAINER: tr("trainer"),
        Role.MANAGER: tr("manager"),
    }[role]


def signing_words(now: Signing, shift: ShiftState) -> str:
    """Return who signed and reviewed a shift, and what came after."""
    if now.signed is None:
        return tr("Not signed yet.")
    said = [tr("Signed by {who}.", who=_given(now.signed, shift))]
    if now.reviewed is not None:
        said.append(tr("Reviewed by {who}.", who=_given(now.reviewed, shift)))
    if now.corrected_at:
        places = ", ".join(str(place) for place in now.corrected_at)
        said.append(tr("Signed, then corrected at entry {places}.", places=places))
    if others := len(now.later) - len(now.corrected_at):
        said.append(
            tr("1 other entry came after signing.")
            if others == 1
            else tr("{count} other entries came after signing.", count=others)
        )
    if now.stage is SigningStage.SIGNED:
        said.append(tr("Waits for a review."))
    elif now.stage is SigningStage.CHANGED:
        said.append(tr("It waits for a review of that."))
    if lacks := len(now.signed.event.doubts):
        said.append(
            tr("Signed with 1 gap in the record.")
            if lacks == 1
            else tr("Signed with {count} gaps in the record.", count=lacks)
        )
    return " ".join(said)


def _given(one: GivenSignature, shift: ShiftState) -> str:
    at = one.event.at
    same_day = at.date() == shift.started.at.date()
    when = clock(at) if same_day else f"{day(at)} {clock(at)}"
    return f"{one.event.by} ({role_word(one.event.role)}), {when}"
