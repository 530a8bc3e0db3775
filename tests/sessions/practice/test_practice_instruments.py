"""What instruments say of the practice water: honest within their steps and errors."""

from statistics import fmean, stdev

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from tests.sessions.practice.pools import STEADY, a_line, a_pool, still_model
from tests.some import some
from washmon.line.reading import PADS_MG_L, strip_range
from washmon.line.setup import Look
from washmon.sessions.practice.line import WashLine
from washmon.sessions.practice.parameters import Parameters, PracticeInstrument, parameters
from washmon.sessions.practice.practice_instruments import Bench
from washmon.sessions.practice.world import SamplePlace, World


def exact(*instruments: PracticeInstrument) -> Parameters:
    """Return a model whose instruments have steps but no errors."""
    model = still_model()
    sure = dict(model.instrument)
    for one in instruments:
        sure[one] = replace(
            sure[one], error=0.0, error_share=0.0, bias=0.0, bias_share=0.0, combined_seen=0.0
        )
    return replace(model, instrument=sure)


@given(level=st.floats(0.0, 280.0))
def test_a_perfect_strip_means_the_range_that_the_set_up_reads_from_it(level: float) -> None:
    model = exact(PracticeInstrument.STRIP)
    pool, _ = a_pool(model, level=level)
    said = Bench(model, 1).read(pool, PracticeInstrument.STRIP, STEADY).value
    low, high = strip_range(said)
    assert said in PADS_MG_L
    assert low <= level <= high or said == PADS_MG_L[-1]


@pytest.mark.parametrize(
    ("instrument", "level", "within"),
    [
        # ± 2 to 5 % and its step (value from memory); pH and degrees by common practice.
        (PracticeInstrument.KIT, 50.0, 0.05),
        (PracticeInstrument.METER, 50.0, 0.05),
        (PracticeInstrument.STRIP, 50.0, 0.2),
    ],
)
def test_readings_of_many_shifts_scatter_about_the_truth(
    instrument: PracticeInstrument, level: float, within: float
) -> None:
    pool, _ = a_pool(parameters(), level=level)
    said = [Bench(parameters(), seed).read(pool, instrument, STEADY).value for seed in range(300)]
    assert fmean(said) == pytest.approx(level, rel=0.05)
    assert 0.2 * within < stdev(said) / level < 2 * within


def test_the_error_of_a_shift_stays_the_same_while_single_readings_scatter() -> None:
    pool, _ = a_pool(parameters(), level=60.0)
    of_shifts = []
    for seed in range(60):
        bench = Bench(parameters(), seed)
        of_shifts.append(
            fmean(bench.read(pool, PracticeInstrument.KIT, STEADY).value for _ in range(60))
        )
    # 3 % of bias from shift to shift; the mean of sixty readings knows the rest to half a percent.
    assert stdev(of_shifts) / 60.0 == pytest.approx(0.03, rel=0.35)


def test_strips_out_of_date_read_low() -> None:
    model = exact(PracticeInstrument.STRIP)
    pool, _ = a_pool(model, level=60.0)
    said = Bench(model, 1).read(pool, PracticeInstrument.STRIP, replace(STEADY, strip_share=0.5))
    assert said.value == 25.0


def test_a_meter_over_its_range_reads_falsely_low() -> None:
    # DPD bleaches above its range: value from memory.
    model = exact(PracticeInstrument.METER)
    readings = []
    for level in (100.0, 125.0, 200.0):
        pool, _ = a_pool(model, level=level)
        readings.append(Bench(model, 1).read(pool, PracticeInstrument.METER, STEADY).value)
    assert readings[0] == 100.0
    assert readings[2] < readings[1]


def test_total_chlorine_counts_the_combined() -> None:
    model = exact(PracticeInstrument.KIT)
    pool, _ = a_pool(model, level=40.0, combined=8.0)
    bench = Bench(model, 1)
    assert bench.read(pool, PracticeInstrument.KIT, STEADY).value == 40.0
    assert bench.read_total(pool, PracticeInstrument.KIT, STEADY).value == 48.0


def test_a_reading_too_soon_after_a_dose_finds_streaks() -> None:
    def scatter(wait: float) -> float:
        said = []
        for seed in range(80):
            line = a_line(model=exact(PracticeInstrument.KIT), seed=seed)
            line.dose(1, 200.0)
            line.advance(wait)
            said.append(line.measure(1, PracticeInstrument.KIT).value)
        return stdev(said)

    assert scatter(0.5) > 8.0
    assert scatter(10.0) < 1.0


@pytest.mark.parametrize(
    ("instrument", "value"),
    [
        (PracticeInstrument.PH_METER, 7.4),
        (PracticeInstrument.PH_STRIP, 7.5),
        (PracticeInstrument.THERMOMETER, 20.0),
    ],
)
def test_other_instruments_show_their_steps(instrument: PracticeInstrument, value: float) -> None:
    line = a_line(model=exact(instrument))
    assert line.measure(1, instrument).value == pytest.approx(value)


def test_the_card_goes_from_readable_to_gone() -> None:
    # Over 60 NTU one cannot see through: Australian Drinking Water Guidelines.
    model = still_model()
    sharp = replace(model, card=replace(model.card, error_share=0.0))
    looks = []
    for ntu in (5.0, 59.0, 61.0, 149.0, 151.0):
        pool, _ = a_pool(sharp, haze=ntu)
        looks.append(Bench(sharp, 1).look(pool).look)
    assert looks == [Look.READABLE, Look.READABLE, Look.FAINT, Look.FAINT, Look.GONE]


def test_every_reading_takes_its_time() -> None:
    line: WashLine = a_line(World())
    before = line.minutes
    times = [line.measure(1, instrument).minutes for instrument in PracticeInstrument]
    assert all(minutes >= 0.5 for minutes in some(times))
    assert line.minutes == before


def test_a_pulp_reading_is_of_the_produce_not_the_water() -> None:
    line = a_line(replace(STEADY, pulp_c=31.0))
    assert line.measure_pulp().value == pytest.approx(31.0, abs=1.5)


def test_a_fresh_dose_shows_at_the_inlet_and_not_yet_at_the_outlet() -> None:
    # Common practice, no published source: samples are taken away from where a dose goes in.
    model = replace(parameters(), bleach=replace(parameters().bleach, amount_error=0.0))

    def shown(place: SamplePlace, minutes: float, mixing: float = 1.0) -> float:
        world = replace(STEADY, samples_at=place, mixing_share=mixing)
        pool, fresh = a_pool(model, level=30.0)
        pool.add_chlorine(20_000.0, 0.0)  # 20 mg/L in 1000 L
        pool.rest(minutes, world, fresh)
        readings = [
            Bench(model, seed).read(pool, PracticeInstrument.KIT, world).value for seed in range(60)
        ]
        return fmean(readings)

    anywhere, inlet, outlet = (shown(place, 0.0) for place in SamplePlace)
    assert anywhere == pytest.approx(50.0, abs=3.0)
    assert inlet == pytest.approx(90.0, abs=6.0)
    assert outlet == pytest.approx(30.0, abs=3.0)
    late = [shown(place, 8.0) for place in SamplePlace]
    assert max(late) - min(late) < 1.0
    assert shown(SamplePlace.OUTLET, 5.0) > shown(SamplePlace.OUTLET, 5.0, mixing=0.2) + 5.0
