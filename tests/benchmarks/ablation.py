"""What each part of the measurement model is worth, left out one at a time.

    python -m tests.benchmarks.ablation [FOLDER] [--half tune] [--every 2] [--days 4] [--passes 5]
        [--seed0 500] [--only PART ...] [--write docs/real-tracks.md]

Each row leaves one part out and measures the same days again. Real phones: days made from a
`FOLDER` of error series (see `real_phones`), every so many pieces; simulated ones: days of the
scenarios named, from our simulator. Ends and stops are given, so that the error model is all there
is; the parts of the end finder are left out on the whole path, for real phones only. In 95 %, in
68 %: share of true lengths within 1.96 and 1.00 stated uncertainties; rms z: error over stated
uncertainty; RMSE in m; bias in % of the length; sums: share of the sums of a day in their 95 %.
"""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack
from dataclasses import replace
from pathlib import Path
from unittest import mock

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("OMP_NUM_THREADS", "1")

import numpy as np
from numpy.typing import NDArray

from groundtruth.estimator import estimate, importance_sampling, map_estimate
from groundtruth.estimator.importance_sampling import Posterior
from groundtruth.estimator.marginal_likelihood import ConditionalMoments
from groundtruth.estimator.priors import PARAMETERS, PHONE, Prior
from groundtruth.passes import position_error

from .cases import cases_of
from .error_series import HALVES, read_series
from .figures import STATISTICS, Figure, cell, columns_of
from .measured_phone_days import ends_given, figures_of, whole_path
from .page import markdown_table, write_between
from .phone_days import PhoneDay
from .real_phones import days_of

Array = NDArray[np.float64]
Changes = list["mock._patch[object]"]
Measured = tuple[list[Figure], list[Figure]]

SCENARIOS = (
    "ordinary phone",
    "calm phone",
    "drifting phone",
    "rough phone",
    "bad phone",
    "smoothing phone",
    "multipath",
    "mid-pass stop",
    "rolling lift",
)
NOTHING = 1e-4
WHOLE = "nothing: the whole model"
COLUMNS = ("in 95 %", "in 68 %", "rms z", "RMSE", "bias %")


def held(**values: float) -> Prior:
    """The phone's prior with some parameters held at a value."""
    median, std = PHONE.log_median.copy(), PHONE.log_std.copy()
    for name, value in values.items():
        at = PARAMETERS.index(name)
        median[at], std[at] = np.log(value), np.log(1.01)
    return replace(PHONE, log_median=median, log_std=std)


def _at_the_mode(sampled: Callable[..., Posterior]) -> Callable[..., Posterior]:
    """Only the best of the sets of parameters that are drawn."""

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


def _without_shared_error(stretches: Sequence[object], *_: object) -> Array:
    """No covariance between passes."""
    return np.zeros((len(stretches), len(stretches)))


def _without_hidden(self: position_error.ErrorCovariance, lag_s: Array) -> Array:
    """The end finder's covariance without the drift that no straight leg shows."""
    return np.asarray(position_error._correlations(np.abs(lag_s)) @ self.variance_m2)


def parts() -> Iterator[tuple[str, Changes]]:
    """Names of what is left out, with the changes of the package that leave it out."""

    def prior(changed: Prior) -> Changes:
        return [mock.patch.object(estimate, "PHONE", changed)]

    yield WHOLE, []
    yield "the slow error (hidden drift within a pass)", prior(held(slow_m=NOTHING))
    yield "the fast error", prior(held(fast_m=NOTHING))
    yield "its smoothness", prior(held(rise_s=0.02))
    yield "tempering of the likelihood", [mock.patch.object(map_estimate, "TEMPER", 1.0)]
    yield (
        "integration over the parameters",
        [
            mock.patch.object(
                estimate, "sample_posterior", _at_the_mode(importance_sampling.sample_posterior)
            )
        ],
    )
    yield "outlier blocks", [mock.patch.object(estimate, "MOST_CLEANINGS", 0)]
    yield "doubt whether the phone is late", [mock.patch.object(estimate, "LATE_STD_S", 0.0)]
    yield (
        "error shared by passes",
        [mock.patch.object(estimate, "covariance_between_passes", _without_shared_error)],
    )
    yield "ramps beside stops", prior(held(ramp_s=0.05))
    yield "uneven driving", prior(held(drive=NOTHING))
    yield (
        "doubt about the motion clock beside stops",
        [
            mock.patch("groundtruth.estimator.batch.NEAR_STOP_SHARE", 0.01),
            mock.patch("groundtruth.estimator.state_space.NEAR_STOP_SHARE", 0.01),
        ],
    )


def parts_of_ends() -> Iterator[tuple[str, Changes]]:
    """The same for the end finder."""
    yield "nothing, whole path", []
    yield (
        "hidden drift at the ends, whole path",
        [mock.patch.object(position_error.ErrorCovariance, "covariance", _without_hidden)],
    )


def simulated(names: Sequence[str], seeds: range, passes: int) -> Measured:
    """Passes and sums of simulated days."""
    found: Measured = [], []
    for name in names:
        for seed in seeds:
            _, cases = cases_of(name, seed, passes=passes)
            for to, new in zip(found, figures_of(cases, name, str(seed), name), strict=True):
                to += new
    return found


def real(days: Sequence[PhoneDay], measure: Callable[[PhoneDay], Measured]) -> Measured:
    """Passes and sums or figures of days with the errors of real phones."""
    found: Measured = [], []
    for d in days:
        for to, new in zip(found, measure(d), strict=True):
            to += new
    return found


def _row(name: str, measured: Measured) -> list[str]:
    passes, days = (columns_of(figures) for figures in measured)
    cells = [cell(n, STATISTICS[n](passes)) for n in COLUMNS]
    return [name, *cells, cell("in 95 %", STATISTICS["in 95 %"](days))]


def left_out(
    rows: Iterator[tuple[str, Changes]], measure: Callable[[], Measured], only: Sequence[str]
) -> list[list[str]]:
    """A row of the table for each part, measured without it."""
    found = []
    for name, changes in rows:
        if only and not any(part in name for part in only):
            continue
        with ExitStack() as stack:
            for change in changes:
                stack.enter_context(change)
            found.append(_row(name, measure()))
        print("  ".join(found[-1]), flush=True)
    return found


def main() -> None:
    """Print the tables, or write them into a page."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("folder", type=Path, nargs="?", help="folder of error series")
    parser.add_argument("--half", choices=(*HALVES, "all"), default="tune")
    parser.add_argument("--every", type=int, default=1, help="take every so many pieces only")
    parser.add_argument("--scenario", nargs="*", default=list(SCENARIOS))
    parser.add_argument("--days", type=int, default=4, help="days a scenario")
    parser.add_argument("--passes", type=int, default=5, help="passes a simulated day")
    parser.add_argument("--seed0", type=int, default=500, help="number of the first day")
    parser.add_argument("--only", nargs="*", default=[], help="parts whose name holds one of these")
    parser.add_argument("--write", type=Path, help="put the tables between the markers of a page")
    args = parser.parse_args()
    head = ("left out", *COLUMNS, "sums in 95 %")
    text = []
    if args.folder:
        series = [s for s in read_series(args.folder) if args.half in ("all", s.half)]
        days = list(days_of(series[:: args.every]))
        timed = [d for d in days if d.kind.instants]
        rows = left_out(parts(), lambda: real(timed, ends_given), args.only)
        rows += left_out(parts_of_ends(), lambda: real(days, whole_path), args.only)
        about = f"**Real phones**: half {args.half}, {len(series[:: args.every])} pieces, "
        text += [about + f"{len(timed)} days with given ends.", markdown_table(head, rows)]
    if args.scenario:
        seeds = range(args.seed0, args.seed0 + args.days)
        rows = left_out(parts(), lambda: simulated(args.scenario, seeds, args.passes), args.only)
        about = f"**Simulated phones**: {args.days} days of {args.passes} passes of "
        text += [
            about + ", ".join(f"*{n}*" for n in args.scenario) + ".",
            markdown_table(head, rows),
        ]
    if args.write:
        write_between(args.write, "\n\n".join(text), "ablation table")
    print("\n\n".join(text))


if __name__ == "__main__":
    main()
