"""Filter and influence against the model written once more as dense Gaussian algebra.

Rasmussen & Williams, *Gaussian Processes for Machine Learning*, 2.42-2.45 (from memory): a process
with fixed basis functions and a flat prior on their coefficients. Nothing of the package's own
algebra is used: windows are counted in milliseconds, ramps are integrated numerically, and the
whole day is one matrix.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.linalg import block_diag

from groundtruth.estimator import make_stretch, state_space
from groundtruth.estimator.batch import NEAR_STOP_SHARE, batch_of
from groundtruth.estimator.components import GaussMarkov, SmoothedGaussMarkov
from groundtruth.estimator.influence import influence_and_steps
from groundtruth.estimator.marginal_likelihood import evaluate
from groundtruth.estimator.pass_coordinates import RAMP_DOUBT_S, STAND_DOUBT_S
from groundtruth.estimator.priors import (
    DOPPLER_BIAS_M_S,
    DOPPLER_SLOW_S,
    PARAMETERS,
    PHONE,
    WEAVE_M,
    WEAVE_S,
)
from groundtruth.estimator.state_space import TINY_M

START_S = 1e6


def within_s(windows, time):
    """Length of the union of (from, to) windows up to each instant; windows on milliseconds."""
    low = int(np.floor(min(time.min(), *(a for a, _ in windows), time.max()))) if windows else 0
    if not windows:
        return np.zeros(len(time))
    cells = low + (np.arange(1000 * int(time.max() - low + 1)) + 0.5) / 1000
    inside = np.zeros(len(cells), dtype=bool)
    for a, b in windows:
        inside |= (cells > a) & (cells < b)
    return np.interp(time, np.append(low, cells + 0.0005), np.append(0, inside.cumsum() / 1000))


def driven_clock(stops, ramp_s, time):
    """The speed, as a share of the working speed, integrated up to each instant."""
    fine = np.arange(np.floor(time.min()), time.max() + 0.002, 0.001)
    share = np.ones(len(fine))
    for a, b in stops:
        share = np.minimum(share, np.clip(np.maximum(a - fine, fine - b) / ramp_s, 0, 1))
    way = np.append(0.0, np.cumsum((share[1:] + share[:-1]) / 2 * np.diff(fine)))
    return np.interp(time, fine, way)


def turning_clock(stretch, time):
    """Turns of the wheel at each instant, as seconds of their mean rate without the standing."""
    instants, turns = stretch.wheel
    stood = within_s(stretch.stops, instants[[0, -1]])
    seconds = instants[-1] - instants[0] - (stood[1] - stood[0])
    return seconds * np.interp(time, instants, turns) / (turns[-1] - turns[0])


def first_order(t, tau, _):
    return np.exp(-t / tau)


def smoothed(t, tau, rise):
    """An exponential covariance through a low-pass filter, by partial fractions."""
    return (tau * np.exp(-t / tau) - rise * np.exp(-t / rise)) / (tau - rise)


KERNELS = {
    "fast one smoothed": (first_order, smoothed),
    "none smoothed": (first_order, first_order),
    "both smoothed": (smoothed, smoothed),
}
"""Correlation of the slow and the fast error at two instants t apart."""


def dense_pass(stretch, p, *, kernel="fast one smoothed"):
    """One pass: data, their covariance, regressors; and of D its terms and prior variance."""
    fix = stretch.time_s[stretch.used]
    n = len(fix)
    time = np.concatenate([fix, [stretch.start_s, stretch.end_s]])
    z, c = stretch.along_m[stretch.used], stretch.across_m[stretch.used]
    stops = stretch.stops if stretch.wheel is None else ()
    clock = time - within_s(stops, time)
    if stretch.wheel is not None:
        clock = turning_clock(stretch, time)
    speed = abs(np.polyfit(clock[:n] - clock[0], z, 1)[0])
    way = driven_clock(stops, p["ramp_s"], time) if stretch.wheel is None else clock
    way = way - way[0]
    apart = np.abs(fix[:, None] - fix)
    wander = sum(
        p[f"{name}_m"] ** 2 * correlation(apart, p[f"{name}_s"], p["rise_s"])
        for name, correlation in zip(("slow", "fast"), KERNELS[kernel], strict=True)
    )
    white = (p["white_m"] ** 2 + TINY_M**2) * np.eye(n)
    # the driving: integral of an Ornstein-Uhlenbeck process, doubt beside the stops
    tau, scale = p["drive_s"], (p["drive"] * speed) ** 2
    doubt = within_s(
        [
            window
            for a, b in stops
            for window in (
                (a - RAMP_DOUBT_S, a + STAND_DOUBT_S),
                (b - STAND_DOUBT_S, b + RAMP_DOUBT_S),
            )
        ],
        time,
    )
    since, unsure = clock - clock.min(), doubt - doubt.min()
    low, high = np.minimum(since[:, None], since), np.maximum(since[:, None], since)
    swing = 1 - np.exp(-low / tau) - np.exp(-high / tau) + np.exp(-(high - low) / tau)
    driven = scale * (2 * tau * low - tau**2 * swing)
    driven += (NEAR_STOP_SHARE * speed) ** 2 * np.minimum(unsure[:, None], unsure)
    # counted from the first fix, also where a mark lies before it
    driven = driven - driven[:1] - driven[:, :1] + driven[0, 0]
    along = driven[:n, :n] + wander + white
    across = WEAVE_M**2 * np.exp(-apart / WEAVE_S) + wander + white
    # ∫ from 0 to t of exp(−|x − h|/τ) dx for the speed at h
    heard = np.flatnonzero(np.isfinite(stretch.speed_m_s[stretch.used]))
    at, t = since[heard], since[:, None]
    before = tau * (np.exp(-np.abs(at - t) / tau) - np.exp(-at / tau))
    after = tau * (2 - np.exp(-at / tau) - np.exp(-np.abs(t - at) / tau))
    place_speed = scale * np.where(at >= t, before, after)
    place_speed -= place_speed[:1]
    speeds = scale * np.exp(-np.abs(at[:, None] - at) / tau)
    speeds += p["doppler_slow_m_s"] ** 2 * np.exp(
        -np.abs(fix[heard][:, None] - fix[heard]) / DOPPLER_SLOW_S
    )
    speeds += p["doppler_white_m_s"] ** 2 * np.eye(len(heard))
    both = place_speed[:n]
    span = stretch.time_s[-1] - stretch.time_s[0]
    share = way / span
    regressors = block_diag(
        np.vstack(
            [
                np.stack([np.ones(n), share[:n]], axis=1),
                np.stack([np.zeros(len(heard)), np.full(len(heard), 1 / span)], axis=1),
            ]
        ),
        np.stack([np.ones(n), share[:n], share[:n] ** 2], axis=1),
    )
    read = stretch.speed_m_s[stretch.used][heard] - p["doppler_white_m_s"] ** 2 / (2 * speed)
    to_mark = driven[:n, n + 1] - driven[:n, n]
    gain = [to_mark, place_speed[n + 1] - place_speed[n], np.zeros(n)]
    return {
        "data": np.concatenate([z, read, c]),
        "cov": block_diag(np.block([[along, both], [both.T, speeds]]), across),
        "regressors": regressors,
        "bias": np.concatenate([np.zeros(n), np.ones(len(heard)), np.zeros(n)]),
        "gain": np.concatenate(gain),
        "reach": np.array([0, share[n + 1] - share[n], 0, 0, 0]),
        "prior": driven[n + 1, n + 1] - 2 * driven[n + 1, n] + driven[n, n],
    }


@dataclass(frozen=True)
class Dense:
    """Restricted log likelihood, D (passes,), its covariance, and what they were worked out from.

    ``answer`` (passes, data) is ∂D/∂data; ``rest`` = V⁻¹·(1 − X·(XᵀV⁻¹X)⁻¹XᵀV⁻¹).
    """

    log_likelihood: float
    mean: np.ndarray
    cov: np.ndarray
    answer: np.ndarray
    data: np.ndarray
    regressors: np.ndarray
    data_cov: np.ndarray
    rest: np.ndarray


def dense(stretches, p, *, bias_std=DOPPLER_BIAS_M_S, kernel="fast one smoothed"):
    """The day as one matrix, its Doppler bias integrated out."""
    parts = [dense_pass(s, p, kernel=kernel) for s in stretches]
    y, bias = (np.concatenate([q[name] for q in parts]) for name in ("data", "bias"))
    cov = block_diag(*(q["cov"] for q in parts)) + bias_std**2 * np.outer(bias, bias)
    x = block_diag(*(q["regressors"] for q in parts))
    gain, reach = (block_diag(*(q[name][None] for q in parts)) for name in ("gain", "reach"))
    inverse = np.linalg.inv(cov)
    information = x.T @ inverse @ x
    fit = np.linalg.solve(information, x.T @ inverse)
    rest = inverse @ (np.eye(len(y)) - x @ fit)
    log_like = -0.5 * (np.linalg.slogdet(cov)[1] + np.linalg.slogdet(information)[1] + y @ rest @ y)
    answer = reach @ fit + gain @ rest
    left = reach - gain @ inverse @ x
    var = np.diag([q["prior"] for q in parts]) - gain @ inverse @ gain.T
    var += left @ np.linalg.solve(information, left.T)
    return Dense(log_like, answer @ y, var, answer, y, x, cov, rest)


def driven(
    *,
    seed,
    stops=(),
    seconds=60,
    doppler=False,
    gaps=False,
    frozen=False,
    marks=(5, 5),
    wheel=False,
    close=False,
):
    """A pass at 1.2 m/s with noise; ``stops`` in seconds from its start, ``marks`` set in by."""
    rng = np.random.default_rng(seed)
    time = np.arange(seconds + 1.0)
    if gaps:  # also one long silence
        time = np.round(time + rng.uniform(-0.3, 0.3, len(time)), 3)
        time = time[(rng.random(len(time)) < 0.8) & ((time < 40) | (time > 52))]
    if close:
        time = np.sort(np.append(time, time[10::10] + 0.002))
    way = 1.2 * driven_clock(stops, 2.0, time)
    east, north = 0.6 * way, 0.8 * way
    east, north = (v + rng.normal(0, 0.4, len(time)) for v in (east, north))
    speed = np.full(len(time), np.nan)
    if doppler:
        speed = 1.2 + rng.normal(0, 0.1, len(time))
        for a, b in stops:
            speed[(time > a - 7) & (time < b + 7)] = np.nan
        speed[20:25] = np.nan
    if frozen:
        for a, b in stops:
            still = np.flatnonzero((time >= a) & (time < b))
            east[still], north[still] = east[still[0]], north[still[0]]
    turned = None
    if wheel:  # one turn every 0.7 m, from the fourth second on
        fine = np.arange(4, time[-1], 0.001)
        turns = np.floor((1.2 * driven_clock(stops, 2.0, fine)) / 0.7)
        at = np.flatnonzero(np.diff(turns)) + 1
        turned = START_S + np.round(fine[at], 3), turns[at]
    return make_stretch(
        START_S + time,
        east,
        north,
        speed,
        stops=[(START_S + a, START_S + b) for a, b in stops],
        start_s=START_S + time[0] + marks[0] + 0.123,
        end_s=START_S + time[-1] - marks[1] - 0.234,
        wheel=turned,
    )


BOTH_ENDS = ((-8.0, 6.5), (54.25, 70.0))
MIDWAY = ((24.0, 33.75),)
DAYS = {
    "under way": [{}],
    "gaps": [{"gaps": True}],
    "four fixes": [{"seconds": 3, "marks": (-1, -1)}],
    "fixes 2 ms apart": [{"close": True}],
    "marks outside the fixes": [{"marks": (-4, -6)}],
    "standing at both ends": [{"stops": BOTH_ENDS}],
    "a stop on the way, a mark within it": [{"stops": MIDWAY, "marks": (26, 5), "gaps": True}],
    "frozen while standing": [{"stops": (*BOTH_ENDS[:1], *MIDWAY), "frozen": True}],
    "Doppler": [{"doppler": True}],
    "Doppler, marks outside": [{"doppler": True, "gaps": True, "marks": (-4, -6)}],
    "Doppler and stops": [{"doppler": True, "stops": (*BOTH_ENDS, *MIDWAY), "marks": (2, 1)}],
    "turns timed": [{"wheel": True}],
    "turns timed, a stop, Doppler": [{"wheel": True, "stops": MIDWAY, "doppler": True}],
    "passes of several lengths": [
        {"doppler": True, "stops": BOTH_ENDS},
        {"doppler": True, "seconds": 30, "gaps": True},
        {"seconds": 45},
    ],
}


def day_of(name, seed):
    stretches = [driven(seed=10 * seed + k, **more) for k, more in enumerate(DAYS[name])]
    if seed == 1 and name != "four fixes":  # fixes set aside on the way and as the first
        used = stretches[0].used & ~np.isin(np.arange(len(stretches[0].used)), (0, 17, 18))
        stretches[0] = replace(stretches[0], used=used)
    return stretches


def some_sets(seed, count=3):
    rng = np.random.default_rng(seed)
    return PHONE.values(rng.normal(0, 0.7, (len(PARAMETERS), count)))


def named(values):
    return dict(zip(PARAMETERS, values, strict=True))


SLOW = SmoothedGaussMarkov("slow_m", "slow_s", "rise_s")
ERRORS = {
    "fast one smoothed": state_space.POSITION_ERROR,
    "none smoothed": (state_space.POSITION_ERROR[0], GaussMarkov("fast_m", "fast_s")),
    "both smoothed": (SLOW, state_space.POSITION_ERROR[1]),
}


@pytest.mark.parametrize("errors", ERRORS)
@pytest.mark.parametrize("seed", range(2))
@pytest.mark.parametrize("name", DAYS)
def test_the_filter_is_the_dense_model(name, seed, errors, monkeypatch):
    """Kalman filtering and Gaussian-process algebra are two ways to one answer."""
    monkeypatch.setattr(state_space, "POSITION_ERROR", ERRORS[errors])
    stretches, values = day_of(name, seed), some_sets(seed)
    doppler = any(np.isfinite(s.speed_m_s).any() for s in stretches)
    found = evaluate([batch_of(stretches, doppler=doppler)], values, doppler=doppler)
    likelihood = []
    for k in range(values.shape[1]):
        day = dense(stretches, named(values[:, k]), kernel=errors)
        likelihood.append(day.log_likelihood)
        assert_allclose(found.mean[:, k], day.mean, atol=1e-4)
        a = found.per_bias[:, k]
        ours = np.diag(found.var[:, k]) + found.bias_var[k] * np.outer(a, a)
        assert_allclose(ours, day.cov, rtol=1e-4, atol=1e-7)
    assert_allclose(np.diff(found.log_likelihood), np.diff(likelihood), atol=1e-3)


@pytest.mark.parametrize("seed", range(2))
@pytest.mark.parametrize("name", DAYS)
def test_the_influence_is_the_dense_model(name, seed):
    """D's gain by each fix, likelihood of shifted blocks, bow, and one-step innovations."""
    stretch, values = day_of(name, seed)[0], some_sets(seed)[:, 0]
    doppler = bool(np.isfinite(stretch.speed_m_s).any())
    found, grams = influence_and_steps(stretch, values, doppler=doppler)
    day = dense([stretch], named(values), bias_std=0.0)  # one set of parameters, bias and all
    n, size = int(stretch.used.sum()), len(day.data)
    assert_allclose(found.weight, day.answer[0, :n], atol=1e-5)
    along, across = np.arange(size - n), np.arange(size - n, size)
    for part, gram in ((along, grams.along), (across, grams.across)):
        steps = np.zeros((size, 1 + n))
        steps[part, 0] = day.data[part]
        steps[part[:n], 1:] = np.tri(n)
        expected = steps.T @ day.rest @ steps
        # the step at the first fix is the place of the pass: nothing is left of it
        assert_allclose(expected[1], 0, atol=1e-4 * expected.max())
        assert_allclose(gram, expected, rtol=1e-3, atol=1e-6 * expected.max())
    precision = np.linalg.inv(day.data_cov)
    information = day.regressors.T @ precision @ day.regressors
    bend = np.linalg.solve(information, day.regressors.T @ precision @ day.data)[4]
    marks = np.array([stretch.start_s, stretch.end_s])
    if stretch.wheel is None:
        marks = driven_clock(stretch.stops, values[PARAMETERS.index("ramp_s")], marks)
    else:
        marks = turning_clock(stretch, marks)
    # a parabola b·x² rises b·(Δx/2)² over the chord
    rise = (np.diff(marks)[0] / (stretch.time_s[-1] - stretch.time_s[0]) / 2) ** 2
    assert found.sagitta.value == pytest.approx(bend * rise, rel=1e-3, abs=1e-5)
    assert found.sagitta.std == pytest.approx(
        np.linalg.inv(information)[4, 4] ** 0.5 * rise, rel=1e-3
    )
    for part, fitted, innovations in zip((along, across), (2, 3), found.innovations.T, strict=True):
        factor = np.linalg.cholesky(day.data_cov[np.ix_(part, part)])
        columns = day.regressors[part][:, :2] if fitted == 2 else day.regressors[part][:, 2:]
        white, design = np.linalg.solve(factor, day.data[part]), np.linalg.solve(factor, columns)
        white, design = white[:n], design[:n]
        fit = np.linalg.lstsq(design, white, rcond=None)[0]
        assert_allclose(innovations, white - design @ fit, atol=1e-4)
