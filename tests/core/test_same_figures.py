"""Two results of one run are the same where their figures are, whatever they are worded in."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from factories import make_result

from groundtruth.core.measured import Measured
from groundtruth.core.notices import Notice
from groundtruth.core.same_figures import same_figures
from groundtruth.core.uncertainty import UncertaintySource
from groundtruth.io.result_json import result_from_json, result_to_json

ONE = make_result(units=("1", "2"), lagging="2")


def first_pass(**changes):
    return replace(ONE, passes=(replace(ONE.passes[0], **changes), *ONE.passes[1:]))


def test_words_versions_and_units_do_not_matter():
    other = replace(
        ONE,
        run_name="renamed",
        units="metric",
        tool_version="9.9",
        advice=(),
        findings=(),
        facts=(Notice(kind="fact", text="put otherwise"),),
        lines=(),
        fixes=(),
    )
    assert same_figures(ONE, other)


def test_a_result_that_was_written_and_read_is_the_same():
    """JSON keeps instants to the microsecond and of a crop only what the figure rests on."""
    assert same_figures(ONE, result_from_json(result_to_json(ONE)))
    old = json.loads(result_to_json(ONE)) | {"schema_version": 1, "advice": []}
    assert same_figures(ONE, result_from_json(json.dumps(old)))


def test_rounding_is_no_difference():
    near = ONE.ground_per_turn.scaled(1 + 1e-9)
    assert same_figures(ONE, replace(ONE, ground_per_turn=near))
    assert same_figures(ONE, first_pass(start_s=ONE.passes[0].start_s + 1e-5))


@pytest.mark.parametrize(
    "other",
    [
        replace(ONE, ground_per_turn=ONE.ground_per_turn.scaled(1 + 1e-5)),
        replace(ONE, ground_per_turn=Measured(ONE.ground_per_turn.value, 0.0035)),
        replace(ONE, ground_per_turn_95=(0.63, 0.6457)),
        replace(ONE, slip=None, slip_95=None),
        replace(ONE, passes=ONE.passes[:-1]),
        replace(ONE, passes=ONE.passes[::-1]),
        replace(ONE, row_units=(replace(ONE.row_units[0], lags=True), ONE.row_units[1])),
        replace(ONE, seeder=replace(ONE.seeder, row_spacing_m=0.4)),
        replace(
            ONE, budget=(replace(ONE.budget[0], source=UncertaintySource.SLOPE), *ONE.budget[1:])
        ),
        replace(ONE, targets=ONE.targets[1:]),
        first_pass(start_s=ONE.passes[0].start_s + 1.0),
        first_pass(turns=Measured(ONE.passes[0].turns.value + 1, ONE.passes[0].turns.std)),
        first_pass(bed="another"),
        first_pass(crop="another"),
    ],
)
def test_another_figure_or_another_place_is_a_difference(other):
    assert not same_figures(ONE, other)
    assert not same_figures(other, ONE)
