"""Memory of a day's estimate: that of the passes filtered side by side, not of all passes."""

import tracemalloc

import numpy as np

from groundtruth.estimator import ground_covered, make_stretch
from groundtruth.estimator.importance_sampling import PART_PASSES


def peak_bytes(passes: int) -> int:
    rng = np.random.default_rng(11)
    time = np.arange(150.0)
    stretches = []
    for k in range(passes):
        east = np.cumsum(rng.normal(0, 0.05, len(time)))
        north = (-1) ** k * time + np.cumsum(rng.normal(0, 0.05, len(time)))
        begin_s = 1e9 + 190.0 * k
        stretches.append(
            make_stretch(
                begin_s + time,
                east,
                north,
                np.full(len(time), np.nan),
                stops=[],
                start_s=begin_s + 3,
                end_s=begin_s + 146,
            )
        )
    tracemalloc.start()
    try:
        ground_covered(stretches)
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


def test_memory_hardly_grows_with_the_passes_of_a_day():
    peak_bytes(2)  # what is imported and kept is not counted
    assert peak_bytes(3 * PART_PASSES) < 1.3 * peak_bytes(PART_PASSES)
