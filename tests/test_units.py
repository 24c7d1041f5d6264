"""Quantities as people write them, against exact definitions and the rules that round them."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from groundtruth.core.errors import GroundtruthError, QuantityError
from groundtruth.core.measured import Measured
from groundtruth.core.units import (
    ACRE,
    FOOT,
    HECTARE,
    INCH,
    KNOT,
    MILE,
    OUNCE,
    POUND,
    YARD,
    decimals_for,
    format_length,
    format_mass,
    format_measured,
    format_pressure,
    format_speed,
    parse_area,
    parse_length,
    parse_length_measured,
    parse_mass,
    parse_pressure,
    parse_speed,
    rounded,
)


def test_constants_are_those_of_the_handbook():
    """NIST Handbook 44 (2024), appendix C, and NIST SP 811 (2008), appendix B.8."""
    assert INCH.value == 0.0254
    assert FOOT.value == 0.3048
    assert YARD.value == 0.9144
    assert MILE.value == 1609.344
    assert POUND.value == 0.45359237
    assert OUNCE.value * 1000 == pytest.approx(28.349523125, rel=1e-15)
    assert ACRE.value == pytest.approx(43560 * 0.3048**2, rel=1e-12)
    assert HECTARE.value == 10_000
    assert pytest.approx(0.514444, abs=5e-7) == KNOT.value
    assert all(
        constant.source and constant.unit for constant in (INCH, FOOT, MILE, POUND, ACRE, KNOT)
    )


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("25 1/2 in", 0.6477),
        ('25½"', 0.6477),
        ("25-1/2 in", 0.6477),
        ("½ in", 0.0127),
        ("2'", 0.6096),
        ("2′", 0.6096),
        ("2’ 1 1/2”", 0.6477),
        ("2' 1 1/2\"", 0.6477),
        ("2'1.5''", 0.6477),
        ("2 ft 1.5 in", 0.6477),
        ("2 ft. 1 ½ in.", 0.6477),
        ("5' 6", 1.6764),
        ("6'-4\"", 1.9304),
        ("6 ft - 4 in", 1.9304),
        ("6 feet, 4 inches", 1.9304),
        ("1 yd 1 ft", 1.2192),
        ("61cm", 0.61),
        ("0,61 m", 0.61),
        ("0,610 m", 0.61),
        (".5 m", 0.5),
        ("1 m 92 cm", 1.92),
        ("1\u00a0m", 1.0),
        ("63 Centimeters", 0.63),
        ("2 FEET", 0.6096),
        ("1.2 km", 1200.0),
        ("0.25 mi", 402.336),
        ("1e3 mm", 1.0),
        ("2.5e-3 km", 2.5),
        ("1e101 mm", 1e98),
        ("1e-101 m", 1e-101),
        ("−3 cm", -0.03),
        ("+3 cm", 0.03),
    ],
)
def test_lengths_as_people_write_them(text, metres):
    assert parse_length(text) == pytest.approx(metres, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("1.92", "has no unit"),
        ("", "is empty"),
        ("   ", "is empty"),
        ("wide", "is no length"),
        ("61 cn", "did you mean cm?"),
        ("61 inchs", "did you mean inches?"),
        ("61 stones", "accepted: mm, cm, m, km, in, ft, yd, mi"),
        ("1,920 m", "write 1920 or 1.920"),
        ("1 1/0 in", "divides by 0"),
        ("12 in 2 ft", "order"),
        ("1 m 92", "number without unit"),
        ("2 ft 13 in", "order"),
        ("9" * 90 + " m", "too long"),
        ("0 m", "must be above 0"),
        ("-1 m", "must be above 0"),
        ("2.5 kg", "not known"),
        ("1e400 m", "is too large"),
        ("1e-400 m", "must be above 0"),
        ("1e" + "9" * 60 + " m", "is too large"),
    ],
)
def test_refused_lengths_say_what_is_wrong(text, says):
    with pytest.raises(QuantityError) as caught:
        parse_length(text, what="row_spacing", above_zero=True)
    assert str(caught.value).startswith("row_spacing: ")
    assert says in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("value", [1.92, 2, True, None])
def test_a_bare_number_is_refused_with_a_hint(value):
    with pytest.raises(QuantityError, match="has no unit; write it in quotes with one"):
        parse_length(value)
    with pytest.raises(QuantityError, match="has no unit; write it in quotes with one"):
        parse_length_measured(value)


@pytest.mark.parametrize(
    ("text", "value_m", "half_width_m"),
    [
        ("1.92 m ± 5 mm", 1.92, 0.005),
        ("1.92 m +/- 5 mm", 1.92, 0.005),
        ("1.92 m +- 5 mm", 1.92, 0.005),
        ("192 ± 0.5 cm", 1.92, 0.005),
        ("76 in ± 1/8", 1.9304, 0.003175),
        ('76" ± 1/8"', 1.9304, 0.003175),
        ("6' 4\" ± 1/4 in", 1.9304, 0.00635),
        ("2 m ± 0.5 %", 2.0, 0.01),
        ("2 m ± 0,5%", 2.0, 0.01),
        ("76 in", 1.9304, 0.0),
    ],
)
def test_limits_are_an_even_spread(text, value_m, half_width_m):
    """JCGM 100:2008, 4.3.7: u = a/√3 for a quantity that lies anywhere within ± a."""
    read = parse_length_measured(text)
    assert read.value == pytest.approx(value_m, rel=1e-12)
    assert read.std == pytest.approx(half_width_m / math.sqrt(3), rel=1e-12)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("1.92 m ± 2 m", "as large as the value"),
        ("1.92 m ± 5", "as large as the value"),
        ("1.92 m ± -5 mm", "below 0"),
        ("1 m ± 1 cm ± 1 cm", "more than one plus-minus"),
        ("1 ± 1", "no unit"),
        ("-1 m ± 1 cm", "must be above 0"),
        ("1 m ± x %", "limits that cannot be read"),
    ],
)
def test_refused_limits(text, says):
    with pytest.raises(QuantityError) as caught:
        parse_length_measured(text)
    assert says in str(caught.value)


def test_speeds_masses_and_areas():
    """NIST SP 811 (2008), appendix B.8: mile per hour, pound, ounce, acre, knot."""
    assert parse_speed("1 mph") == 0.44704
    assert parse_speed("3,6 km/h") == pytest.approx(1.0)
    assert parse_speed("1 kn") == pytest.approx(0.5144444, abs=1e-7)
    assert parse_mass("1 lb 4 oz") == pytest.approx(0.5669904625, rel=1e-12)
    assert parse_mass("250 g") == 0.25
    assert parse_pressure("18 psi") == pytest.approx(18 * 6894.757, rel=1e-7)  # B.8, from memory
    assert parse_pressure("1.2 bar") == parse_pressure("120 kPa") == 120_000
    assert format_pressure(parse_pressure("18 psi"), "us") == "18 psi"
    assert parse_area("1 acre") == pytest.approx(4046.873, abs=0.02)  # survey acre, 2 ppm more
    assert parse_area("1/2 ha") == 5000
    assert parse_area("1000 sq ft") == pytest.approx(92.90304, rel=1e-12)
    with pytest.raises(QuantityError, match="did you mean mph"):
        parse_speed("3 mpj")
    with pytest.raises(QuantityError, match=r"[Aa]ccepted: m², ha, sq ft, ac"):
        parse_area("3 bushels")


@pytest.mark.parametrize(
    ("value", "std", "unit", "shown"),
    [
        (0.6342, 0.0071, "cm", "63.42 ± 0.71 cm"),
        (0.6342, 0.00996, "cm", "63.4 ± 1.0 cm"),  # 0.996 rounds up to 1.0, not 1.00
        (1523.4, 123.0, "m", "1520 ± 120 m"),
        (0.6477, 0.00254, "in", "25.50 ± 0.10 in"),
        (1.5, 0.0, "", "1.5"),
        (0.041, 0.0052, "%", "4.10 ± 0.52 %"),
        (0.0, 0.031, "", "0.000 ± 0.031"),
    ],
)
def test_rounding_by_two_digits_of_the_uncertainty(value, std, unit, shown):
    """JCGM 100:2008, 7.2.6."""
    assert format_measured(Measured(value, std), unit) == shown


def test_the_example_of_the_guide_is_rounded_as_there():
    """JCGM 100:2008, H.1: l = 50.000 838 mm, u = 32 nm."""
    assert rounded(Measured(50.0008381e-3, 31.66e-9), "mm") == ("50.000838", "0.000032")


@settings(deadline=None)
@given(st.floats(1e-9, 1e9))
def test_two_digits_are_shown_of_any_uncertainty(std):
    places = decimals_for(std)
    assert 10 <= round(std * 10.0**places) <= 99


@pytest.mark.parametrize(
    ("metres", "system", "shown"),
    [
        (0.635, "metric", "63.5 cm"),
        (152.4, "metric", "152.40 m"),
        (2345.6, "metric", "2.346 km"),
        (0.6477, "us", "25.50 in"),
        (46.4058, "us", "152 ft 3 in"),
        (151.999 * 0.3048, "us", "152 ft 0 in"),
        (-46.4058, "us", "-152 ft 3 in"),
        (2011.68, "us", "1.25 mi"),
    ],
)
def test_lengths_for_reading(metres, system, shown):
    assert format_length(metres, system) == shown


def test_other_quantities_for_reading():
    assert format_measured(Measured(0.6477, 0.0033), "in") == "25.50 ± 0.13 in"
    assert format_measured(Measured(0.6477, 0.0033), "cm") == "64.77 ± 0.33 cm"
    assert format_speed(1.25, "metric") == "4.5 km/h"
    assert format_speed(1.25, "us") == "2.8 mph"
    assert format_mass(0.0271, "metric") == "27.1 g"
    assert format_mass(0.5669904625, "us") == "1.25 lb"
    assert format_mass(2.5, "metric") == "2.5 kg"


@settings(deadline=None)
@given(st.floats(0.001, 5000), st.sampled_from(["metric", "us"]))
def test_what_is_shown_can_be_read_back(metres, system):
    shown = format_length(metres, system)
    step = {"cm": 0.001, "m": 0.01, "km": 1.0, "in": INCH.value / 100, "mi": MILE.value / 100}
    within = step.get(shown.split()[-1], 0) if " ft " not in shown else INCH.value
    assert parse_length(shown) == pytest.approx(metres, abs=0.51 * within)


def message_of(call) -> str:
    """What a refusal says, "" where nothing is refused; any other error fails the test."""
    try:
        call()
    except GroundtruthError as error:
        return str(error)
    return ""


@settings(deadline=None)
@given(st.text(max_size=60))
def test_no_text_makes_anything_but_our_own_error(text):
    for parse in (
        parse_length,
        parse_length_measured,
        parse_speed,
        parse_mass,
        parse_pressure,
        parse_area,
    ):
        assert "\n" not in message_of(lambda parse=parse: parse(text))


@settings(deadline=None)
@given(st.text(alphabet="0123456789 ./,'\"½±+-efimntc%", max_size=24))
def test_no_near_quantity_makes_anything_but_our_own_error(text):
    for parse in (parse_length, parse_length_measured):
        assert "\n" not in message_of(lambda parse=parse: parse(text))
