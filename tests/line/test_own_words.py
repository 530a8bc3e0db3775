"""What a shed writes often is offered first; what ties a sentence to one shift is left out."""

from tests.shed import Shed
from washmon.line.events import Decision, HoldReleased, NoteWritten
from washmon.line.own_words import OwnWords, own_words


def test_the_words_of_a_shed_come_by_their_use_then_the_newest_first() -> None:
    shed = Shed()
    for text in ("loader late", " muddy ", "rain", "loader late", "x" * 61):
        shed.tell(NoteWritten(at=shed.now, by="RM", text=text))
    told = own_words(shed.shift.entries)
    assert told.notes == ("loader late", "rain", "muddy")
    assert told.prevention == ()
    written = shed.tell(NoteWritten(at=shed.now, by="RM", text="muddy"))
    assert told.with_entry(written).notes == ("muddy", "loader late", "rain")


def test_a_sentence_is_kept_without_the_batches_it_was_written_for() -> None:
    shed = Shed()
    shed.fill()
    (washed,) = shed.wash()
    held = shed.hold(washed.seq)
    entry = shed.tell(
        HoldReleased(
            at=shed.now,
            by="RM",
            hold=held.seq,
            decision=Decision.DISCARD,
            reason="one batch thrown away",
            prevention="The night crew reads it too (one batch, 07:00, lot L-1)",
        )
    )
    assert OwnWords().with_entry(entry).prevention == ("The night crew reads it too",)
