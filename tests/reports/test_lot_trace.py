"""A lot through its shifts, one step back and one forward: rows, CSV and PDF."""

import csv
import io

from tests.reports.paper_read import HOSTILE, flat
from tests.reports.traced import a_shift
from tests.shed import START
from washmon.line.state import ShiftState
from washmon.reports.binder_leaves import leaf_of
from washmon.reports.csv_export import in_csv
from washmon.reports.lot_trace import TRACE, InShift, in_shift, trace_rows
from washmon.reports.lots import lot_rows
from washmon.reports.paper import PaperSize
from washmon.reports.printed import printed
from washmon.reports.printed_lot import Trace, printed_lot
from washmon.reports.tables import ACTIONS, BATCHES


def known(shift: ShiftState, code: str = "L-1") -> InShift:
    found = in_shift(shift, code)
    assert found is not None
    return found


def rows(text: str, names: list[str]) -> list[dict[str, str]]:
    return [dict(zip(names, row, strict=True)) for row in csv.reader(io.StringIO(text, newline=""))]


def traced(*shifts: InShift) -> list[dict[str, str]]:
    names = [one.name for one in TRACE.columns]
    parts = [in_csv(TRACE, some) for some in trace_rows(shifts)]
    return [row for part in parts for row in rows(part.text, names)]


def test_a_lot_in_a_shift_tells_where_it_came_from_and_where_its_batches_went() -> None:
    lot, other = lot_rows(a_shift(source="North field"))
    assert (lot.code, lot.produce, lot.source) == ("L-1", "baby chard", "North field")
    assert lot.went == "Green market (D-7): 2; not recorded: 1"
    assert (len(lot.batches), lot.weighed_kg) == (3, 25.0)
    assert (other.source, other.went) == ("not recorded", "not recorded: 1")
    assert in_shift(a_shift(), "L-9") is None


def test_the_csv_has_each_entry_that_touched_the_lot_and_what_is_not_recorded() -> None:
    found = traced(known(a_shift()), known(a_shift(days=1, to="", source="Hill farm")))
    assert [row["what"] for row in found][:7] == [
        "Filling", "Dose", "Reading", "Batch", "Batch", "Sent", "Batch",
    ]  # fmt: skip
    assert [row["sent_to"] for row in found if row["what"] == "Batch"] == [
        "Green market (D-7)",
        "Green market (D-7)",
        *["not recorded"] * 4,
    ]
    assert {row["source"] for row in found} == {"not recorded", "Hill farm"}
    (sent,) = [row for row in found if row["what"] == "Sent"]
    assert (sent["sent_to"], sent["reference"], sent["sent_kg"]) == ("Green market", "D-7", "20")
    assert sent["at_utc"].endswith("+00:00")


def test_batches_and_actions_tell_it_too_in_columns_at_the_end() -> None:
    shift = a_shift()
    batches = rows(in_csv(BATCHES, BATCHES.rows(shift)).text, [one.name for one in BATCHES.columns])
    assert [row["sent_to"] for row in batches] == [
        "Green market (D-7)",
        "not recorded",
        "Green market (D-7)",
        "not recorded",
    ]
    assert {row["lot_source"] for row in batches} == {"not recorded"}
    actions = rows(in_csv(ACTIONS, ACTIONS.rows(shift)).text, [one.name for one in ACTIONS.columns])
    (sent,) = [row for row in actions if row["action"] == "sent"]
    assert (sent["sent_lot"], sent["sent_to"], sent["to"], sent["strips_lot"]) == (
        "L-1",
        "Green market",
        "",
        "",
    )
    assert sent["words"] == "Lot L-1 sent: to Green market, document D-7, 20 kg"


def test_record_binder_and_trace_say_it_on_paper_the_same_bytes_each_time() -> None:
    shift = a_shift(source="North field")
    assert "Green market (D-7): 2; not recorded: 1" in flat(printed(shift))
    assert leaf_of(shift, START).lots[0][3:] == (
        "North field",
        "3",
        "25",
        "Green market (D-7): 2; not recorded: 1",
    )
    trace = Trace("L-1", [known(shift), known(a_shift(days=1))], "BO", START)
    words = flat(printed_lot(trace))
    assert "2 of 6 batches: not recorded" in words
    assert "North field" in words
    assert "sent to: Green" in words
    assert printed_lot(trace) == printed_lot(trace)
    assert len(printed_lot(trace, PaperSize.LETTER)) > 1000


def test_hostile_names_are_printed_as_they_stand_and_start_no_formula() -> None:
    shift = a_shift(to=HOSTILE, source="@SUM(1)")
    trace = Trace("L-1", [known(shift)], HOSTILE, START, {shift.chain: ["It is not whole."]})
    words = flat(printed_lot(trace))
    assert "NOT WHOLE" in words
    assert "\u202e" not in words
    assert "[U+202E]" in words
    for row in traced(known(shift)):
        for name in ("sent_to", "source", "words"):
            assert not row[name].startswith(("=", "@", "+", "-"))
