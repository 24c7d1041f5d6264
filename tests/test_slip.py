"""Ground per turn, slip and lagging units. Simulated truth is ours, the arithmetic by hand."""

import numpy as np
import pytest

from groundtruth.core.errors import MeasureError
from groundtruth.core.measured import Measured
from groundtruth.core.uncertainty import UncertaintySource as Source
from groundtruth.measurement.slip import PassCount, pool_run, slip_share

GROUND_M = 0.71
TURNS = 150
COUNTING = Measured(0.0, 1 / 6**0.5).std  # whole turns read twice without phase


def simulated_day(
    seed, passes=10, units=4, spread=0.01, scatter=0.005, drag=(), position_m=1.5, common=0.2
):
    """Counts and distances of a day with known truth; ``drag`` maps units to turns lost."""
    rng = np.random.default_rng(seed)
    length_m = TURNS * GROUND_M
    covariance = position_m**2 * ((1 - common) * np.eye(passes) + common)
    distances = length_m + np.linalg.cholesky(covariance) @ rng.normal(size=passes)
    per_turn = GROUND_M * np.exp(spread * rng.normal(size=passes))
    counts = []
    for p in range(passes):
        for u in range(units):
            turns = length_m / per_turn[p] * np.exp(scatter * rng.normal())
            turns *= 1 - dict(drag).get(u, 0.0)
            counted = np.floor(turns + rng.random())  # the phase at the start is anything
            counts.append(
                PassCount(pass_index=p, unit=f"U{u + 1}", gear_turns=Measured(counted, COUNTING))
            )
    sources = {Source.POSITION: 0.7 * covariance, Source.ENDS: 0.3 * covariance}
    return distances, sources, counts


def test_one_pass_by_hand():
    """100 m in 160 turns is 0.625 m; c = 0.6 m makes 4 % slip."""
    pooled = pool_run(
        np.array([100.0]),
        {Source.POSITION: np.array([[1.0]])},
        [PassCount(pass_index=0, unit="A", gear_turns=Measured(160.0))],
        Measured(0.6),
    )
    (count,) = pooled.counts
    assert count.ground_per_turn.value == pytest.approx(0.625)
    assert count.ground_per_turn.std == pytest.approx(0.00625)
    assert count.slip is not None
    assert count.slip.value == pytest.approx(0.04)
    assert count.slip.std == pytest.approx(0.96 * 0.01)
    assert pooled.ground_per_turn.value == pytest.approx(0.625, rel=1e-4)
    assert pooled.ground_per_turn.std > count.ground_per_turn.std  # the spread is not known
    assert pooled.units[0].turns_against_others is None
    assert pooled.scatter is None


def test_many_equal_passes_give_total_ground_over_total_turns():
    distances = np.array([99.0, 101.0, 100.0, 100.0])
    counts = [PassCount(pass_index=p, unit="A", gear_turns=Measured(160.0)) for p in range(4)]
    pooled = pool_run(distances, {Source.POSITION: np.eye(4)}, counts)
    assert pooled.ground_per_turn.value == pytest.approx(400 / 640, rel=1e-4)
    assert pooled.slip is None
    assert pooled.slip_95 is None


def test_slip_sign():
    """A dragged wheel turns too little: more ground a turn than rolled out, slip above 0."""
    assert slip_share(Measured(1.05), Measured(1.0)).value == pytest.approx(0.05 / 1.05)
    assert slip_share(Measured(0.95), Measured(1.0)).value < 0


def test_zero_slip_reference_enters_slip_only():
    distances, sources, counts = simulated_day(1)
    sharp = pool_run(distances, sources, counts, Measured(0.68, 0.0))
    blunt = pool_run(distances, sources, counts, Measured(0.68, 0.02))
    assert blunt.ground_per_turn == sharp.ground_per_turn
    assert blunt.slip is not None
    assert sharp.slip is not None
    expected = np.hypot(sharp.slip.std, 0.02 / sharp.ground_per_turn.value)
    assert blunt.slip.std == pytest.approx(expected, rel=0.01)
    assert blunt.slip_95 is not None
    assert blunt.slip_95[0] < blunt.slip.value < blunt.slip_95[1]


def test_budget_adds_up():
    distances, sources, counts = simulated_day(2)
    pooled = pool_run(distances, sources, counts, Measured(0.68, 0.01))
    assert sum(s.share for s in pooled.budget) == pytest.approx(1)
    variance = sum(s.std_m**2 for s in pooled.budget)
    assert variance**0.5 == pytest.approx(pooled.ground_per_turn.std, rel=1e-6)
    by_name = {s.source: s for s in pooled.budget}
    assert set(by_name) == {
        Source.POSITION, Source.ENDS, Source.COUNTING, Source.PASSES,
        Source.ROW_UNITS,
    }  # fmt: skip
    ratio = by_name[Source.POSITION].share / by_name[Source.ENDS].share
    assert ratio == pytest.approx(0.7 / 0.3)


def test_units_of_a_pass_share_its_distance():
    """Four units on one pass say hardly more about the ground than one."""
    one = pool_run(*simulated_day(3, passes=1, units=1, scatter=0.0))
    four = pool_run(*simulated_day(3, passes=1, units=4, scatter=0.0))
    assert four.ground_per_turn.std == pytest.approx(one.ground_per_turn.std, rel=0.1)


@pytest.mark.whole_days
@pytest.mark.parametrize("passes", [2, 10])
@pytest.mark.parametrize("units", [1, 3])
def test_coverage(passes, units):
    """The 95 % interval holds the truth on 300 seeded days; two passes lean on the prior."""
    hits, errors = 0, []
    for seed in range(300):
        pooled = pool_run(*simulated_day(seed, passes=passes, units=units))
        low, high = pooled.ground_per_turn_95
        hits += low <= GROUND_M <= high
        errors.append(pooled.ground_per_turn.value / GROUND_M - 1)
    assert 0.93 <= hits / 300 <= (1.0 if passes == 2 else 0.98)
    standard_error = np.std(errors) / 300**0.5
    assert abs(np.mean(errors)) < 3 * standard_error


def test_a_lagging_unit_is_found():
    """5 % fewer turns on one of four units, ten passes: named each time, and no other."""
    for seed in range(50):
        pooled = pool_run(*simulated_day(seed, drag=[(2, 0.05)]))
        assert [u.lags for u in pooled.units] == [False, False, True, False]
        lagging = pooled.units[2].turns_against_others
        assert lagging is not None
        assert abs(lagging.value - 0.95) < 4 * lagging.std


def test_it_does_not_spoil_the_figure():
    """The pooled figure is that of the units that do not lag."""
    values = [
        pool_run(*simulated_day(seed, drag=[(0, 0.08)])).ground_per_turn.value for seed in range(50)
    ]
    assert np.mean(values) == pytest.approx(GROUND_M, rel=0.004)


def test_two_of_three_lagging_units_are_found():
    pooled = pool_run(*simulated_day(5, units=3, drag=[(0, 0.06), (1, 0.06)]))
    assert [u.lags for u in pooled.units] == [True, True, False]


def test_of_two_units_the_one_that_turned_less():
    pooled = pool_run(*simulated_day(6, units=2, drag=[(1, 0.05)]))
    assert [u.lags for u in pooled.units] == [False, True]


@pytest.mark.whole_days
@pytest.mark.parametrize("units", [2, 4])
@pytest.mark.parametrize("scatter", [0.0, 0.01])
def test_false_alarms(units, scatter):
    """Like units: 400 seeded quiet days name one in at most 1 % (binomial margin: 10 of 400)."""
    alarms = sum(
        any(u.lags for u in pool_run(*simulated_day(seed, 5, units, scatter=scatter)).units)
        for seed in range(400)
    )
    assert alarms <= 10


def test_a_small_sure_difference_is_no_alarm():
    """0.4 % fewer turns over many long passes is certain, and less than wheels of a make differ."""
    counts = [
        PassCount(pass_index=p, unit=u, gear_turns=Measured(n, 0.01))
        for p in range(20)
        for u, n in (("A", 1000.0), ("B", 996.0))
    ]
    pooled = pool_run(np.full(20, 700.0), {Source.POSITION: np.eye(20)}, counts)
    ratio = pooled.units[1].turns_against_others
    assert ratio is not None
    assert ratio.value + 5 * ratio.std < 1
    assert not pooled.units[1].lags


def test_units_counted_on_different_passes():
    """One unit counted at a time: nothing to compare, still a figure."""
    counts = [
        PassCount(pass_index=p, unit="AB"[p % 2], gear_turns=Measured(150.0, COUNTING))
        for p in range(6)
    ]
    pooled = pool_run(np.full(6, 106.5), {Source.POSITION: np.eye(6)}, counts)
    assert [u.turns_against_others for u in pooled.units] == [None, None]
    assert pooled.ground_per_turn.value == pytest.approx(0.71, rel=1e-3)


def test_passes_without_a_count_are_left_out():
    distances, sources, counts = simulated_day(8, passes=4, units=2)
    with_gap = [c for c in counts if c.pass_index != 1]
    kept = [0, 2, 3]
    renumbered = [
        PassCount(pass_index=kept.index(c.pass_index), unit=c.unit, gear_turns=c.gear_turns)
        for c in with_gap
    ]
    gap = pool_run(distances, sources, with_gap)
    none = pool_run(
        distances[kept], {s: c[np.ix_(kept, kept)] for s, c in sources.items()}, renumbered
    )
    assert gap.ground_per_turn.value == pytest.approx(none.ground_per_turn.value)
    assert gap.ground_per_turn.std == pytest.approx(none.ground_per_turn.std)


def test_the_order_of_counts_does_not_matter():
    distances, sources, counts = simulated_day(9)
    one, two = pool_run(distances, sources, counts), pool_run(distances, sources, counts[::-1])
    assert two.ground_per_turn.value == pytest.approx(one.ground_per_turn.value)
    assert {u.unit: u.lags for u in two.units} == {u.unit: u.lags for u in one.units}
    assert [c.ground_per_turn.value for c in two.counts[::-1]] == [
        c.ground_per_turn.value for c in one.counts
    ]


def test_exact_input_is_exact():
    """A taped distance and turns without error: no division by zero, no invented error."""
    counts = [PassCount(pass_index=p, unit="A", gear_turns=Measured(100.0)) for p in range(8)]
    pooled = pool_run(np.full(8, 71.0), {"tape": np.zeros((8, 8))}, counts)
    assert pooled.ground_per_turn.value == pytest.approx(0.71)
    assert pooled.ground_per_turn.relative < 1e-4


@pytest.mark.parametrize(
    ("distances", "counts", "error", "says"),
    [
        ([100.0], [], MeasureError, "no turn count"),
        ([100.0], [(0, "A", 0.0)], MeasureError, "pass 1, unit A: turns must be above 0"),
        ([0.0], [(0, "A", 10.0)], MeasureError, "pass 1: the ground covered"),
        ([100.0], [(0, "A", 10.0), (0, "A", 10.0)], MeasureError, "counted twice"),
        ([100.0], [(1, "A", 10.0)], ValueError, "pass 2 of 1"),
    ],
)
def test_what_cannot_be_pooled(distances, counts, error, says):
    with pytest.raises(error, match=says):
        pool_run(
            np.array(distances),
            {Source.POSITION: np.eye(len(distances))},
            [PassCount(pass_index=p, unit=u, gear_turns=Measured(n)) for p, u, n in counts],
        )


def test_a_covariance_of_the_wrong_shape():
    with pytest.raises(ValueError, match="covariance of tape"):
        pool_run(np.array([1.0]), {"tape": np.eye(2)}, simulated_day(1, 1, 1)[2])
