"""What is not nothing never reads 0 in a message, however few decimals it has."""

import pytest
from readers.making import table

from groundtruth.cli.main import main
from groundtruth.core.language import English, fixed, say
from groundtruth.core.units import format_speed


@pytest.mark.parametrize(
    ("value", "how", "shown"),
    [
        (0.3, ".0f", "0.3"),
        (-0.3, ".0f", "-0.3"),
        (0.04, ".1f", "0.04"),
        (0.3, "+.0f", "+0.3"),
        (0.96, ".0f", "1"),
        (12.34, ".1f", "12.3"),
        (1234.0, ",.0f", "1,234"),
        (0.0, ".0f", "0"),
        (1e-9, ".0f", "0"),  # the error of a calculation
    ],
)
def test_a_figure_does_not_vanish(value, how, shown):
    template = f"{{value:{how}}} s"
    assert say(template, value=value) == English(template, value=value) == f"{shown} s"


def test_figures_outside_templates_do_not_either():
    assert fixed(0.3, 0) == "0.3"
    assert format_speed(0.01, "metric") == "0.04 km/h"


def test_the_longest_gap_of_a_fast_recorder_is_not_0_s(tmp_path, capsys):
    """Fixes at 10 Hz: `table` counts whole seconds, which are taken for tenths here."""
    rows = [line.split(",") for line in table(600).splitlines()[1:]]
    lines = [f"{s / 10:.1f},{lat},{lon}" for s, (_, lat, lon) in enumerate(rows)]
    (tmp_path / "a.csv").write_text(
        "time,lat,lon\n" + "\n".join(f"{1_778_569_200 + float(t):.1f},{p}" for t, p in
                                     (line.split(",", 1) for line in lines))
    )  # fmt: skip
    assert main(["inspect", str(tmp_path / "a.csv"), "--time-zone", "UTC"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "A fix at 10 Hz as a rule, longest gap 0.1 s." in out
