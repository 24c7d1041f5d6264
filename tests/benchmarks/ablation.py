"""What each part of the measurement model is worth, on simulated passes (truth: our simulator).

    python -m tests.benchmarks.ablation --days 10 --passes 6 --seed0 500 --write docs/accuracy.md

Each row leaves one part out and measures the same days again: RMSE over that of the whole model,
share of true lengths within the 95 % interval, rms of error over stated uncertainty. The last row
is a straight axis with steady driving and an error of two parameters, a first-order Gauss-Markov
process. Ends and stops are given.
"""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from dataclasses import replace
from pathlib import Path
from unittest import mock

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np
from numpy.typing import NDArray

from groundtruth.estimator import estimate, importance_sampling, map_estimate
from groundtruth.estimator.importance_sampling import Posterior
from groundtruth.estimator.marginal_likelihood import ConditionalMoments
from groundtruth.estimator.priors import PARAMETERS, PHONE, Prior

from .cases import cases_of
from .methods import ours
from .page import markdown_table, write_between

Array = NDArray[np.float64]
SCENARIOS = ("ordinary phone", "smoothing phone", "mid-pass stop", "multipath")
NOTHING = 1e-4


def held(**values: float) -> Prior:
    """The phone's prior with some parameters held at a value."""
    median, std = PHONE.log_median.copy(), PHONE.log_std.copy()
    for name, value in values.items():
        at = PARAMETERS.index(name)
        median[at], std[at] = np.log(value), np.log(1.01)
    return replace(PHONE, log_median=median, log_std=std)


def _at_the_mode(sampled: Callable[..., Posterior]) -> Callable[..., Posterior]:
    """The posterior with all its weight on one set: the likeliest that was drawn."""

    def sample(*args: object, **more: object) -> Posterior:
        found = sampled(*args, **more)
        best = [int(np.argmax(found.weight))]
        m = found.moments
        one = ConditionalMoments(
            m.log_likelihood[best], m.mean[:, best], m.var[:, best], m.per_bias[:, best],
            m.bias_var[best],
        )  # fmt: skip
        return Posterior(np.ones(1), found.values[:, best], one, 1.0)

    return sample


def parts() -> Iterator[tuple[str, list[mock._patch[object]]]]:
    """Names of what is left out, with the changes of the package that leave it out."""
    prior = lambda p: [mock.patch.object(estimate, "PHONE", p)]  # noqa: E731
    yield "nothing: the whole model", []
    yield "the slow error", prior(held(slow_m=NOTHING))
    yield "smoothness of the fast error", prior(held(rise_s=0.02))
    yield "ramps beside stops", prior(held(ramp_s=0.05))
    yield "uneven driving", prior(held(drive=NOTHING))
    yield (
        "doubt about the motion clock beside stops",
        [
            mock.patch("groundtruth.estimator.batch.NEAR_STOP_SHARE", 0.01),
            mock.patch("groundtruth.estimator.state_space.NEAR_STOP_SHARE", 0.01),
        ],
    )
    yield "setting jumps aside", [mock.patch.object(estimate, "MOST_CLEANINGS", 0)]
    yield (
        "integration over the parameters",
        [
            mock.patch.object(
                estimate, "sample_posterior", _at_the_mode(importance_sampling.sample_posterior)
            )
        ],
    )
    yield "the share of the likelihood", [mock.patch.object(map_estimate, "TEMPER", 1.0)]
    yield (
        "all but an axis and two parameters",
        prior(held(fast_m=NOTHING, drive=NOTHING, ramp_s=0.05, rise_s=0.02)),
    )


def measured(scenario: str, seeds: range, passes: int) -> tuple[Array, Array]:
    """Errors and their stated uncertainties, (passes of all days,) each. [m]"""
    error, std = [], []
    for seed in seeds:
        _, cases = cases_of(scenario, seed, passes=passes)
        distance, covariance = ours(cases)
        error += (distance - [c.ground_m for c in cases]).tolist()
        std += np.sqrt(np.diag(covariance)).tolist()
    return np.array(error), np.array(std)


def main() -> None:
    """Print the table, or write it into a page."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n", 1)[0])
    parser.add_argument("--days", type=int, default=10, help="days a scenario")
    parser.add_argument("--passes", type=int, default=6, help="passes a day")
    parser.add_argument("--seed0", type=int, default=500, help="number of the first day")
    parser.add_argument("--write", type=Path, help="put the table between the markers of a page")
    args = parser.parse_args()
    seeds = range(args.seed0, args.seed0 + args.days)
    whole: dict[str, float] = {}
    rows = []
    for name, changes in parts():
        row: list[object] = [name]
        for scenario in SCENARIOS:
            with ExitStack() as stack:
                for change in changes:
                    stack.enter_context(change)
                error, std = measured(scenario, seeds, args.passes)
            rmse = float(np.sqrt(np.mean(error**2)))
            z = error / std
            row.append(
                f"{rmse / whole.setdefault(scenario, rmse):.2f}; "
                f"{100 * np.mean(np.abs(z) < 1.96):.0f}; {np.sqrt(np.mean(z**2)):.2f}"
            )
        rows.append(row)
    table = markdown_table(("left out", *SCENARIOS), rows)
    if args.write:
        write_between(args.write, table, "ablation table")
    else:
        print(table)


if __name__ == "__main__":
    main()
