"""How numbers and text from files are shown."""

from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from groundtruth.core.display import PERCENT, PLAIN, Scale, distance_scale, ground_scale
from groundtruth.core.language import many
from groundtruth.core.measured import Measured
from groundtruth.core.safe_text import encodable, visible


def test_the_printed_example_of_the_rule():
    """JCGM 100:2008, 7.2.2: m_S = 100.021 47 g with u_c = 0.35 mg; ± is 1.96 of that, 0.69 mg,
    to two digits (7.2.6; the ± of 7.2.4 is 0.79 mg with the k = 2.26 of 9 degrees of freedom)."""
    assert Scale("g").show(Measured(0.10002147, 0.35e-6)) == "100.02147 ± 0.00069 g"


@pytest.mark.parametrize(
    ("units", "ground", "length"),
    [("us", "24.02 ± 0.16 in", "328.1 ± 9.6 ft"), ("metric", "61.01 ± 0.41 cm", "100.0 ± 2.9 m")],
)
def test_units_of_the_user(units, ground, length):
    """0.61014 m = 24.0213 in and 100 m = 328.084 ft, by the exact inch of 25.4 mm."""
    assert ground_scale(units).show(Measured(0.61014, 0.0021)) == ground
    assert distance_scale(units).show(Measured(100.0, 1.5)) == length


def test_signs_and_zeros():
    assert PERCENT.show(Measured(-0.012, 0.004)) == "−1.20 ± 0.78 %"
    assert PERCENT.number(-0.00001, 2) == "0.00"
    assert PERCENT.signed(0.02, 1) == "+2.0"
    assert PERCENT.signed(-0.02, 1) == "−2.0"
    assert PERCENT.signed(0.0, 1) == "0.0"
    assert PERCENT.interval((-0.01, 0.02), 0.005) == "−1.00 to 2.00 %"


def test_exact_values_carry_no_uncertainty():
    assert ground_scale("metric").show(Measured(0.622)) == "62.2 cm"
    assert PLAIN.pair(Measured(24.0)) == ("24", "")


def test_a_column_has_one_place():
    values = [Measured(0.05, 0.0031), None, Measured(0.05, 0.012), Measured(0.05, 0.011)]
    assert PERCENT.column(values) == ("5.0 ± 0.6", "", "5.0 ± 2.4", "5.0 ± 2.2")
    assert PERCENT.column([None, Measured(0.05)]) == ("", "5")


@given(value=st.floats(-1e6, 1e6), std=st.floats(1e-9, 1e6))
def test_what_is_shown_is_the_value(value, std):
    """Read back, the shown value differs by at most half a unit of its last place."""
    shown = float(PLAIN.pair(Measured(value, std))[0].replace("−", "-"))
    assert abs(shown - value) <= 0.0501 * 1.96 * std + 1e-9 * abs(value)


def test_counts_with_their_noun():
    forms = "{count} pass", "{count} passes"
    assert (many(1, *forms), many(0, *forms)) == ("1 pass", "0 passes")


@given(st.text())
def test_visible_text_holds_nothing_invisible(text):
    shown = visible(text)
    joined = shown.replace("\u200c", "").replace("\u200d", "")
    assert not {unicodedata.category(c) for c in joined} & {"Cc", "Cf", "Cs", "Zl", "Zp"}
    assert visible(shown) == shown


@given(text=st.text(max_size=60), limit=st.integers(1, 30))
def test_limits_hold(text, limit):
    assert len(visible(text, limit)) <= limit


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("Rødbete, крест, 甜菜", "Rødbete, крест, 甜菜"),
        ("a\u202eb", "a\\u202eb"),
        ("\x1b[31m", "\\x1b[31m"),
        ("a\nb", "a\\x0ab"),
        ("\U000e0041", "\\U000e0041"),
        ("می\u200cخواهم", "می\u200cخواهم"),
    ],
)
def test_visible_examples(text, shown):
    assert visible(text) == shown


def test_what_an_encoding_lacks_is_spelt_out():
    assert encodable("5 ± 1 − 2 → 3", "ascii") == "5 +/- 1 - 2 -> 3"
    assert encodable("5 ± 1 − 2", "cp1252") == "5 ± 1 - 2"
    assert encodable("ø甜", "ascii") == "??"
    assert encodable("„Säaggregat“ für Öl", "ascii") == '"Saeaggregat" fuer Oel'
    assert encodable("Läufe", "cp437") == "Läufe"
    assert encodable("5 ± 1", "utf-8") == "5 ± 1"
