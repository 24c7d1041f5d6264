"""A result survives JSON unharmed, every key is documented, and foreign JSON is refused clearly."""

from __future__ import annotations

import json
import re
from dataclasses import fields, is_dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from factories import make_result
from hypothesis import given
from hypothesis import strategies as st

from groundtruth.core.errors import InputError
from groundtruth.core.findings import Advice, AdviceKind, Finding, FindingKind
from groundtruth.core.fleet_prior import FleetFigure
from groundtruth.core.measured import Measured
from groundtruth.core.notices import Notice
from groundtruth.core.origin import Origin, Soil
from groundtruth.core.recording import DistanceErrors, Recording
from groundtruth.core.result import CellReason, CellVerdict, Judgement
from groundtruth.estimator.priors import PARAMETERS
from groundtruth.io.json_values import utc_text
from groundtruth.io.result_json import (
    SCHEMA_VERSION,
    result_from_json,
    result_to_dict,
    result_to_json,
)

DOCS = Path(__file__).parents[1] / "docs"

FINDINGS = (
    Finding(kind=FindingKind.MUCH_SLIP),
    Finding(kind=FindingKind.JUMPED, passes=(2, 5), fixes=14),
    Finding(
        kind=FindingKind.DROVE_ON,
        passes=(3,),
        end="end",
        from_s=1_778_570_000.0,
        until_s=1_778_570_060.5,
        along_m=72.25,
    ),
    Finding(kind=FindingKind.CLOCK_OFF, offset=Measured(-11.2, 0.8), drift_s_per_h=1.5),
    Finding(kind=FindingKind.TAPED_OFF, passes=(4,), line=9, written=86.5, expected=(66.0, 68.0)),
)
ADVICE = (
    Advice(kind=AdviceKind.LONGER_PASSES, pass_length_m=240.0, half_width_95=0.0071),
    Advice(kind=AdviceKind.MORE_PASSES, passes=30, half_width_95=0.005),
    Advice(kind=AdviceKind.THREE_PASSES),
)
CELLS = (
    CellVerdict(number=1, unit="1", line=2, turns=93, verdict=Judgement.AGREES),
    CellVerdict(
        number=1,
        unit="2",
        line=None,
        turns=39,
        verdict=Judgement.LEFT_OUT,
        reason=CellReason.COUNT,
        expected=(92, 94),
        suggestion=93,
    ),
)
_MADE = make_result(units=("1", "2"), lagging="2")
FULL = replace(
    _MADE,
    advice=ADVICE,
    findings=FINDINGS,
    cells=CELLS,
    origin=Origin(farm="Quillfen Farm", farm_id="q-3", field="north strip", phone="an old one"),
    soil=Soil(moisture="wet", texture="silt loam"),
    recording=Recording(
        receiver="phone",
        doppler=True,
        fixes=812,
        fixes_set_aside=3,
        noise=tuple((name, 0.1 + place) for place, name in enumerate(PARAMETERS)),
    ),
    with_fleet=FleetFigure(
        ground_per_turn=Measured(0.61, 0.004),
        ground_per_turn_95=(0.6, 0.62),
        odd=0.03,
        dropped=False,
    ),
    distances=DistanceErrors(passes=(1, 2, 4), std_m=(0.9, 1.0, 1.1), correlations=(0.1, -0.2, 0)),
    seeder=replace(
        _MADE.seeder,
        name="the old one",
        id="s-1",
        tyre="3.50-8",
        tyre_pressure_pa=120_000.0,
        ballast_kg=40.0,
    ),
)
BARE = make_result(slip=False, in_use=False, passes=1)
"""Nothing known of the wheel, no figure in use: every value that may be missing is."""


@pytest.mark.parametrize("result", [FULL, BARE], ids=["full", "bare"])
def test_a_result_comes_back_as_it_was(result):
    assert result_from_json(result_to_json(result)) == result


@given(
    text=st.text(st.characters(exclude_categories=("Cc", "Cf", "Cs", "Zl", "Zp")), max_size=30),
    count=st.integers(1, 10**9),
)
def test_any_text_comes_back_as_it_was(text, count):
    notice = Notice(kind="repair", text=text, count=count, where=text)
    result = replace(BARE, run_name=text, repairs=(notice,))
    assert result_from_json(result_to_json(result)) == result


@given(time_s=st.floats(0, 4e9))
def test_instants_come_back_to_the_microsecond(time_s):
    figure = replace(BARE.passes[0], start_s=time_s, end_s=time_s + 60)
    back = result_from_json(result_to_json(replace(BARE, passes=(figure,)))).passes[0]
    assert back.start_s == pytest.approx(time_s, abs=1e-6, rel=0)


def test_instants_are_iso_8601_in_utc():
    # the calendar of the standard library is the outside check
    instant = datetime(2026, 5, 12, 6, 41, 7, 250_000, tzinfo=UTC)
    assert utc_text(instant.timestamp()) == "2026-05-12T06:41:07.250000Z"
    assert utc_text(0.0) == "1970-01-01T00:00:00Z"


def test_the_keys_that_others_build_on_are_there():
    data = json.loads(result_to_json(FULL))
    assert data["schema_version"] == SCHEMA_VERSION
    assert data["ground_per_turn_m"] == FULL.ground_per_turn.value
    assert data["ground_per_turn_u_m"] == FULL.ground_per_turn.std
    assert data["ground_per_turn_95_m"] == list(FULL.ground_per_turn_95)
    assert FULL.slip is not None
    assert (data["slip"], data["slip_u"]) == (FULL.slip.value, FULL.slip.std)
    first = data["passes"][0]
    assert first["start"] == "2026-05-12T07:01:07Z"
    for key in ("distance", "ground_per_turn"):
        assert first[f"{key}_m"] == getattr(FULL.passes[0], key).value
        assert first[f"{key}_u_m"] == getattr(FULL.passes[0], key).std
    assert {"number", "unit", "turns", "slip", "slip_u", "end"} <= set(first)
    assert {"crop", "seeds_per_turn", "seeds_per_turn_in_use"} <= set(data["targets"][0])
    assert data["inputs"][0] == {"name": "run.toml", "sha256": "5f" * 32}
    assert data["repairs"][0]["count"] == 14
    assert data["tool_version"] == FULL.tool_version
    assert data["warnings"][0]["text"]


def test_no_field_of_the_result_is_left_out():
    """A field added to the result without a place in JSON makes the way back fail or differ."""
    changed = replace(FULL, time_zone="Asia/Tokyo", date="2025-01-02", tool_version="9.9")
    for name in (f.name for f in fields(FULL)):
        value = getattr(changed, name)
        if isinstance(value, tuple) and value and is_dataclass(value[0]):
            shorter = replace(changed, **{name: value[:-1]})
            assert result_from_json(result_to_json(shorter)) == shorter, name
    assert result_from_json(result_to_json(changed)) == changed


@pytest.mark.parametrize("result", [FULL, BARE], ids=["full", "bare"])
def test_unknown_is_null_and_nothing_is_outside_ascii(result):
    text = result_to_json(replace(result, run_name="é\u202e\x1b\x7f\u2028"))
    assert text.isascii()
    assert not re.search(r"[\x00-\x09\x0b-\x1f\x7f]", text)
    json.loads(text, parse_constant=lambda word: pytest.fail(f"{word} in JSON"))


def test_missing_slip_is_null():
    data = json.loads(result_to_json(BARE))
    assert [data[k] for k in ("slip", "slip_u", "slip_95", "change", "change_u")] == [None] * 5
    assert data["passes"][0]["slip"] is None
    assert data["targets"][0]["seeds_per_turn_in_use"] is None


def _keys(value: object) -> set[str]:
    if isinstance(value, dict):
        return set(value).union(*(_keys(v) for v in value.values()))
    if isinstance(value, list):
        return set().union(*(_keys(v) for v in value))
    return set()


def test_every_key_is_documented_and_every_documented_key_exists():
    manual = (DOCS / "result-json.md").read_text(encoding="utf-8")
    documented = set(re.findall(r"`([a-z0-9_]+)`", manual.partition("## Keys\n")[2]))
    assert documented == _keys(result_to_dict(FULL))


def test_a_result_of_version_1_is_read_without_its_sentences_of_advice():
    """A result that version 1 wrote, cut to three passes; its figures are the samples' own."""
    text = (Path(__file__).parent / "data" / "result-version-1.json").read_text(encoding="utf-8")
    old = json.loads(text)
    assert old["schema_version"] == 1
    result = result_from_json(text)
    assert result.ground_per_turn.value == old["ground_per_turn_m"]
    assert len(result.passes) == len(old["passes"])
    assert [n.text for n in result.facts] == [n["text"] for n in old["facts"]]
    assert result.advice == ()
    again = json.loads(result_to_json(result))
    assert [t["seeds_per_turn"] for t in again["targets"]] == [
        t["seeds_per_turn"] for t in old["targets"]
    ]
    assert again["seeder"].items() >= old["seeder"].items()
    changed = {"schema_version", "advice", "targets", "seeder"}  # of both more is known now
    assert {k: v for k, v in again.items() if k in old and k not in changed} == {
        k: v for k, v in old.items() if k not in changed
    }


def test_a_file_written_before_farm_seeder_and_soil_were_kept_is_read():
    old = json.loads(result_to_json(FULL))
    for key in ("farm", "farm_id", "field", "phone", "soil", "recording", "distances"):
        del old[key]
    for key in ("name", "id", "tyre", "tyre_pressure_pa", "ballast_kg"):
        del old["seeder"][key]
    result = result_from_json(json.dumps(old))
    assert result == replace(
        FULL, origin=Origin(), soil=Soil(), seeder=_MADE.seeder, recording=None, distances=None
    )


def test_correlations_of_very_many_passes_are_null():
    many = DistanceErrors(passes=tuple(range(1, 302)), std_m=(1.0,) * 301, correlations=None)
    result = replace(FULL, distances=many)
    assert json.loads(result_to_json(result))["distances"]["correlations"] is None
    assert result_from_json(result_to_json(result)) == result


def _text_with(**changes: object) -> str:
    return json.dumps(json.loads(result_to_json(FULL)) | changes)


def _without(key: str) -> str:
    data = json.loads(result_to_json(FULL))
    del data[key]
    return json.dumps(data)


def _with_first(key: str, **changes: object) -> str:
    data = json.loads(result_to_json(FULL))
    data[key][0] |= changes
    return json.dumps(data)


def _pass_with(**changes: object) -> str:
    data = json.loads(result_to_json(FULL))
    data["passes"][1] |= changes
    return json.dumps(data)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        pytest.param("", "not a result", id="empty"),
        pytest.param("\x00\x01", "not a result", id="binary"),
        pytest.param("[" * 100_000, "not a result", id="nested"),
        pytest.param('{"tool": "groundtruth", "slip": NaN}', "NaN is not a number", id="nan"),
        pytest.param("[]", "not a result of groundtruth", id="list"),
        pytest.param('{"type": "FeatureCollection"}', "not a result of groundtruth", id="foreign"),
        pytest.param('{"tool": "groundtruth"}', "schema_version is missing", id="no version"),
        pytest.param(_text_with(schema_version=99), "update groundtruth", id="newer"),
        pytest.param(_text_with(schema_version=0), "measure the run again", id="older"),
        pytest.param(_text_with(units="furlong"), 'units is "furlong"', id="units"),
        pytest.param(_text_with(ground_per_turn_m=None), "ground_per_turn_m is null", id="null"),
        pytest.param(_text_with(ground_per_turn_m=True), "should be a number", id="bool"),
        pytest.param(_text_with(ground_per_turn_m=10**400), "should be a number", id="huge"),
        pytest.param(_text_with(ground_per_turn_u_m=-1), "should be 0 or more", id="negative"),
        pytest.param(_text_with(ground_per_turn_95_m=[1]), "two numbers", id="one end"),
        pytest.param(_text_with(fixes=[[1, 2], [3]]), "pairs", id="fixes"),
        pytest.param(_text_with(passes={}), "a list of objects", id="passes"),
        pytest.param(_text_with(seeder=3), "an object", id="seeder"),
        pytest.param(
            _text_with(distances={"passes": [1, 2], "u_m": [1, 1], "correlations": []}),
            "2 passes need 1 correlations",
            id="correlations",
        ),
        pytest.param(
            _text_with(distances={"passes": [1, 2], "u_m": [1, 1], "correlations": [2]}),
            "within -1 and 1",
            id="correlation of 2",
        ),
        pytest.param(_text_with(farm=3), "farm is 3; it should be text", id="farm"),
        pytest.param(_text_with(soil={"moisture": "damp"}), "dry or moist or wet", id="soil"),
        pytest.param(_without("slip"), "slip is missing", id="slip left out"),
        pytest.param(_without("targets"), "targets is missing", id="targets left out"),
        pytest.param(_pass_with(start="yesterday"), "passes, entry 2: start", id="instant"),
        pytest.param(_pass_with(start="2026-05-12T06:41:07"), "with its zone", id="no zone"),
        pytest.param(_pass_with(number=1.5), "a whole number", id="not whole"),
        pytest.param(_text_with(time_zone="Mars"), "time_zone is", id="zone"),
        pytest.param(_text_with(time_zone="../x"), "time_zone is", id="zone that is a path"),
        pytest.param(_text_with(budget=[{"source": "luck"}]), 'source is "luck"', id="source"),
        pytest.param(_with_first("advice", kind="wait"), 'kind is "wait"', id="advice"),
        pytest.param(_with_first("advice", half_width_95=None), "is not known", id="half advice"),
        pytest.param(_with_first("findings", passes=[1.5]), "whole numbers", id="finding"),
        pytest.param(_with_first("findings", kind="fixes jumped aside"), "passes", id="no pass"),
    ],
)
def test_what_is_not_a_result_is_refused_in_one_line(text, said):
    with pytest.raises(InputError) as caught:
        result_from_json(text, "old.json")
    message = str(caught.value)
    assert message.startswith("old.json: ")
    assert said in message
    assert "\n" not in message
    assert len(message) < 250


def test_an_impossible_spacing_is_refused_with_the_file_named():
    data = json.loads(result_to_json(FULL))
    data["targets"][0]["germination"] = 82
    with pytest.raises(InputError, match=r"^old\.json: .*germination"):
        result_from_json(json.dumps(data), "old.json")
