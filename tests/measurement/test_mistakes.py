"""A sample morning with one mistake put into its sheet: what is answered, and what is said.

The truth is our own simulator's: the sample without the mistake is what it should come to.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

import groundtruth
from groundtruth.core.findings import FindingKind
from groundtruth.core.measured import Measured
from groundtruth.core.result import CellReason, Judgement, Verdict
from groundtruth.views.result_blocks import result_blocks
from groundtruth.views.sentences.measurement import (
    repair_sentences,
    use_sentence,
    warning_sentences,
)
from groundtruth.views.terminal import plain_lines


@pytest.fixture(scope="module")
def right(run, passes):
    return groundtruth.measure(run, passes)


def with_counts(run, change):
    counts = tuple(c for c in map(change, run.turns.counts) if c is not None)
    return replace(run, turns=replace(run.turns, counts=counts))


def close(result, right):
    return result.ground_per_turn.value == pytest.approx(right.ground_per_turn.value, rel=0.006)


def test_a_morning_without_a_mistake_is_believed(right):
    assert {c.verdict for c in right.cells} == {Judgement.AGREES}
    assert len(right.cells) == 32
    assert {c.line for c in right.cells} == {c.line for c in right.cells if c.line}


def test_two_digits_swapped_are_named_with_their_line(run, passes, right):
    at = run.turns.counts[13]
    typed = float(f"{at.turns:.0f}"[::-1])
    wrong = with_counts(run, lambda c: replace(c, turns=typed) if c is at else c)
    result = groundtruth.measure(wrong, passes)
    (cell,) = (c for c in result.cells if c.verdict is Judgement.LEFT_OUT)
    assert (cell.number, cell.unit, cell.line) == (at.pass_number, at.unit, at.line)
    assert cell.reason is CellReason.COUNT
    assert cell.expected[0] <= at.turns <= cell.expected[1]
    assert cell.suggestion == at.turns
    assert close(result, right)
    (said,) = (s for s in warning_sentences(result) if "turns:" in s)
    assert f"line {at.line}, turns: pass {at.pass_number}, unit {at.unit}: {typed:g} turns" in said
    assert f"Is it {at.turns:g}?" in said


def test_a_watch_that_is_behind_is_said_and_corrected(run, passes, right):
    late = with_counts(run, lambda c: replace(c, start_s=c.start_s - 31, end_s=c.end_s - 31))
    result = groundtruth.measure(late, passes)
    (found,) = (f for f in result.findings if f.kind is FindingKind.CLOCK_OFF)
    assert abs(found.offset.value + 31) < 6
    assert close(result, right)
    assert any(
        "s behind the phone's; its times were corrected" in s for s in repair_sentences(result)
    )


def test_a_watch_in_another_zone_is_asked_about(run, passes, right):
    other = with_counts(run, lambda c: replace(c, start_s=c.start_s + 3600, end_s=c.end_s + 3600))
    result = groundtruth.measure(other, passes)
    assert close(result, right)
    said = warning_sentences(result)
    assert any("1 h 0 min" in one and one.endswith("Is that so?") for one in said)


def test_a_tape_that_cannot_be_is_left_out(run, passes, right):
    wrong = with_counts(
        run, lambda c: replace(c, taped=Measured(86.5, 0.1)) if c.pass_number == 2 else c
    )
    result = groundtruth.measure(wrong, passes)
    (found,) = (f for f in result.findings if f.kind is FindingKind.TAPED_OFF)
    assert found.passes == (2,)
    assert close(result, right)


def test_a_row_that_was_forgotten_and_numbered_on_is_answered(run, passes, right):
    def without(c):
        if c.pass_number == 4:
            return None
        number = c.pass_number - (c.pass_number > 4)
        return replace(c, pass_number=number, start_s=None, end_s=None)

    result = groundtruth.measure(with_counts(run, without), passes)
    assert close(result, right)
    assert any(f.kind is FindingKind.GUESSED for f in result.findings)


def test_an_impossible_slip_is_no_figure_to_use(run, passes):
    wheel = run.seeder.wheel_circumference.scaled(1.25)
    wrong = replace(run, seeder=replace(run.seeder, wheel_circumference=wheel))
    result = groundtruth.measure(wrong, passes)
    assert result.verdict is Verdict.CANNOT_TELL
    assert use_sentence(result).startswith("Cannot tell yet: no wheel slips like this.")
    shown = "\n".join(line for block in result_blocks(result) for line in plain_lines(block))
    assert "from now on" not in shown


def test_an_interval_too_wide_keeps_nothing(right):
    """± 18 % about the figure in use is no agreement, ± 1 % is."""
    in_use = right.seeder.ground_per_gear_turn_in_use_m
    for half, verdict in (
        (0.18, Verdict.CANNOT_TELL),
        (0.06, Verdict.CANNOT_TELL),
        (0.01, Verdict.KEEP),
    ):
        result = replace(
            right,
            ground_per_turn=Measured(in_use, half * in_use / 2),
            ground_per_turn_95=(in_use * (1 - half), in_use * (1 + half)),
            slip_95=None,
        )
        assert result.verdict is verdict
        assert ("no need to change" in use_sentence(result)) == (verdict is Verdict.KEEP)
    away = replace(right, ground_per_turn_95=(in_use * 1.02, in_use * 1.04), slip_95=None)
    assert away.verdict is Verdict.CHANGE
