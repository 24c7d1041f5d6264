"""The sheet's clock, the rows without a pass, and the alignment of the two orders."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC
from itertools import combinations

import numpy as np
import pytest
from test_matching import T0, a_pass, count, track

from groundtruth.core.findings import FindingKind
from groundtruth.core.turns import TurnSheet
from groundtruth.passes.matching import matching
from groundtruth.passes.matching.assignment import SKIP, SKIP_ON, assign
from groundtruth.passes.matching.sheet_rows import sheet_rows

STARTS = (100, 260, 395, 560, 700, 868)
PASSES = tuple(a_pass(k, s, s + 80 + 3 * k) for k, s in enumerate(STARTS, start=1))


def rows(off_s=0.0, *, skip=(), drift_s_per_h=0.0, step=None, turns=150, **more):
    """A row for each pass, read in the standing at both ends by a watch that is off."""
    written = []
    for k, p in enumerate(PASSES, start=1):
        if k in skip:
            continue
        ends = [p.start.time_s - 3 - T0, p.end.time_s + 4 - T0]
        ends = [t + off_s + drift_s_per_h * t / 3600 for t in ends]
        if step:
            ends = [float(t // step * step) for t in ends]
        written.append(count(k, *ends, turns=turns + 4 * k, line=k + 1, **more))
    return written


def read(written, passes=PASSES):
    return matching(passes, TurnSheet(name="turns.csv", counts=tuple(written)), track(), UTC)


def test_a_clock_that_is_right_is_left_alone():
    found = read(rows())
    assert found.clock is None
    assert [c.found.number for c in found.passes] == [1, 2, 3, 4, 5, 6]
    assert found.findings == ()


@pytest.mark.parametrize("off_s", [-3600, -61, -10, 10, 25, 3600, 7200 + 12])
def test_a_clock_that_is_off_is_told_and_corrected(off_s):
    """Known by construction: every instant of the sheet was moved by as much."""
    found = read(rows(off_s))
    assert found.clock is not None
    offset = found.clock.offset_s
    assert abs(offset.value - off_s) < max(3 * offset.std, 2)
    assert offset.std < 4
    assert [c.found.number for c in found.passes] == [1, 2, 3, 4, 5, 6]
    assert {c.start.found for c in found.passes} == {"stopped"}


def test_a_clock_that_gains_is_told():
    found = read(rows(drift_s_per_h=100.0))
    assert [c.found.number for c in found.passes] == [1, 2, 3, 4, 5, 6]
    assert {c.start.found for c in found.passes} == {"stopped"}


def test_seconds_that_are_all_0_were_read_to_the_minute():
    (first, *_) = sheet_rows(rows(step=60))
    assert first.resolution_s == 60
    assert sheet_rows(rows())[0].resolution_s == 1
    found = read(rows(step=60))
    assert [c.found.number for c in found.passes] == [1, 2, 3, 4, 5, 6]
    assert {c.start.found for c in found.passes} == {"stopped"}


def test_a_row_that_the_phone_did_not_record_is_left_out_and_the_others_answered():
    found = read(rows(), passes=PASSES[:4])
    assert [c.number for c in found.passes] == [1, 2, 3, 4]
    assert [f.passes for f in found.findings] == [(5,), (6,)]
    assert {f.kind for f in found.findings} == {FindingKind.NO_PASS}


def test_a_row_written_twice_is_left_out():
    second = rows()[2]
    again = count(7, second.start_s - T0, second.end_s - T0, turns=second.turns, line=9)
    found = read([*rows(), again])
    assert len(found.passes) == 6
    (doubled,) = found.findings
    assert doubled.kind is FindingKind.ROW_DOUBLED


def test_a_unit_with_times_of_its_own_is_left_out():
    found = read([count(1, 112, 170), count(1, 135, 170, unit="2")], passes=PASSES[:1])
    (only,) = found.passes
    assert [c.unit for c in only.counts] == ["1"]
    assert [c.unit for c in only.read_elsewhere] == ["2"]


def test_a_row_without_times_among_others_goes_by_its_order():
    found = read([*rows(skip=(3,)), count(3, turns=162, line=4)])
    assert [c.found.number for c in found.passes if c.number == 3] == [3]


def test_a_counter_typed_as_counts_is_taken_apart():
    written = [count(k, turns=t) for k, t in enumerate((104, 211, 321, 434, 550, 669), start=1)]
    found = read(written)
    assert [c.counts[0].turns.value for c in found.passes] == [104, 107, 110, 113, 116, 119]
    assert found.findings[0].kind is FindingKind.RUNNING_COUNTER


def test_beds_that_grow_longer_are_no_running_counter():
    """A field with a slanting headland: its counts rise as evenly as a counter."""
    passes = tuple(a_pass(k, 100 * k, 100 * k + 12 * k) for k in range(2, 8))
    written = [count(k, turns=30 * (k + 1)) for k in range(1, 7)]
    found = read(written, passes=passes)
    assert [c.counts[0].turns.value for c in found.passes] == [60, 90, 120, 150, 180, 210]
    assert found.findings == ()


def test_a_row_that_was_forgotten_is_told_by_lengths():
    lengths = (60, 95, 75, 110, 50, 85)
    passes = tuple(
        a_pass(k, 200 * k, 200 * k + length) for k, length in enumerate(lengths, start=1)
    )
    written = [
        count(k, turns=round(1.2 * lengths[j] / 0.7)) for k, j in enumerate((0, 1, 3, 4, 5), 1)
    ]
    found = read(written, passes=passes)
    assert [c.found.number for c in found.passes] == [1, 2, 4, 5, 6]
    assert found.findings[0].kind is FindingKind.GUESSED


def _by_hand(score):
    """The best alignment of few rows and passes by trying all, for skips within the day only."""
    r, p = score.shape
    best = (-np.inf, [])
    for n in range(min(r, p) + 1):
        for some_rows in combinations(range(r), n):
            for some_passes in combinations(range(p), n):
                pairs = list(zip(some_rows, some_passes, strict=True))
                value = sum(score[i, j] for i, j in pairs)
                belongs = dict(pairs)
                best = max(best, (value, [belongs.get(i) for i in range(r)]), key=lambda b: b[0])
    return best[1]


def test_the_alignment_is_the_best_of_all(monkeypatch):
    """Where leaving out costs nothing, against every alignment tried by brute force."""
    from groundtruth.passes.matching import assignment

    monkeypatch.setattr(assignment, "SKIP", 0.0)
    monkeypatch.setattr(assignment, "SKIP_ON", 0.0)
    rng = np.random.default_rng(41)
    for _ in range(40):
        score = rng.normal(size=(int(rng.integers(1, 5)), 4))
        assert assign(score, PASSES[:4]) == _by_hand(score)
    assert SKIP > SKIP_ON


def test_ends_that_may_not_be_stands_move_no_clock():
    """Ends found standing 15 s too far out, each in doubt by as much, against starts that are
    right: the sheet's clock is left alone."""
    found = tuple(
        replace(p, end=replace(p.end, time_s=p.end.time_s + 15, std_m=12.0), stops=p.stops[:1])
        for p in PASSES
    )
    assert read(rows(), found).clock is None
