"""The recorder: from an entry to journal, state, flags and snapshot, on one background thread.

It owns the database and is its only writer. An entry is committed before any rule runs; what the
rules find is committed after it. A hold alone waits for an estimate, which is part of what it says;
where that fails, it is committed without. Nothing here knows the window, so all runs headless too.
"""

from collections.abc import Callable, Sequence
from concurrent.futures import Future
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import TypeVar

from washmon.line.events import Event, ShiftStarted
from washmon.line.finding import Fault
from washmon.line.fold import begin, fold, step
from washmon.line.journal import SITE, Entry
from washmon.line.message import Message
from washmon.line.site_events import SetupSaved, ThingRegistered
from washmon.line.state import ShiftState
from washmon.planning.advice import Advice, advise, changed_flags
from washmon.planning.snapshot import Mode, Snapshot
from washmon.recorder.anchoring import anchored
from washmon.recorder.answers import Answer, Doubtful, Failed, Refused, Saved, refused
from washmon.recorder.foresight import Foresight
from washmon.recorder.site import Site, SiteEvent, told_to_shift
from washmon.recorder.stamping import with_chances, with_days, with_doubts
from washmon.recorder.starting import (
    begin_chain,
    import_shift,
    refresh,
    resume,
    start_refusal,
)
from washmon.recorder.timekeeping import Timekeeper, elapsed_s, told
from washmon.recorder.troubles import KEEPING, Troubles
from washmon.recorder.worker import Worker
from washmon.rules.entering import check_entry
from washmon.store.errors import StoreUnavailable
from washmon.store.store import Store

T = TypeVar("T")
Clock = Callable[[], datetime]
TICK_S = 10.0
_LEFT_AT_START = 20
AHEAD_S = 0.2
"""So long after an entry the forecast is made, unless somebody says before that it is drawn."""


def wall_clock() -> datetime:
    """Return now, with the offset of the shed's time zone."""
    return datetime.now().astimezone()


class Recorder:
    """Takes entries, keeps the state of the running shift, and publishes snapshots.

    ``publish`` is called on the recorder's thread with each new snapshot. ``line`` names its line,
    where several share a database. What an entry means for the time ahead is worked out ``ahead_s``
    seconds after it, when nobody waits, and published again; with 0, before it is answered.
    ``passing_s`` counts seconds that nobody sets, against which the clock is held.
    """

    def __init__(
        self,
        store: Store,
        publish: Callable[[Snapshot], None],
        *,
        clock: Clock = wall_clock,
        tick_s: float = TICK_S,
        ahead_s: float = AHEAD_S,
        line: str | None = None,
        passing_s: Callable[[], float] | None = None,
    ) -> None:
        self._store, self._line = store, line
        self._publish, self._clock = publish, clock
        self._time = Timekeeper(clock, passing_s or (elapsed_s if clock is wall_clock else None))
        self._tick_s = tick_s
        self._worker = Worker("recorder", self._idle, lambda: self._troubles.told("working"))
        self._shift: ShiftState | None = None
        self._advice, self._troubles, put = Advice(), Troubles(), self._worker.put
        self._ahead = Foresight(ahead_s, store, self._troubles, partial(put, self._go_on))
        self.note_drawn = partial(put, self._ahead.hurry)
        """Tells, from any thread, that the newest snapshot is drawn: what takes long may begin."""
        self._site = Site(store, line, partial(self._append, SITE), self._time)

    # -- called from any thread ---------------------------------------------------------------

    def start(self) -> None:
        """Begin: take up the running shift, if there is one, and publish a first snapshot."""
        self._worker.put(self._take_up)
        self._worker.put(partial(_read_site_ahead, self._store, self._worker, self._troubles))
        self._worker.start()

    def enter(
        self, event: Event, *, chain: str | None = None, sure: bool = False, pin: str = ""
    ) -> Future[Answer]:
        """Journal an event; ``chain`` names a past shift, else it goes to the running one.

        ``sure`` takes an entry in spite of doubts, which are recorded with it. ``pin`` is of who
        enters, for signatures and for changes of PINs.
        """
        return self._worker.soon(lambda: self._enter(event, chain, sure=sure, pin=pin))

    def take_in(self, chain: str, events: Sequence[Event]) -> Future[Answer]:
        """Journal a whole past shift that was kept elsewhere; all of it or nothing."""
        return self._worker.soon(
            lambda: _take_in(self._store, chain, events, self._clock(), self._troubles)
        )

    def read(self, query: Callable[[Store], T]) -> "Future[T]":
        """Run a query for the Logbook on the recorder's thread."""
        return self._worker.soon(lambda: query(self._store))

    def vouch(self, by: str, pin: str) -> "Future[Fault | None]":
        """Tell why somebody is not taken for a manager; a wrong PIN is journaled and slows down."""
        return self._worker.soon(lambda: self._site.vouch(by, pin))

    def first_flag(self, moments: Sequence[datetime]) -> "Future[datetime | None]":
        """Find the first moment at which a new flag would be up, or a plan ask for a hand."""
        return self._worker.soon(lambda: self._ahead.first_flag(self._shift, moments))

    def look_again(self) -> "Future[None]":
        """Judge the running shift at this moment and publish a snapshot."""
        return self._worker.soon(self._tick)

    def close(self) -> None:
        """Finish what was asked for, then close the database; waits for it."""
        self._worker.close()
        self._store.close()

    # -- on the recorder's thread -------------------------------------------------------------

    def _idle(self) -> tuple[float, Callable[[], None]]:
        """Tell how long to wait for an entry, and what is done where none comes."""
        if self._ahead.next_s is None:
            return self._tick_s, self._tick
        return self._ahead.next_s, self._look_ahead

    def _take_up(self) -> None:
        with self._troubles.told("reading"):
            self._site.take_up()
            self._shift = resume(self._store, self._line, self._shift)
            self._time.take_up(self._shift, alone=isinstance(self._store.place, Path))
            self._mind_the_clock()
            _keep_missing_summaries(self._store, self._troubles)
        self._judge(plans=False)
        self._show()
        self._soon_ahead()

    def _tick(self) -> None:
        self._troubles.hear(KEEPING, self._store.heed)
        if self._store.read_only:
            self._take_up()
            return
        with self._troubles.told("reading"):
            before, self._shift = self._shift, refresh(self._store, self._shift)
            self._time.alone &= before is self._shift
            self._mind_the_clock()
        self._judge()
        self._show()
        self._soon_ahead()

    def _enter(self, event: Event, chain: str | None, *, sure: bool, pin: str) -> Answer:
        if self._store.read_only:
            return Failed(Message("This window only reads: enter it in the one that writes."))
        try:
            self._mind_the_clock()
            return self._commit(event, chain, sure=sure, pin=pin)
        except StoreUnavailable as trouble:
            told = self._troubles.note("saving", str(trouble))
            self._show()
            return Failed(told)

    def _mind_the_clock(self) -> None:
        """Journal it where the clock was set, and go on by the time that has passed."""
        if self._store.read_only or (found := self._time.set_since()) is None:
            return
        shift, moves = self._shift, self._time.moves(self._shift)
        if shift is not None and moves:
            self._shift = step(shift, self._append(shift.chain, found))
            self._ahead.known.forget()
        self._time.settle()
        self._troubles.remark(found.at, told(found, moved=moves))

    def _commit(self, event: Event, chain: str | None, *, sure: bool, pin: str) -> Answer:
        if isinstance(event, ShiftStarted):
            return self._start_shift(event)
        if isinstance(event, SiteEvent):
            return self._commit_to_site(event, pin)
        return self._commit_to_shift(event, chain, sure=sure, pin=pin)

    def _commit_to_shift(self, event: Event, chain: str | None, *, sure: bool, pin: str) -> Answer:
        shift = self._shift_of(chain)
        if shift is None:
            return refused("No shift is running: start one first.")
        now = self._clock()
        verdict = check_entry(shift, event, now, self._ahead.fresh(shift, event, now))
        if faults := verdict.faults or self._site.entry_faults(shift, event, pin):
            return Refused(faults)
        if verdict.doubts and not sure:
            return Doubtful(verdict.doubts)
        event = with_days(with_doubts(event, verdict), shift, self._store, now)
        event = with_chances(event, shift, self._ahead.known, self._clock(), self._troubles)
        entry = self._append(shift.chain, event)
        with self._troubles.told("following an entry"):  # it is saved, whatever comes now
            self._follow(shift, entry)
        return Saved(shift.chain, entry, self._store.keeps_here)

    def _commit_to_site(self, event: SiteEvent, pin: str) -> Answer:
        answer, shift = self._site.commit(event, pin), self._shift
        if isinstance(event, SetupSaved):
            self._show()
        if not isinstance(event, ThingRegistered) or not isinstance(answer, Saved):
            return answer
        if shift is not None and (news := told_to_shift(shift, event)) is not None:
            with self._troubles.told("following an entry"):  # it is saved, whatever comes now
                self._follow(shift, self._append(shift.chain, news))
        return answer

    def _follow(self, shift: ShiftState, entry: Entry) -> None:
        """Fold an entry that is on the disk, and judge and show what it comes to."""
        missed = entry.seq != shift.last_seq + 1
        self._time.alone &= not missed
        after = _read_anew(self._store, shift.chain) if missed else step(shift, entry)
        newest = self._shift is not None and self._shift.chain == after.chain
        with self._troubles.told("remembering"):  # that is for the next shift: this one goes on
            self._site.remember(after, entry.event, newest=newest)
        if newest:
            self._shift = after
            self._judge(plans=False)
            after = self._shift  # what the end cleared is summed up, too
        if after.ended is not None:
            _keep_summary(self._store, after, self._troubles)
        self._show()
        self._soon_ahead()

    def _start_shift(self, event: ShiftStarted) -> Answer:
        running = self._shift is not None and self._shift.ended is None
        fault = self._site.gate.starter_fault(event)
        if (refusal := start_refusal(event, self._clock(), fault, running=running)) is not None:
            return refusal
        chain, entry = begin_chain(self._store, event, self._clock(), self._line)
        self._troubles.over("saving")
        self._shift, self._time.alone = begin(chain, entry), True
        self._judge()
        self._show()
        self._soon_ahead()
        return Saved(chain, entry)

    def _shift_of(self, chain: str | None) -> ShiftState | None:
        if chain is None or (self._shift is not None and self._shift.chain == chain):
            return self._shift
        return _read_anew(self._store, chain)

    def _append(self, chain: str, event: Event) -> Entry:
        (entry,) = self._store.append(chain, [anchored(self._store, chain, event)], self._clock())
        self._troubles.over("saving")
        self._troubles.hear(KEEPING, self._store.heed)
        return entry

    def _judge(self, *, plans: bool = True) -> None:
        """Ask the rules, journal what they raised or cleared; without ``plans``, those follow."""
        if self._shift is None:
            self._advice, self._ahead.newest = Advice(), {}
            return
        now, told = self._clock(), {one.tank: one.plan for one in self._advice.tanks}
        stale = self._ahead.stale(self._shift, now, plans=plans)
        with self._troubles.told("judging"):
            known = self._ahead.newest
            self._advice = advise(self._shift, now, forecasts=known, stale=stale, told=told)
            changed = changed_flags(self._shift, self._advice, now)
            if changed is not None and not self._store.read_only:
                self._shift = step(self._shift, self._append(self._shift.chain, changed))

    def _soon_ahead(self) -> None:
        self._ahead.soon(self._shift)
        while self._ahead.next_s == 0:
            self._look_ahead()

    def _look_ahead(self) -> None:
        """Renew one tank's forecast; once all are new, judge with them and publish."""
        if self._ahead.look(self._shift, self._clock):
            self._judge()
            self._show()

    def _go_on(self) -> None:
        with self._troubles.told("keeping what was learned"):
            self._shift = self._ahead.keep_learned(self._shift, self._clock(), self._append)
        self._show()
        self._soon_ahead()

    def _show(self) -> None:
        self._publish(
            Snapshot(
                now=self._clock(),
                mode=Mode.READ_ONLY if self._store.read_only else Mode.LIVE,
                setup=self._site.setup,
                shift=self._shift,
                advice=self._advice,
                forecasts=self._ahead.newest,
                trouble=self._troubles.first(self._clock()),
            )
        )


def _read_site_ahead(store: Store, worker: Worker, troubles: Troubles) -> None:
    """Read the site's chain, a piece between two jobs: the first PIN or shift asks for it."""
    with troubles.told("reading"):
        if store.read_site_ahead():
            worker.put(partial(_read_site_ahead, store, worker, troubles))


def _read_anew(store: Store, chain: str) -> ShiftState:
    return fold(chain, store.entries(chain))


def _take_in(
    store: Store, chain: str, events: Sequence[Event], now: datetime, troubles: Troubles
) -> Answer:
    taken = import_shift(store, chain, events, now)
    if isinstance(taken, Saved):
        _keep_summary(store, _read_anew(store, chain), troubles)
    return taken


def _keep_missing_summaries(store: Store, troubles: Troubles) -> None:
    """Sum up what a power cut left; many are what an upgrade left: they are renewed meanwhile."""
    left = () if store.read_only else store.shifts_without_summary()
    for chain in left if len(left) <= _LEFT_AT_START else ():
        _keep_summary(store, _read_anew(store, chain), troubles)


def _keep_summary(store: Store, shift: ShiftState, troubles: Troubles) -> None:
    """Keep an ended shift's summary for the Logbook."""
    with troubles.told("summing up"):
        from washmon.recorder.summaries import file_away  # noqa: PLC0415 - start-up is measured

        file_away(store, shift)
