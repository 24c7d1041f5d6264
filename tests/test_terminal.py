"""The terminal: readable at a glance, plain when piped, and deaf to what a file's text orders."""

from __future__ import annotations

import io
import re
import unicodedata

import pytest
from browser import PAYLOADS
from factories import make_result
from rich.console import Console

from groundtruth.cli import output as command_output
from groundtruth.core.safe_text import visible
from groundtruth.views.blocks import Sentences
from groundtruth.views.terminal import print_result

FOUR = make_result(units=("1", "2", "3", "4"), lagging="3", passes=3)

BOXES = re.compile(r"[\u2500-\u257f]")
STYLES = re.compile(r"\x1b\[[0-9;]*m")


def _piped(result, encoding: str = "utf-8") -> str:
    raw = io.BytesIO()
    file = io.TextIOWrapper(raw, encoding=encoding, newline="\n")
    print_result(result, Console(file=file))
    file.flush()
    return raw.getvalue().decode(encoding)


def _on_terminal(result, width: int = 80, **options: object) -> str:
    file = io.StringIO()
    print_result(
        result,
        Console(file=file, force_terminal=True, width=width, color_system="standard", **options),
    )
    return file.getvalue()


@pytest.fixture(autouse=True)
def _no_settings_from_outside(monkeypatch):
    for name in ("NO_COLOR", "FORCE_COLOR", "TTY_COMPATIBLE", "COLUMNS", "TERM"):
        monkeypatch.delenv(name, raising=False)


def test_the_answer_comes_first():
    lines = _piped(make_result()).splitlines()
    assert lines[0] == "Quillfen Farm, north strip, 12 May 2026"
    assert lines[1] == "  One gear turn covers 25.15 in of ground (95 % sure: 24.87 to 25.42 in)."


def test_units_are_the_users():
    metric = _piped(make_result(shown_in="metric"))
    assert "63.87 cm" in metric
    assert "length, m " in metric
    assert " in " not in metric.split("Verdict")[0].replace("in use", "").replace("In use", "")
    assert "length, ft" in _piped(make_result())


def test_the_order_is_answer_passes_units_targets_verdict_warnings():
    text = _piped(FOUR)
    titles = ("Quillfen", "Passes: ", "Row units", "Seeds per gear turn", "Verdict", "Look at this")
    places = [text.index(title) for title in (*titles, "Warnings", "Repaired")]
    assert places == sorted(places)


def test_a_pipe_gets_plain_aligned_text():
    text = _piped(make_result(passes=80))
    assert "\x1b" not in text
    assert not BOXES.search(text)
    assert not re.search(r"[ \t]+$", text, flags=re.M)
    rows = [line for line in text.splitlines() if re.match(r"\s+\d+  N\d+", line)]
    assert len(rows) == 80
    assert len({line.index("±") for line in rows}) == 1


def test_columns_of_a_pipe_do_not_depend_on_a_width(monkeypatch):
    wide = _piped(FOUR)
    monkeypatch.setenv("COLUMNS", "20")
    assert _piped(FOUR) == wide


def test_a_terminal_of_80_columns_is_enough():
    text = STYLES.sub("", _on_terminal(FOUR))
    assert all(len(line) <= 80 for line in text.splitlines())
    assert BOXES.search(text)
    assert re.search(r"^ +1 .* 5\.8 ± 2\.0 *$", text, flags=re.M)  # the last column is whole
    assert "…" not in text


def test_a_narrow_terminal_loses_no_column():
    text = STYLES.sub("", _on_terminal(FOUR, width=50))
    assert re.search(r"^ +1 .* 5\.8 ± 2\.0 *$", text, flags=re.M)


def test_no_color_is_respected(monkeypatch):
    assert re.search(r"\x1b\[[0-9;]*3[0-7]m", _on_terminal(FOUR))
    monkeypatch.setenv("NO_COLOR", "1")
    assert not re.search(r"\x1b\[[0-9;]*3[0-7]m", _on_terminal(FOUR))


def test_a_lagging_unit_is_named():
    text = _piped(FOUR)
    assert re.search(r"^  3, lags +.*−\d\.\d\d %$", text, flags=re.M)


def test_what_is_not_known_is_not_shown():
    text = _piped(make_result(slip=False, in_use=False))
    before_verdict = text.split("Verdict")[0].lower()
    assert "slip" not in before_verdict
    assert "in use" not in before_verdict


@pytest.mark.parametrize("encoding", ["ascii", "cp1252", "latin-1", "cp437", "utf-8"])
def test_an_old_code_page_is_no_obstacle(encoding):
    text = _piped(make_result(text=lambda text: text + " \u8349"), encoding)
    assert "One gear turn covers 25.15 in" in text
    assert "25.62 ± 0.53" in text or "25.62 +/- 0.53" in text


@pytest.mark.parametrize("payload", PAYLOADS.values(), ids=PAYLOADS)
def test_text_from_files_is_only_shown(payload):
    result = make_result(
        units=("1", "2"), lagging="2", passes=2, text=lambda text: payload[:20] + text
    )
    shown = visible(payload[:20])
    for output in (_piped(result), STYLES.sub("", _on_terminal(result, width=300))):
        assert output.count(shown[:15]) > 10
        acting = {c for c in output if unicodedata.category(c) in ("Cc", "Cf", "Cs", "Zl", "Zp")}
        assert acting <= {"\n"}
    styled = _on_terminal(result, width=300)
    assert "\x1b[31m" not in styled
    assert "\x1b]8" not in styled


@pytest.mark.parametrize(
    ("height", "somebody", "paged"), [(8, True, True), (80, True, False), (8, False, False)]
)
def test_a_long_listing_pages_where_somebody_sits_before_it(monkeypatch, height, somebody, paged):
    out, pages = io.StringIO(), []
    console = Console(file=out, force_terminal=True, width=60, height=height, color_system=None)
    monkeypatch.setattr(command_output, "terminal", lambda: console)
    monkeypatch.setattr("sys.stdin.isatty", lambda: somebody, raising=False)
    monkeypatch.setattr("pydoc.pager", pages.append)
    listing = Sentences(title="Beds", sentences=tuple(f"bed {k}" for k in range(20)))
    command_output.show([listing], paged=True)
    assert bool(pages) == paged
    assert "bed 19" in (pages[0] if paged else out.getvalue())
    assert ("bed 19" in out.getvalue()) != paged
