"""The printed record: the same bytes each time, every page numbered, every letter accounted for."""

import errno
import io
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from msgspec.structs import replace
from pypdf import PdfReader

from tests.gui.logbook.past import troubled_shift, with_checks
from tests.reports.paper_read import HOSTILE, flat, texts
from tests.reports.telling import told_shifts
from tests.shed import Shed, a_peracetic_setup, a_setup, a_tank
from tests.some import some
from washmon.line.events import (
    Decision,
    HoldReleased,
    NoteWritten,
    ReadingTaken,
    ShiftEnded,
    ShiftReviewed,
    ShiftSigned,
)
from washmon.line.fold import fold
from washmon.line.setup import Role
from washmon.line.state import ShiftState
from washmon.reports.files import ExportError
from washmon.reports.paper import PaperSize
from washmon.reports.printed import printed, record_name, write_record, write_records
from washmon.units import UnitSystem


def troubled() -> ShiftState:
    return with_checks(troubled_shift(), missed=True)


def test_the_same_shift_prints_to_the_same_bytes() -> None:
    shift = troubled()
    again = fold(shift.chain, shift.entries)
    assert printed(shift) == printed(again)


@pytest.mark.parametrize(
    # ISO 216 (210 × 297 mm) and ANSI/ASME Y14.1 (8.5 × 11 in), in points of 1/72 inch.
    ("paper", "width", "height"),
    [(PaperSize.A4, 595.28, 841.89), (PaperSize.LETTER, 612, 792)],
)
def test_both_papers_have_their_size(paper: PaperSize, width: float, height: float) -> None:
    (box, *_) = [page.mediabox for page in PdfReader(io.BytesIO(printed(troubled(), paper))).pages]
    assert float(box.width) == pytest.approx(width, abs=0.01)
    assert float(box.height) == pytest.approx(height, abs=0.01)


def test_every_page_says_which_shift_it_is_of_and_how_many_there_are() -> None:
    shift = troubled()
    pages = texts(printed(shift))
    for number, page in enumerate(pages, 1):
        assert f"page {number} of {len(pages)}" in page
        assert "Test shed, Bay 2 · Leaf line · 2026-05-07 07:00 to 2026-05-07" in page
        assert shift.entries[-1].hash in page


def test_a_record_holds_what_the_published_rules_ask_for() -> None:
    # 21 CFR 112.161(a)(1): (i) name and location, (ii) actual values, (iii) commodity and lot,
    # (iv) location, (v) date and time; (a)(4): initialled; (b): reviewed, dated and signed.
    shift = troubled()
    words = flat(printed(shift))
    for part in (
        "Test shed, Bay 2",
        "22 ppm, meter, CRITICAL",
        "7.8, HIGH",
        "baby chard",
        "L-1",
        "2026-05-07 07:00 (UTC-04:00)",
        "RM (R. M., supervisor)",
        "Supervisor of the shift",
        "Reviewed by (manager or responsible party)",
        "strips in date NOT DONE",
        "OPEN",
        "a 0 too many",
        "Crates from the north field are muddy",
    ):
        assert part in words, part


def test_every_entry_by_a_person_is_printed_under_its_number() -> None:
    shift = troubled()
    words = flat(printed(shift))
    for entry in shift.entries:
        if isinstance(entry.event, ReadingTaken):
            assert f"{entry.seq} {entry.event.at:%H:%M}" in words


def test_a_correction_shows_what_stood_there_before() -> None:
    words = flat(printed(troubled()))
    assert "Reading tank 2: 480 ppm" in words
    assert "Reading tank 2: 48 ppm" in words
    assert "TK" in words


def test_a_trend_is_drawn_as_lines_not_as_a_picture() -> None:
    for page in PdfReader(io.BytesIO(printed(troubled()))).pages:
        assert not list(page.images)


def test_letters_that_the_type_lacks_stand_there_by_their_number() -> None:
    shed = Shed()
    shed.tell(NoteWritten(at=shed.now, by="RM", text=HOSTILE))
    words = flat(printed(shed.shift))
    for part in ('=HYPERLINK("x")', "[U+202E]reversed[U+202C]", "[U+05D0]", "{nb} **bold** <b>"):
        assert part in words
    assert "[U+0000][U+001B]" in words


@pytest.mark.parametrize("text", ["w" * 10_000, "word " * 2000, "\n" * 2000, "é" * 10_000])
def test_ten_thousand_letters_go_over_pages_and_none_is_lost(text: str) -> None:
    shed = Shed()
    shed.tell(NoteWritten(at=shed.now, by="RM", text=text))
    pages = texts(printed(shed.shift))
    assert all(f"of {len(pages)}" in page for page in some(pages))
    letter = text[0]
    if letter != "\n":
        assert sum(page.count(letter) for page in pages) >= text.count(letter)


def test_a_place_that_was_not_written_yet_is_said_so() -> None:
    said = flat(printed(Shed(a_setup(site="", location="")).shift))
    assert "Site not written" in said
    assert " , " not in said


def test_a_set_up_with_long_names_prints() -> None:
    setup = a_setup(*(a_tank(n, "Tank " + "x" * 300) for n in range(1, 9)), site="s" * 2000)
    shed = Shed(setup)
    shed.fill(8)
    shed.read(8, 50, ph=7)
    assert "8 Tank x" in flat(printed(shed.shift))


def test_the_hour_that_comes_twice_is_told_apart() -> None:
    # In New York, 1 November 2026, 01:30 comes at UTC-04:00 and again at UTC-05:00.
    start = datetime(2026, 11, 1, 0, 30, tzinfo=timezone(timedelta(hours=-4)))
    shed = Shed(start=start)
    shed.fill()
    shed.wait(60).read(fac=50)
    shed.now = datetime(2026, 11, 1, 1, 30, tzinfo=timezone(timedelta(hours=-5)))
    shed.read(fac=47)
    words = flat(printed(shed.shift))
    assert "01:30 1 First dunk 50 ppm" in words
    assert "01:30 UTC-05:00 1 First dunk 47 ppm" in words.replace("UTC- 05", "UTC-05")


def test_peracetic_tanks_are_judged_by_their_own_limits() -> None:
    shed = Shed(a_peracetic_setup())
    shed.fill()
    shed.read(paa_mg_l=15.0, ph=4.0)
    words = flat(printed(shed.shift))
    assert "15 ppm, strip, CRITICAL" in words
    assert "peracetic acid, ppm" in words


def test_a_decided_hold_says_by_whom_and_why() -> None:
    shed = Shed()
    shed.fill()
    (batch,) = shed.wash(1)
    hold = shed.hold(batch.seq)
    shed.tell(
        HoldReleased(
            at=shed.now, by="TK", hold=hold.seq, decision=Decision.DISCARD, reason="too dirty"
        )
    )
    assert f"held by entry {hold.seq}: discard" in flat(printed(shed.shift))
    assert "too dirty" in flat(printed(shed.shift))


def test_batches_tell_their_exposure_where_it_is_known() -> None:
    shed = Shed()
    shed.fill()
    shed.wait(1).read(1, 50, ph=7.0, water_c=20)
    shed.wash(1)
    assert "CT" not in flat(printed(shed.shift))
    assert "Lot L-1: 1 batch " in flat(printed(shed.shift))
    shed.wash(1, contact_s=90)
    words = flat(printed(shed.shift))
    # 50 mg/L x 1.5 min x 79.3 % HOCl at pH 7.0: pKa 7.58 at 20 °C (Morris 1966).
    assert "90 s 59.4" in words
    assert "CT: hypochlorous acid times the time in the water, mg min/L" in words


def test_practice_and_unfinished_shifts_say_so_on_every_page() -> None:
    shed = Shed()
    first, *rest = shed.shift.entries
    started = replace(shed.shift.started, practice=True, imported="old log.csv")
    shift = fold("x", [replace(first, event=started), *rest])
    assert all("PRACTICE · IMPORTED · NOT ENDED" in page for page in some(texts(printed(shift))))


def test_figures_come_in_the_measures_of_the_reader() -> None:
    assert "132 gal" in flat(printed(troubled(), taste=UnitSystem.US))
    assert "500 L" in flat(printed(troubled(), taste=UnitSystem.METRIC))


@settings(max_examples=15, suppress_health_check=[HealthCheck.too_slow], deadline=None)
@given(told_shifts(second=True))
def test_whatever_happened_in_a_shift_it_prints(shift: ShiftState) -> None:
    body = printed(shift)
    assert body == printed(shift)
    assert texts(body)


def test_a_full_disk_leaves_the_file_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "record.pdf"
    target.write_bytes(b"before")

    def full(_fd: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    with pytest.raises(ExportError, match="The disk is full"):
        write_record(target, troubled())
    assert target.read_bytes() == b"before"
    assert list(tmp_path.iterdir()) == [target]


def test_a_file_that_is_open_elsewhere_is_told_in_one_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def held(*_: object) -> None:
        raise PermissionError(errno.EACCES, "in use")

    monkeypatch.setattr(Path, "replace", held)
    with pytest.raises(ExportError, match="close it if another program has it open"):
        write_record(tmp_path / "record.pdf", troubled())
    assert not list(tmp_path.iterdir())


def test_two_shifts_of_a_day_become_two_files(tmp_path: Path) -> None:
    one, two = Shed(), Shed(start=Shed().now + timedelta(hours=5))
    for shed in (one, two):
        shed.tell(ShiftEnded(at=shed.now, by="RM"))
    told: list[int] = []
    done = write_records(tmp_path, [one.shift, two.shift], progress=told.append)
    assert (done, told) == (2, [1, 2])
    assert len(list(tmp_path.glob("*.pdf"))) == 2
    assert record_name(one.shift) == "washmon-record-leaf-line-2026-05-07-070000.pdf"


def test_signatures_are_printed_with_what_they_cover_and_lines_where_they_lack() -> None:
    shed = Shed()
    shed.fill()
    supervisor, manager = "Supervisor of the shift", "Reviewed by (manager"
    shed.tell(ShiftEnded(at=shed.now, by="RM"))
    words = flat(printed(shed.shift))
    assert supervisor in words
    assert manager in words
    head = shed.shift.entries[-1].hash
    shed.tell(
        ShiftSigned(
            at=shed.now, by="RM", role=Role.SUPERVISOR, covers=head, doubts=("No check list.",)
        )
    )
    words = flat(printed(shed.shift))
    assert "R. M. supervisor 2026-05-07 07:00" in words
    assert "signed; lacked: No check list." in words
    assert "the record as it is" in words
    assert supervisor not in words
    assert manager in words
    head = shed.shift.entries[-1].hash
    shed.tell(ShiftReviewed(at=shed.now, by="TK", role=Role.MANAGER, covers=head, note="fine"))
    words = flat(printed(shed.shift))
    assert "Signed and reviewed in the program." in words
    assert manager not in words
    shed.tell(NoteWritten(at=shed.now, by="TK", text="one more thing"))
    words = flat(printed(shed.shift))
    assert "something was entered that no signature covers" in words
    assert "all but the last entry" in words
    assert supervisor in words
    assert manager in words


def test_records_of_a_range_can_be_stopped_and_those_before_are_whole(tmp_path: Path) -> None:
    shifts = [Shed(start=Shed().now + timedelta(hours=hour)).shift for hour in range(3)]
    told: list[int] = []
    done = write_records(tmp_path, shifts, progress=told.append, cancelled=lambda: bool(told))
    assert done == 1
    (file,) = tmp_path.iterdir()
    assert PdfReader(file).pages


def test_ctrl_c_in_the_middle_leaves_no_part(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupt(_fd: int) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("os.fsync", interrupt)
    with pytest.raises(KeyboardInterrupt):
        write_record(tmp_path / "record.pdf", troubled())
    assert not list(tmp_path.iterdir())
