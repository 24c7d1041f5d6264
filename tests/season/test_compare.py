"""Comparisons beside scipy and published constants, and on simulated runs with our own truth."""

from dataclasses import replace
from math import exp, log, sqrt
from statistics import NormalDist

import numpy as np
import pytest

from groundtruth.core.errors import MeasureError
from groundtruth.core.measured import Measured
from groundtruth.season.comparison import (
    Covariate,
    RunFigure,
    UnitRun,
    control_chart,
    difference,
    units_over_season,
)
from groundtruth.season.comparison.control_chart import D4_MEDIAN_RANGE
from groundtruth.stats.two_means import smallest_change, welch_test
from groundtruth.views.sentences.comparison import (
    chart_sentences,
    difference_sentences,
    unit_sentences,
)
from groundtruth.views.tables.drawn_chart import WIDTH, drawn_chart


def test_welch_refuses_what_has_no_spread():
    with pytest.raises(ValueError, match="two values"):
        welch_test([1.0], [1.0, 2.0])
    with pytest.raises(ValueError, match="spread"):
        welch_test([1.0, 1.0], [2.0, 2.0])


def test_the_smallest_change_is_shown_four_times_in_five():
    """The sample-size rule of NIST/SEMATECH e-Handbook 7.2.2.2: N = (z1 + z2)²·(σ/δ)²."""
    sigma, n = 1.3, 9
    delta = smallest_change(sigma / sqrt(n))
    z = NormalDist()
    assert n == pytest.approx((z.inv_cdf(0.975) + z.inv_cdf(0.8)) ** 2 * (sigma / delta) ** 2)
    rng = np.random.default_rng(1)
    shown = np.abs(rng.normal(delta, sigma / sqrt(n), 20_000)) > 1.96 * sigma / sqrt(n)
    assert shown.mean() == pytest.approx(0.8, abs=0.01)


def runs_of(rng, count, *, mean=0.65, day=0.007, start=0, **options):
    found = []
    for i in range(count):
        u = rng.uniform(0.004, 0.009)
        value = mean * exp(rng.normal(0, day) + rng.normal(0, u))
        found.append(
            RunFigure(
                name=f"run {start + i}",
                day=f"2027-{4 + (start + i) // 28:02d}-{(start + i) % 28 + 1:02d}",
                ground_per_turn=Measured(value, value * u),
                passes=10,
                **options,
            )
        )
    return found


def test_a_difference_covers_the_truth_as_often_as_it_says():
    """Simulated: 3 runs before, 5 after, 3 % more; the 95 % interval holds the truth."""
    rng = np.random.default_rng(2)
    held, shown, n = 0, 0, 120
    for _ in range(n):
        runs = [
            *runs_of(rng, 3, phase=0),
            *runs_of(rng, 5, mean=0.65 * 1.03, phase=1, start=3),
        ]
        found = difference(runs, lambda r: str(r.phase), "0", "1")
        low, high = found.relative_95
        held += low <= 0.03 <= high
        shown += found.shown
    assert held / n > 0.91
    assert shown / n > 0.8


def test_no_difference_is_shown_seldom_where_there_is_none():
    rng = np.random.default_rng(3)
    n = 120
    shown = sum(
        difference(
            [*runs_of(rng, 4, phase=0), *runs_of(rng, 4, phase=1)],
            lambda r: str(r.phase), "0", "1",
        ).shown
        for _ in range(n)
    )  # fmt: skip
    assert shown / n < 0.1


def test_soil_is_allowed_for():
    """All wet days after the change: the change alone must not take the wet days' part."""
    rng = np.random.default_rng(4)
    runs = [
        *runs_of(rng, 4, phase=0, soil="dry"),
        *runs_of(rng, 3, mean=0.65 * 1.02, phase=1, soil="dry", start=4),
        *runs_of(rng, 3, mean=0.65 * 1.02 * 1.06, phase=1, soil="wet", start=7),
    ]
    plain = difference(runs, lambda r: str(r.phase), "0", "1")
    fair = difference(runs, lambda r: str(r.phase), "0", "1", allow_for=[Covariate.SOIL])
    assert abs(fair.relative.value - 0.02) < 0.012 < plain.relative.value
    assert fair.allowed_for == ("soil",)
    assert any("Allowed for: soil" in s for s in difference_sentences(fair, "metric"))


def test_what_cannot_be_told_apart_is_not_allowed_for():
    rng = np.random.default_rng(5)
    runs = [*runs_of(rng, 2, phase=0, soil="dry"), *runs_of(rng, 2, phase=1, soil="wet")]
    found = difference(runs, lambda r: str(r.phase), "0", "1", allow_for=[Covariate.SOIL])
    assert found.allowed_for == ()


def test_the_sentences_say_what_was_found():
    rng = np.random.default_rng(6)
    runs = [*runs_of(rng, 5, soil="dry"), *runs_of(rng, 5, mean=0.70, soil="wet", start=5)]
    found = difference(runs, lambda r: r.soil, "dry", "wet")
    says = difference_sentences(found, "metric")
    assert says[0].startswith("wet against dry: a gear turn covers ")
    assert "more ground (95 % sure:" in says[0]
    assert "(5 runs, 50 passes)" in says[1]
    assert found.welch is not None
    assert any(s.startswith("Welch's test") for s in says)
    with pytest.raises(MeasureError, match="no run to compare for 'icy'"):
        difference(runs, lambda r: r.soil, "dry", "icy")


def test_runs_with_one_and_the_same_figure_are_compared_without_the_plain_test():
    rng = np.random.default_rng(6)
    (run,) = runs_of(rng, 1)
    same = [replace(run, name=str(i), soil="dry" if i < 3 else "wet") for i in range(6)]
    found = difference(same, lambda r: r.soil, "dry", "wet")
    assert found.welch is None
    assert not found.shown


def units_of(rng, drag=0.0, runs=6):
    return [
        UnitRun(
            day=f"2027-05-{d + 1:02d}",
            unit=str(u),
            turns_against_others=Measured(exp(rng.normal(0, 0.003)) * (1 - drag * (u == 3)), 0.003),
            passes=10,
            lags=False,
        )
        for d in range(runs)
        for u in range(1, 5)
    ]


def test_a_lagging_unit_is_named_and_a_sound_one_is_not():
    rng = np.random.default_rng(7)
    found = units_over_season(units_of(rng, drag=0.03))
    assert [u.unit for u in found if u.lags] == ["3"]
    assert "Row unit 3 lags: it turned" in unit_sentences(found)[0]
    quiet = [units_over_season(units_of(rng)) for _ in range(40)]
    assert not any(u.lags for q in quiet for u in q)
    assert "none turned measurably less" in unit_sentences(quiet[0])[0]


def test_the_published_constant():
    """d4 for ranges of two: the median of |x − y| of two normal values is √2·Φ⁻¹(0.75)·σ."""
    assert pytest.approx(sqrt(2) * NormalDist().inv_cdf(0.75), abs=5e-4) == D4_MEDIAN_RANGE
    pairs = np.random.default_rng(8).normal(size=(400_000, 2))
    assert np.median(np.abs(pairs[:, 0] - pairs[:, 1])) == pytest.approx(D4_MEDIAN_RANGE, abs=0.005)


def alarm(chart):
    return any(p.out or p.drift for p in chart.points)


def test_quiet_seasons_stay_quiet_as_often_as_stated():
    """Stated: no more than 1 in 20 quiet seasons of 12 runs (docs/season.md)."""
    rng = np.random.default_rng(9)
    n = 400
    alarms = sum(alarm(control_chart(runs_of(rng, 12))) for _ in range(n))
    assert alarms / n < 0.05 + 2 * sqrt(0.05 * 0.95 / n)


def test_a_drifting_wheel_is_seen():
    """Simulated: from the tenth run on the wheel sinks in, 0.6 % more ground a run."""
    rng = np.random.default_rng(10)
    seen = 0
    for _ in range(30):
        runs = runs_of(rng, 24)
        runs = [
            RunFigure(
                name=r.name,
                day=r.day,
                ground_per_turn=r.ground_per_turn.scaled(1 + 0.006 * max(0, i - 9)),
                passes=r.passes,
            )
            for i, r in enumerate(runs)
        ]
        chart = control_chart(runs)
        seen += any(p.drift for p in chart.points)
    assert seen > 24


def test_a_run_that_stands_out_is_named_and_does_not_hide_itself():
    rng = np.random.default_rng(11)
    runs = runs_of(rng, 20, day=0.004)
    odd = runs[7]
    runs[7] = RunFigure(
        name=odd.name, day=odd.day, ground_per_turn=odd.ground_per_turn.scaled(1.09), passes=10
    )
    chart = control_chart(runs)
    assert [p.run.name for p in chart.points if p.out] == ["run 7"]
    assert chart_sentences(chart, "us")[0].startswith(f"{odd.day}: run 7 stands out with")


def test_a_recorded_change_is_no_alarm():
    rng = np.random.default_rng(12)
    before, after = runs_of(rng, 10, phase=0), runs_of(rng, 10, mean=0.69, phase=1, start=10)
    assert not alarm(control_chart([*before, *after]))
    unrecorded = [*before, *runs_of(rng, 10, mean=0.69, phase=0, start=10)]
    assert alarm(control_chart(unrecorded))


def test_wet_days_that_were_noted_are_shown_and_not_judged():
    rng = np.random.default_rng(13)
    dry, wet = runs_of(rng, 10, soil="dry"), runs_of(rng, 2, mean=0.70, soil="wet", start=10)
    chart = control_chart([*dry, *wet], usual_soil="dry")
    assert [p.low is None for p in chart.points] == [False] * 10 + [True] * 2
    assert not alarm(chart)


def test_few_runs_get_no_limits():
    rng = np.random.default_rng(14)
    chart = control_chart(runs_of(rng, 4))
    assert all(p.low is None for p in chart.points)
    assert "Too few runs" in chart_sentences(chart, "metric")[0]
    assert log(chart.points[0].centre) == pytest.approx(log(0.65), abs=0.05)


def test_the_chart_is_drawn_to_scale():
    """The odd day of the chart above, on one scale from its least value to its most."""
    runs = runs_of(np.random.default_rng(3), 12)
    wet = replace(runs[6], ground_per_turn=Measured(runs[6].ground_per_turn.value * 1.2, 0.001))
    chart = control_chart([*runs[:6], wet, *runs[7:]])
    days, lines = (column.cells for column in drawn_chart(chart).columns)
    assert list(days) == [p.run.day for p in chart.points]
    assert {len(line) for line in lines} <= set(range(WIDTH + 1))
    assert lines[6].index("X") == WIDTH - 1  # the largest value of all
    for point, line in zip(chart.points, lines, strict=True):
        ends = [i for i, mark in enumerate(line) if mark == "|"]
        value = next(i for i, mark in enumerate(line) if mark in "oX")
        assert (value > max(ends)) == (point.run.ground_per_turn.value > point.high)
    alone = control_chart(runs[:1])
    assert drawn_chart(alone).columns[1].cells == (" " * (WIDTH // 2) + "o",)
