"""The sentences about a result: every kind has one, in the units asked for and no others."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from browser import PAYLOADS
from factories import make_result

import groundtruth
from groundtruth.core.findings import Advice, AdviceKind, Finding, FindingKind, ReceiverEvidence
from groundtruth.core.measured import Measured
from groundtruth.core.uncertainty import UncertaintySource
from groundtruth.views.sentences import measurement as said

SAMPLES = Path(__file__).parents[2] / "sample_tracks"
T_S = 1_778_587_795.0  # 2026-05-12 12:09:55 UTC

ADVICE = tuple(
    Advice(kind=kind, half_width_95=0.0123, passes=14, pass_length_m=239.7) for kind in AdviceKind
)
FINDINGS = tuple(
    Finding(
        kind=kind,
        passes=(3, 7),
        end="start",
        from_s=T_S,
        until_s=T_S + 60,
        along_m=72.4,
        fixes=14,
        evidence=ReceiverEvidence.FIX_QUALITY,
        line=5,
        offset=Measured(-11.2, 0.8),
        written=86.5,
        expected=(66.0, 68.0),
    )
    for kind in FindingKind
)


def everything(result):
    return (
        said.use_sentence(result),
        said.sure_sentence(result),
        *said.watch_sentences(result),
        *said.surer_sentences(result),
        *said.warning_sentences(result),
        *said.repair_sentences(result),
        *said.fact_sentences(result),
    )


def test_every_kind_has_a_sentence_of_its_own():
    result = replace(make_result(), advice=ADVICE, findings=FINDINGS)
    assert len(set(said.surer_sentences(result))) == len(AdviceKind)
    assert set(said.SOURCE_NAMES) == set(UncertaintySource)
    bare = replace(result, warnings=(), repairs=(), facts=())
    found = {
        *said.watch_sentences(bare),
        *said.warning_sentences(bare),
        *said.repair_sentences(bare),
        *said.fact_sentences(bare),
    }
    assert len(found) == len(FindingKind)


@pytest.mark.parametrize(
    ("units", "foreign"),
    [("metric", r"\b(ft|in)\b(?! (use|the|line|its|order|turn))"), ("us", r"\d (m|cm)\b")],
)
def test_lengths_stand_in_the_units_asked_for(units, foreign):
    result = replace(make_result(), advice=ADVICE, findings=FINDINGS, units=units)
    for sentence in everything(result):
        assert not re.search(foreign, sentence), sentence


def test_an_end_in_doubt_in_words():
    """60 s, 72.4 m = 237.5 ft (one foot is 0.3048 m exactly); 12:09:55 UTC is 08:09:55 in
    Toronto in May, four hours behind."""
    drove_on = next(f for f in FINDINGS if f.kind is FindingKind.DROVE_ON)
    shown = replace(
        make_result(),
        warnings=(),
        findings=(replace(drove_on, passes=(3,)),),
        time_zone="America/Toronto",
    )
    assert said.warning_sentences(shown) == (
        "pass 3: the sheet's start, 08:09:55, lies 60 s and 238 ft in line from the start found "
        "in the track, 08:10:55; the pass is left out, check its times",
    )
    at_end = replace(drove_on, passes=(3,), end="end")
    (text,) = said.warning_sentences(replace(shown, findings=(at_end,), units="metric"))
    assert "end, 08:10:55, lies 60 s and 72 m" in text
    assert "found in the track, 08:09:55" in text


def test_proposals_in_words():
    result = replace(make_result(units="12"), units="metric", advice=ADVICE)
    assert said.surer_sentences(result) == (
        "14 passes like these instead of 10 would bring it to ± 1.2 %.",
        "More passes like these are a slow way: ± 1.2 % would take 14.",
        "Taping the length of these 10 beds (to ± 0.2 m) would bring it to ± 1.2 %.",
        "Passes twice as long (about 240 m) would bring it to ± 1.2 %.",
        "Standing still for 10 s at both ends of each pass would bring it to ± 1.2 %.",
        "With fewer than three passes the change from pass to pass is assumed, not measured; "
        "three or more would show it.",
    )
    assert "about 790 ft" in said.surer_sentences(replace(result, units="us"))[3]  # 786 ft


def test_the_figure_in_use_agrees_or_does_not():
    """The interval of the invented result is 63.17 to 64.57 cm."""
    result = replace(make_result(), units="metric")
    assert said.use_sentence(result).startswith("Use 63.87 cm of ground per gear turn from now on")
    seeder = replace(result.seeder, ground_per_gear_turn_in_use_m=0.64)
    agreeing = replace(result, seeder=seeder)
    assert agreeing.in_use_agrees is True
    assert "no need to change it" in said.use_sentence(agreeing)
    bare = make_result(in_use=False)
    assert bare.in_use_agrees is None
    assert said.use_sentence(bare) == "Use 25.15 in of ground per gear turn from now on."


def test_names_from_files_are_made_visible():
    for payload in PAYLOADS.values():
        result = make_result(units=("1", f"2{payload}"), lagging=f"2{payload}")
        (text,) = said.watch_sentences(result)
        assert text.isprintable()
        assert len(text) < 400


@pytest.mark.parametrize("sample", ["wet-soil", "dry-firm"])
def test_units_change_the_sentences_and_nothing_that_was_measured(sample):
    """Measured with other units, or shown in them later: the same data, the same sentences."""
    run = groundtruth.read_run(SAMPLES / sample / "run.toml")
    metric, us = (groundtruth.measure(replace(run, units=u)) for u in ("metric", "us"))
    assert replace(metric, units="us") == us
    assert everything(replace(metric, units="us")) == everything(us)
    assert everything(metric) != everything(us)
