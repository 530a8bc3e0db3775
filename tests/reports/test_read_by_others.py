"""Data analysts read the files: each is read with pandas and polars, and the summary recomputed.

Nothing but the files is used, and the method as the README tells it.
"""

from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any
from zoneinfo import ZoneInfo

import pandas as pd
import polars as pl
import pytest
from hypothesis import HealthCheck, given, settings
from msgspec.structs import replace

from tests.reports.telling import told_shifts
from tests.shed import Shed, a_setup
from washmon.line.events import (
    Decision,
    HoldReleased,
    Instrument,
    InstrumentChecked,
    ShiftEnded,
)
from washmon.line.state import ShiftState
from washmon.reports.csv_export import export
from washmon.reports.tables import TABLES
from washmon.units import Kind, UnitSystem, rounded

Files = dict[str, pd.DataFrame]


def written(folder: Path, *shifts: ShiftState) -> dict[str, Path]:
    paths = {table.key: folder / f"{table.key}.csv" for table in TABLES}
    for table in TABLES:
        export(paths[table.key], table, shifts)
    return paths


def read(paths: dict[str, Path]) -> Files:
    return {key: pd.read_csv(path) for key, path in paths.items()}


def seconds(at: Any) -> float:
    return float(pd.Timestamp(at).timestamp())


def of_tank(files: Files, tank: int) -> dict[str, pd.DataFrame]:
    """The rows of one tank, those of a second fill left out, in the order of the journal."""
    found = {}
    for key in ("readings", "actions", "holds"):
        frame = files[key]
        mine = frame[frame["tank"] == tank]
        if "second_fill" in mine:
            mine = mine[mine["second_fill"] == "no"]
        found[key] = mine.sort_values(["at_utc", "entry"])
    batches = files["batches"]
    went = batches["tanks"].astype(str).str.split().apply(lambda all_: str(tank) in all_)
    found["batches"] = batches[went.astype(bool)] if len(batches) else batches
    return found


def pieces(tank: dict[str, pd.DataFrame], limits: pd.Series) -> Iterator[tuple[float, Any]]:
    """Lengths of time in use with the value held over each, as limits.csv tells the method."""
    actions, readings = tank["actions"], tank["readings"]
    fills = actions[actions["action"] == "filled"].sort_values("entry")
    ends = [*fills["at_utc"].map(seconds)[1:], seconds(limits["in_use_until_utc"])]
    orders = [*fills["entry"][1:], float("inf")]
    lasts = limits["check_minutes"] * 60 if pd.notna(limits["check_minutes"]) else float("inf")
    for (_, fill), end, following in zip(fills.iterrows(), ends, orders, strict=True):
        mine = readings[readings["fill"] == fill["fill"]]
        batches = tank["batches"]
        washed = batches[(batches["entry"] > fill["entry"]) & (batches["entry"] < following)]
        first = [seconds(mine["at_utc"].iloc[0])] if len(mine) else []
        first += [seconds(washed["at_utc"].iloc[0])] if len(washed) else []
        begin = max(min(first), seconds(fill["at_utc"])) if first else end
        told = mine.loc[mine["fac_mg_l"].notna(), ["at_utc", "entry", "fac_mg_l"]].to_numpy()
        marks = [(seconds(at), seq, fac) for at, seq, fac in told]
        breaks = actions[
            (actions["fill"] == fill["fill"]) & actions["action"].isin(["dose", "water exchanged"])
        ]
        marks += [(seconds(at), seq, None) for at, seq in breaks[["at_utc", "entry"]].to_numpy()]
        at, value, until = begin, None, begin
        for moment, _, found in [*sorted(marks, key=lambda one: one[:2]), (end, 0, None)]:
            now = min(max(moment, begin), end)
            known = min(max(until, at), now) if value is not None else at
            if begin < end:
                yield known - at, value
                yield now - known, None
            at, value, until = now, found, moment + lasts


def as_read(value: float) -> float:
    """Values are held against limits as people read them."""
    return rounded(value, Kind.CONCENTRATION, UnitSystem.METRIC)


def recomputed(files: Files, limits: pd.Series) -> dict[str, float]:
    tank = of_tank(files, int(limits["tank"]))
    readings, actions, batches = tank["readings"], tank["actions"], tank["batches"]
    doses = actions[actions["action"] == "dose"]
    low, high = as_read(limits["low_mg_l"]), as_read(limits["high_mg_l"])
    critical = as_read(limits["critical_low_mg_l"])
    fac = readings["fac_mg_l"].dropna()
    held = list(pieces(tank, limits))
    watched = sum(length for length, _ in held)
    known = [(length, as_read(value)) for length, value in held if value is not None]
    found: dict[str, float] = {
        "batches": len(batches),
        "readings": len(readings),
        "doses": len(doses),
        "sanitizer_ml": doses["amount_ml"].sum(),
        "fills": (actions["action"] == "filled").sum(),
        "water_used_l": actions["volume_l"].sum(),
        "holds": len(tank["holds"]),
        "holds_open": (tank["holds"]["open"] == "yes").sum(),
        "batches_not_weighed": batches["weight_kg"].isna().sum(),
    }
    if len(fac):
        found |= {
            "fac_lowest_mg_l": fac.min(),
            "fac_median_mg_l": fac.median(),
            "fac_readings_within_share": fac.map(as_read).between(low, high).mean(),
        }
    if watched:
        within = sum(length for length, value in known if low <= value <= high)
        under = sum(length for length, value in known if value < critical)
        found |= {
            "fac_watched_s": watched,
            "fac_time_within_share": within / watched,
            "fac_time_below_critical_share": under / watched,
            "fac_time_unknown_share": 1 - sum(length for length, _ in known) / watched,
        }
    return found


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(told_shifts())
def test_a_summary_can_be_recomputed_from_the_files(shift: ShiftState) -> None:
    with TemporaryDirectory() as folder:
        files = read(written(Path(folder), shift))
    summaries = files["summaries"].set_index("tank")
    for _, limits in files["limits"].iterrows():
        mine = recomputed(files, limits)
        told = summaries.loc[limits["tank"]]
        assert {name: told[name] for name in mine} == pytest.approx(mine, abs=2e-6)


def a_checked_shift(start: datetime | None = None) -> Shed:
    """A shift with a check of an instrument and a decision, which both found something."""
    setup = a_setup()
    shed = Shed(setup, start=start) if start else Shed(setup)
    shed.fill()
    shed.tell(InstrumentChecked(at=shed.now, by="RM", instrument=Instrument.PH_METER, standard=7.0,
                                found=7.2, against="buffer 7"))  # fmt: skip
    shed.dose(ml=62.5)
    shed.wait(6).read(fac=50, ph=7.1)
    (batch,) = shed.wash(1)
    hold = shed.wait(2).hold(batch.seq)
    shed.tell(
        HoldReleased(
            at=shed.now, by="RM", hold=hold.seq, decision=Decision.DISCARD, reason="one crate",
            found="22 ppm at tank 1", water="dosed 60 mL", prevention="check every 20 min",
        )
    )  # fmt: skip
    shed.tell(ShiftEnded(at=shed.now, by="RM"))
    return shed


def test_each_column_holds_one_kind_of_thing(tmp_path: Path) -> None:
    paths = written(tmp_path, a_checked_shift().shift)
    actions = pd.read_csv(paths["actions"])
    assert actions["found"].dtype == float
    assert actions["found"].dropna().tolist() == [7.2]
    assert actions["cause"].dropna().tolist() == ["22 ppm at tank 1"]
    frame = pl.read_csv(paths["actions"], infer_schema_length=None)
    assert frame["found"].dtype == pl.Float64
    assert frame["found"].drop_nulls().to_list() == [7.2]


def two_seasons() -> list[ShiftState]:
    """Two shifts of one line, an hour of clock change apart (US rules, 2026: 1 November)."""
    zone = ZoneInfo("America/New_York")
    starts = [datetime(2026, 10, 31, 7, tzinfo=zone), datetime(2026, 11, 2, 7, tzinfo=zone)]
    shifts = []
    for at, start in enumerate(starts):
        fixed = datetime.fromisoformat(start.isoformat())
        shifts.append(replace(a_checked_shift(fixed).shift, chain=f"shift-{at}"))
    return shifts


TIMED = [table for table in TABLES if any(one.name.endswith("_utc") for one in table.columns)]


def test_the_report_of_a_week_has_17_columns_that_follow_from_the_others(tmp_path: Path) -> None:
    files = read(written(tmp_path, *two_seasons()))
    week, told = files["week"], files["summaries"]
    assert len(week.columns) == 17
    assert week["date"].tolist() == [text[:10] for text in told["started_at"]]
    for name, other in (
        ("batches", "batches"),
        ("level_lowest_mg_l", "fac_lowest_mg_l"),
        ("level_median_mg_l", "fac_median_mg_l"),
        ("ph_median", "ph_median"),
        ("batches_held", "batches_held"),
        ("holds_open", "holds_open"),
        ("doses_ml", "sanitizer_ml"),
        ("water_l", "water_used_l"),
    ):
        assert week[name].tolist() == pytest.approx(told[other].tolist(), nan_ok=True)
    within = (100 * told["fac_time_within_share"]).round(1)
    assert week["time_within_pct"].tolist() == pytest.approx(within.tolist(), nan_ok=True, abs=0.11)


@pytest.mark.parametrize("table", TIMED, ids=lambda table: table.key)
def test_each_file_is_read_by_both_with_times_over_a_clock_change(
    tmp_path: Path, table: Any
) -> None:
    path = written(tmp_path, *two_seasons())[table.key]
    utc = [column.name for column in table.columns if column.name.endswith("_utc")]
    assert utc
    by_pandas = pd.read_csv(path, parse_dates=utc)
    by_polars = pl.read_csv(path, try_parse_dates=True, infer_schema_length=None)
    assert by_pandas.columns.tolist() == by_polars.columns == [one.name for one in table.columns]
    assert len(by_pandas) == by_polars.height > 0
    filled = [name for name in utc if by_pandas[name].notna().any()]
    assert filled
    for name in filled:
        assert str(by_pandas[name].dtype).endswith("UTC]")
        assert by_polars[name].dtype.is_temporal()
        first = by_polars[name].drop_nulls()[0]
        assert by_pandas[name].dropna().iloc[0] == pd.Timestamp(first).tz_convert("UTC")
    local = table.columns[[one.name for one in table.columns].index(filled[0][:-4])].name
    assert {text[-6:] for text in pd.read_csv(path)[local].dropna()} == {"-04:00", "-05:00"}


def test_polars_comes_to_the_same_counts(tmp_path: Path) -> None:
    paths = written(tmp_path, *two_seasons())
    readings = pl.read_csv(paths["readings"])
    counted = readings.group_by("shift", "tank").agg(
        pl.len().alias("readings"), pl.col("fac_mg_l").median().alias("fac_median_mg_l")
    )
    told = pl.read_csv(paths["summaries"], infer_schema_length=None)
    told = told.filter(pl.col("readings") > 0).select(counted.columns)
    assert counted.sort("shift", "tank").equals(told.sort("shift", "tank"))
