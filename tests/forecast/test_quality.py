"""How good the forecast is on simulated shifts, half with strips and half with a kit.

The seeds are others than those the estimator was tried on. Figures are written out, so that a run
with ``-s`` shows the whole table; ``WASHMON_SHIFTS=300`` looks at so many shifts.
"""

import os
import sys

import numpy as np
import pytest

from tests.forecast.judging import FURTHEST, METHODS, Case, cases_of

SEEDS = range(1000, 1000 + int(os.environ.get("WASHMON_SHIFTS", "120")))

pytestmark = pytest.mark.xdist_group("forecast quality")


@pytest.fixture(scope="module")
def cases() -> list[Case]:
    found = [case for seed in SEEDS for case in cases_of(seed)]
    tell(found)
    return found


def tell(cases: list[Case]) -> None:
    """Write the table of accuracy and coverage."""
    write = sys.stdout.write
    write(f"\nseeds {SEEDS.start} to {SEEDS.stop - 1}; errors in batches: mean (median)\n")
    for limit in ("low", "critical"):
        for method in (*METHODS, None):
            some = [one for one in cases if one.limit == limit and method in {None, one.method}]
            ahead = [one for one in some if one.open]
            line = against(ahead, "theil_sen")
            trend = against(ahead, "trend")
            write(
                f"{limit:8} {method or 'both':5}: {len(ahead):4} looks, "
                f"80 % range covers {np.mean([one.covers for one in ahead]):.3f} "
                f"\N{PLUS-MINUS SIGN} {spread_over_shifts(ahead):.3f}, with two ends "
                f"{np.mean([one.covers for one in some if one.bounded]):.3f} | "
                f"{line.shape[1]:4} looks: ours {line[0].mean():.2f} ({np.median(line[0]):.2f}), "
                f"Theil-Sen {line[1].mean():.2f} ({np.median(line[1]):.2f}) | "
                f"{trend.shape[1]:3} looks: ours {trend[0].mean():.2f}, "
                f"local trend {trend[1].mean():.2f}\n"
            )

    write(
        "\nby what the baseline says, both limits: looks | ours | theirs | ratio; mean (median)\n"
    )
    for baseline in ("theil_sen", "trend"):
        for answer in ("any", "crosses", "flat", "now"):
            ours, theirs = against(
                [one for one in cases if is_answer(one, baseline, answer)], baseline
            )
            write(
                f"{baseline:9} {answer:7}: {ours.size:4} looks | {ours.mean():.2f} "
                f"({np.median(ours):.2f}) | {theirs.mean():.2f} ({np.median(theirs):.2f}) | "
                f"{ours.mean() / theirs.mean():.2f} ({np.median(ours) / np.median(theirs):.2f})\n"
            )


def is_answer(case: Case, baseline: str, kind: str) -> bool:
    """Tell whether a baseline's answer is of a kind: it crosses the limit ahead, never, or has."""
    answer = getattr(case, baseline)
    if answer is None:
        return False
    kinds = {"crosses": 0 < answer < FURTHEST, "flat": answer >= FURTHEST, "now": answer <= 0}
    return bool(kinds.get(kind, True))


def spread_over_shifts(cases: list[Case]) -> float:
    """Return the standard error of a coverage: looks of one shift are alike, shifts are not."""
    share = float(np.mean([one.covers for one in cases]))
    off: dict[int, float] = {}
    for one in cases:
        off[one.seed] = off.get(one.seed, 0.0) + float(one.covers) - share
    return float(np.sqrt(sum(sum_**2 for sum_ in off.values())) / len(cases))


def against(cases: list[Case], baseline: str) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    """Return errors of ours and of a baseline where it gives an answer."""
    both = [
        (one.error, abs(answer - one.truth))
        for one in cases
        if one.open and (answer := getattr(one, baseline)) is not None
    ]
    return np.array(both).T


def test_batches_to_a_limit_are_nearer_than_by_a_theil_sen_line(cases: list[Case]) -> None:
    ours, theirs = against(cases, "theil_sen")
    assert ours.size > 2 * len(SEEDS)
    assert ours.mean() <= 0.35 * theirs.mean()
    assert np.median(ours) <= 0.7 * np.median(theirs)


def test_and_nearer_even_where_that_line_crosses_the_limit(cases: list[Case]) -> None:
    """Flat lines, from strips that show one pad again and again, flatter the mean ratio much."""
    ours, theirs = against(
        [one for one in cases if is_answer(one, "theil_sen", "crosses")], "theil_sen"
    )
    assert ours.size > 1.6 * len(SEEDS)
    assert ours.mean() <= 0.7 * theirs.mean()
    assert np.median(ours) <= 0.7 * np.median(theirs)


def test_and_nearer_than_by_a_local_linear_trend(cases: list[Case]) -> None:
    ours, theirs = against(cases, "trend")
    assert ours.size > 0.5 * len(SEEDS)
    assert ours.mean() <= 0.6 * theirs.mean()


@pytest.mark.parametrize("limit", ["low", "critical"])
def test_the_range_covers_the_truth_about_eight_times_in_ten(cases: list[Case], limit: str) -> None:
    """Of ranges that have two ends; chosen by the forecast alone, never by the truth."""
    covered = np.mean([one.covers for one in cases if one.bounded and one.limit == limit])
    assert 0.75 <= covered <= 0.85


def test_the_next_check_is_in_time_and_asks_no_more_often_than_a_fixed_interval(
    cases: list[Case],
) -> None:
    """Where the water is still good: a check that comes late finds product in question."""
    good = [one for one in cases if one.limit == "critical" and one.truth > 0]
    truth = np.array([one.truth for one in good])
    within = np.array([one.ours.check.batches for one in good])
    in_time = np.mean(within <= truth)
    fixed = max(every for every in range(FURTHEST) if np.mean(every <= truth) >= in_time)
    checks, fixed_checks = np.mean(1 / np.maximum(within, 1)), 1 / max(fixed, 1)
    sys.stdout.write(
        f"\nnext check: in time {in_time:.3f} of {len(good)}; {checks:.3f} checks a batch, after "
        f"{within.mean():.1f} batches in the mean; a fixed interval as safe: {fixed} batches, "
        f"{fixed_checks:.3f} checks a batch\n"
    )
    assert in_time >= 0.95
    assert checks <= fixed_checks
