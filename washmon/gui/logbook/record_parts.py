"""What the Logbook reads of one shift: the record, whether it is whole, and who may sign it."""

from collections.abc import Callable
from dataclasses import dataclass

from washmon.gui.i18n import tr
from washmon.line.fold import NotAShift, fold
from washmon.line.journal import SITE, BrokenChain, verify
from washmon.line.pins import Pins, pins_of
from washmon.line.setup import Person, Role
from washmon.line.signing import signing
from washmon.line.state import ShiftState
from washmon.store.errors import Damaged, StoreUnavailable
from washmon.store.store import Store


@dataclass(frozen=True, slots=True)
class ReadShift:
    """A shift as it was read; ``broken`` is the place from which its entries do not follow."""

    shift: ShiftState
    broken: BrokenChain | None
    people: tuple[Person, ...]
    """Of the newest set-up, then those of the shift's own that it has no more."""
    pins: Pins

    def with_role(self, *roles: Role) -> tuple[Person, ...]:
        """Return the people who have one of these roles."""
        return tuple(person for person in self.people if person.role in roles)

    def alarm(self) -> str:
        """Say what is wrong with the entries or the signatures; empty when nothing is."""
        if self.broken is not None:
            return _not_as_written(self.broken)
        if torn := signing(self.shift).torn:
            return tr(
                "This record is not as it was signed: the signature of entry {entry} does not "
                "cover what stands before it now.",
                entry=torn[0],
            )
        return ""


def read_record(chain: str) -> Callable[[Store], ReadShift]:
    """Return a query for the record of a shift."""

    def query(store: Store) -> ReadShift:
        broken = _broken(chain, store)
        try:
            shift = fold(chain, store.entries(chain))
        except (StoreUnavailable, NotAShift) as trouble:
            if broken is None:
                raise
            raise Damaged(_not_as_written(broken)) from trouble
        setup = store.latest_setup()
        now = setup.people if setup else ()
        known = {person.initials for person in now}
        before = (person for person in shift.setup.people if person.initials not in known)
        return ReadShift(shift, broken, (*now, *before), pins_of(store.entries(SITE)))

    return query


def _broken(chain: str, store: Store) -> BrokenChain | None:
    try:
        verify(chain, store.rows(chain))
    except BrokenChain as found:
        return found
    return None


def _not_as_written(broken: BrokenChain) -> str:
    return tr(
        "This record is not as it was written. {what} Nothing from there on can be trusted: keep "
        "the file, and go back to a backup.",
        what=str(broken),
    )
