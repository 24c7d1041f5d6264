"""Turn sheets as spreadsheets and pencils write them."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from groundtruth.core.errors import GroundtruthError, TurnSheetError
from groundtruth.io import read_turns
from groundtruth.io.files import Source

COUNTS = """pass,start,end,unit,turns,setting,crop,bed
1,2026-05-12T07:01:07Z,2026-05-12T07:04:02Z,A,241,F12,beet,1
1,2026-05-12T07:01:07Z,2026-05-12T07:04:02Z,B,240.5,F12,chard,1
2,2026-05-12T07:06:00Z,2026-05-12T07:09:30Z,A,238,F12,beet,2
"""
NINE_AM = datetime(2026, 5, 12, 7, 0, tzinfo=UTC).timestamp()  # in Oslo, two hours ahead


def test_counts_per_pass(write):
    sheet = read_turns(write("turns.csv", COUNTS))
    first, second, third = sheet.counts
    assert (first.pass_number, first.unit, first.turns, first.resolution) == (1, "A", 241, 1)
    assert (first.setting, first.crop, first.bed, first.line) == ("F12", "beet", "1", 2)
    assert (first.start_s, first.end_s) == (NINE_AM + 67, NINE_AM + 242)
    assert (second.turns, second.resolution) == (240.5, 0.1)
    assert (third.pass_number, third.instant_resolution_s) == (2, 1)
    assert sheet.units == ("A", "B")
    assert sheet.notices == ()
    assert sheet.inputs[0].name == "turns.csv"


@pytest.mark.parametrize(
    "data",
    [
        COUNTS.replace(",", ";").replace(".5", ",5").encode(),
        COUNTS.replace(",", "\t").replace(".5", ",5").encode(),
        COUNTS.replace("240.5", '"240,5"').encode(),
        COUNTS.encode("utf-8-sig"),
        COUNTS.encode("utf-16"),
        COUNTS.replace(",", "\t").encode("utf-16-le"),
        COUNTS.replace("\n", "\r\n").encode(),
        COUNTS.replace("\n", "\r").encode(),
        b"sep=;\n" + COUNTS.replace(",", ";").encode(),
        COUNTS.replace("pass,start", "Pass No., Start time").encode(),
        COUNTS.replace("pass,", "PASS ,").encode(),
        ("\n\n# counted by hand\n" + COUNTS.replace("2,2026", "\n,,,\n2,2026")).encode(),
        COUNTS.replace("241", " 241 ").encode(),
        COUNTS.replace("2026-05-12T07:0", "2026-05-12 09:0").replace("Z", "+02:00").encode(),
        COUNTS.replace("1,2026", "Pass 1,2026").replace("2,2026", "pass2.0,2026").encode(),
    ],
)
def test_the_same_sheet_in_other_clothes(write, data):
    counts = read_turns(write("turns.csv", data)).counts
    expected = read_turns(write("plain.csv", COUNTS)).counts
    assert [(c.pass_number, c.unit, c.turns, c.start_s, c.end_s, c.resolution) for c in counts] == [
        (c.pass_number, c.unit, c.turns, c.start_s, c.end_s, c.resolution) for c in expected
    ]


@pytest.mark.parametrize(
    ("written", "turns", "resolution"),
    [
        ("41", 41, 1),
        ("41.0", 41, 0.1),
        ("41,25", 41.25, 0.01),
        ("41 1/2", 41.5, 0.5),
        ("41½", 41.5, 0.5),
        ("1 041", 1041, 1),
        ("1041", 1041, 1),
    ],
)
def test_counts_and_the_step_they_were_read_to(write, written, turns, resolution):
    count = read_turns(write("t.csv", f"pass;turns\n1;{written}\n")).counts[0]
    assert (count.turns, count.resolution) == (turns, pytest.approx(resolution))
    assert (count.unit, count.start_s) == ("1", None)


@pytest.mark.parametrize(
    ("start", "end", "step"),
    [
        ("09:01:07", "09:04:02", 1),
        ("09:01", "09:04", 60),
        ("09:01:07.5", "09:04:02", 1),
        ("09:01:07.5", "09:04:02.25", 0.1),
        ("9:01 am", "9:04 AM", 60),
        ("2026-05-12 09:01:07", "2026-05-12 09:04:02", 1),
        ("12.05.2026 09:01", "12.05.2026 09:04", 60),
        ("07:01:07Z", "07:04:02Z", 1),
        ("09:01+02:00", "09:04+02:00", 60),
    ],
)
def test_local_times(write, start, end, step):
    path = write("t.csv", f"pass,start,end,unit,turns\n1,{start},{end},A,41\n")
    count = read_turns(path, time_zone="Europe/Oslo", day=date(2026, 5, 12)).counts[0]
    assert count.start_s - NINE_AM == pytest.approx(60 + 7.5 * ("07" in start), abs=8)
    assert count.instant_resolution_s == pytest.approx(step)


def test_a_column_of_dates(write):
    path = write("t.csv", "date,pass,start,end,turns\n2026-05-12,1,09:01,09:04,41\n")
    assert read_turns(path, time_zone="Europe/Oslo").counts[0].start_s == NINE_AM + 60


def test_instants_written_once_for_a_pass(write):
    path = write(
        "t.csv",
        "pass,start,end,unit,turns\n1,07:01Z,07:04Z,A,41\n1,,,B,40\n",
    )
    counts = read_turns(path, day=date(2026, 5, 12)).counts
    assert counts[1].start_s == counts[0].start_s
    assert counts[1].instant_resolution_s == 60


def test_running_counter(write):
    text = "time,unit,turns\n" + "".join(
        f"2026-05-12T07:{minute:02d}:00Z,{unit},{minute * 40 + (unit == 'B')}\n"
        for minute in range(5)
        for unit in "AB"
    )
    sheet = read_turns(write("t.csv", text))
    assert [r.unit for r in sheet.readings] == ["A", "B"]
    assert sheet.readings[0].turns.tolist() == [0, 40, 80, 120, 160]
    assert sheet.readings[0].time_s.tolist() == [NINE_AM + 60 * m for m in range(5)]
    assert not sheet.readings[0].at_each_turn
    assert sheet.readings[1].turns[0] == 1


@pytest.mark.parametrize("form", ["{time},A,{turn}", "{time},A,", "{time},A"])
def test_a_line_for_each_turn(write, form):
    header = "time,unit,turns" if form.count(",") == 2 else "time,unit"
    lines = [
        form.format(time=f"2026-05-12T07:00:{turn * 1.5:06.3f}Z", turn=turn) for turn in range(9)
    ]
    reading = read_turns(write("t.csv", "\n".join([header, *lines]))).readings[0]
    assert reading.at_each_turn
    assert reading.instant_resolution_s == pytest.approx(0.001)
    assert (reading.turns[-1] - reading.turns[0]) == 8


REFUSED = {
    "empty": ("\n\n", "t.csv: the sheet is empty"),
    "no header": (
        "1,07:01,07:04,41\n2,07:05,07:08,40\n",
        "t.csv, line 1: no header; the first line names the columns, "
        "pass,start,end,unit,turns or time,unit,turns",
    ),
    "only a header": ("pass,turns\n", "t.csv: no line below the header"),
    "no line with turns": ("pass,turns\n1,\n", "t.csv: no line with turns below the header"),
    "misspelt": (
        "pass,stard,end,turns\n",
        "t.csv, line 1: column 'stard' is not known; did you mean start?",
    ),
    "column twice": ("pass,turns,turns\n1,2,3\n", "t.csv, line 1: two columns turns; keep one"),
    "no turns": (
        "pass,unit\n1,A\n",
        "t.csv, line 1: no column turns; the first line names the "
        "columns, pass,start,end,unit,turns or time,unit,turns",
    ),
    "both": (
        "pass,time,turns\n1,07:01,4\n",
        "t.csv, line 1: has both pass and time columns; the columns "
        "are pass,start,end,unit,turns or time,unit,turns",
    ),
    "zero turns": (
        "pass,turns\n1,0\n",
        "t.csv, line 2: pass 1, unit 1: 0 turns; a pass needs more than 0",
    ),
    "negative": (
        "pass,turns\n1,-4\n",
        "t.csv, line 2: pass 1, unit 1: -4 turns; a pass needs more than 0",
    ),
    "words": (
        "pass,turns\n1,about 40\n",
        "t.csv, line 2: turns 'about 40' is no number; write for example 41 or 41.5",
    ),
    "NaN": (
        "pass,turns\n1,nan\n",
        "t.csv, line 2: turns 'nan' is no number; write for example 41 or 41.5",
    ),
    "two ways": (
        "pass;turns\n1;1,041\n",
        "t.csv, line 2: turns '1,041' can be read in two ways; write 1041 or 1.041",
    ),
    "pass in words": (
        "pass,turns\none,41\n",
        "t.csv, line 2: pass 'one' is no whole number; number the passes 1, 2, 3, …",
    ),
    "no pass": (
        "pass,turns\n1,41\n,41\n",
        "t.csv, line 3: pass is empty; number the passes 1, 2, 3, …",
    ),
    "doubled": (
        "pass,unit,turns\n1,A,41\n2,A,41\n1,A,40\n",
        "t.csv, line 4: pass 1, unit A stands in line 2 already; one line for each unit of a pass",
    ),
    "half an interval": (
        "pass,start,end,turns\n1,2026-05-12T07:01Z,,41\n",
        "t.csv, line 2: pass 1: give both start and end, or neither",
    ),
    "some without": (
        "pass,start,end,turns\n1,2026-05-12T07:01Z,2026-05-12T07:02Z,41\n2,,,41\n",
        "t.csv, line 3: pass 2 has no start and end while other passes do; give "
        "them for all passes, or for none",
    ),
    "strip without": (
        "track_pass,turns\nstrip 1,41\n",
        "t.csv, line 2: strip 1 has no start and end; write between which times the track is that "
        "pass",
    ),
    "backwards": (
        "pass,start,end,turns\n1,2026-05-12T07:04Z,2026-05-12T07:02Z,41\n",
        "t.csv, line 2: pass 1: the end is not after the start",
    ),
    "no zone": (
        "pass,start,end,turns\n1,2026-05-12 07:01,2026-05-12 07:02,41\n",
        "t.csv, line 2: start '2026-05-12 07:01' has no time zone; name the zone of the "
        'watch (time_zone = "Europe/Oslo" in the run file, or --time-zone Europe/Oslo), or write '
        "the offset, as in 08:41:07+02:00",
    ),
    "no date": (
        "pass,start,end,turns\n1,07:01,07:02,41\n",
        "t.csv, line 2: start '07:01' has no date; write for example 2026-04-01 07:01",
    ),
    "no time": (
        "pass,start,end,turns\n1,early,late,41\n",
        "t.csv, line 2: start 'early' is no time; write for example 2026-05-12 08:41:07".replace(
            "05-12", "04-01"
        ),
    ),
    "two days": (
        "pass,start,end,turns\n1,05/12/2026 07:01,05/12/2026 07:02,41\n",
        "t.csv, line "
        "2: start: 05/12/2026 can be two different days; write 2026-12-05 or "
        "2026-05-12",
    ),
    "short year": (
        "pass,start,end,turns\n1,13/12/26 07:01,13/12/26 07:02,41\n",
        "t.csv, line 2: start: the year of a date needs four digits, as in 2026-04-01",
    ),
    "too many cells": (
        "pass,turns\n1,41,5\n",
        "t.csv, line 2: 3 cells under 2 headings; a "
        "decimal comma needs quotes here, or semicolons between the columns",
    ),
    "open quote": (
        'pass,turns\n1,"41\n',
        "t.csv, line 2: a quotation mark is not closed or stands inside a cell",
    ),
    "counter falls": (
        "time,unit,turns\n2026-05-12T07:01Z,A,41\n2026-05-12T07:02Z,A,3\n",
        "t.csv, line 3: unit A: the counter falls from 41 to 3; if it was set "
        "back, write the turns of each pass instead (pass,start,end,unit,turns)",
    ),
    "counter stands": (
        "time,turns\n2026-05-12T07:01Z,41\n2026-05-12T07:02Z,41\n",
        "t.csv, line 2: unit 1: its counter never moves; check which unit was counted",
    ),
    "one reading": (
        "time,turns\n2026-05-12T07:01Z,41\n",
        "t.csv, line 2: unit 1: only one reading; a running counter needs two or more",
    ),
    "unsorted": (
        "time,turns\n2026-05-12T07:02Z,41\n2026-05-12T07:01Z,42\n",
        "t.csv, line 3: unit 1: the time is before that of its line above; sort the lines",
    ),
    "gap in turns": (
        "time,turns\n2026-05-12T07:01Z,41\n2026-05-12T07:02Z,\n",
        "t.csv, line 3: "
        "unit 1: turns is empty; fill it in every line, or leave it out in all "
        "where each line stands for one turn",
    ),
    "below 0": (
        "time,turns\n2026-05-12T07:01Z,-1\n2026-05-12T07:02Z,2\n",
        "t.csv, line 2: unit 1: -1 turns; a counter starts at 0",
    ),
    "workbook": (
        b"PK\x03\x04rest",
        "t.csv: is a spreadsheet file that cannot be read; save the sheet as CSV",
    ),
    "many columns": (
        "pass,turns" + ",x1" * 199 + "\n1,41\n",
        "t.csv, line 1: 201 columns; this is no turn sheet, which has up to 200",
    ),
    "old workbook": (
        b"\xd0\xcf\x11\xe0rest",
        "t.csv: is an old spreadsheet file; save the sheet as .xlsx or CSV",
    ),
    "a bed without a name": (
        "bed,turns\nL1,41\n,40\n",
        "t.csv, line 3: bed is empty; name it, or number the passes in a column pass",
    ),
    "a track": (
        "<?xml version='1.0'?><gpx/>",
        "t.csv: is a track or a page, not a turn sheet, which is a CSV file",
    ),
    "quote over many lines": (
        'pass,turns,note\n1,41,"wet\n' + "2,41,\n" * 30 + '3,41,"\n',
        "t.csv, line 2: a quotation mark is not closed",
    ),
    "long cell": (
        "pass,turns,note\n1,41," + "x" * 3000,
        "t.csv, line 2: a cell of more than 2000 characters",
    ),
    "very long cell": (
        "pass,turns,note\n1,41," + "x" * 140_000,
        "t.csv, line 2: a cell is too long",
    ),
    "many lines": (
        "pass,turns\n" + "1,41\n" * 200_001,
        "t.csv: more than 50,000 lines; this is no turn sheet",
    ),
    "large file": (
        b"\n" * ((16 << 20) + 1),
        "t.csv: 17 MB; a turn sheet of more than 17 MB is not read",
    ),
    "zero bytes": (b"pass,turns\n1,4\x00\n", "t.csv: is no text; save the sheet as CSV"),
}


@pytest.mark.parametrize("content", REFUSED.values(), ids=REFUSED.keys())
def test_refused_in_one_line(write, content):
    with pytest.raises(TurnSheetError) as caught:
        read_turns(write("t.csv", content[0]))
    assert str(caught.value) == content[1]


IN_OSLO = {
    "hour that occurs twice": (
        "pass,start,end,turns\n1,2026-10-25 02:30,2026-10-25 03:30,41\n",
        "t.csv, line 2: start: 2026-10-25 02:30 occurs twice in Europe/Oslo, as the clocks were "
        "set back; write it with its offset, as in 02:30+02:00",
    ),
    "hour that never was": (
        "pass,start,end,turns\n1,2026-03-29 01:30,2026-03-29 02:30,41\n",
        "t.csv, line 2: end: 2026-03-29 02:30 never was in Europe/Oslo, as the clocks were set "
        "forward; check the time",
    ),
}


@pytest.mark.parametrize("content", IN_OSLO.values(), ids=IN_OSLO.keys())
def test_hours_of_the_clock_change_are_refused(write, content):
    with pytest.raises(TurnSheetError) as caught:
        read_turns(write("t.csv", content[0]), time_zone="Europe/Oslo")
    assert str(caught.value) == content[1]


UNKNOWN_ZONES = {
    "Europe/Olso": "t.csv: time_zone 'Europe/Olso' is not known; did you mean Europe/Oslo?",
    "../etc": "t.csv: time_zone '../etc' is not known; write for example Europe/Oslo",
    "/etc/localtime": "t.csv: time_zone '/etc/localtime' is not known; write for example "
    "Europe/Oslo",
    ".": "t.csv: time_zone '.' is not known; write for example Europe/Oslo",
}


@pytest.mark.parametrize("zone", UNKNOWN_ZONES)
def test_unknown_zones(write, zone):
    with pytest.raises(TurnSheetError) as caught:
        read_turns(write("t.csv", COUNTS), time_zone=zone)
    assert str(caught.value) == UNKNOWN_ZONES[zone]


def test_an_empty_zone_is_none(write):
    assert read_turns(write("t.csv", COUNTS), time_zone="").counts


def slips(word: str) -> set[str]:
    """A letter lost, doubled, or exchanged with the next."""
    places = range(len(word))
    lost = {word[:n] + word[n + 1 :] for n in places}
    doubled = {word[: n + 1] + word[n:] for n in places}
    exchanged = {word[:n] + word[n : n + 2][::-1] + word[n + 2 :] for n in places}
    return (lost | doubled | exchanged) - {word}


@pytest.mark.parametrize("column", ["pass", "start", "unit", "turns", "setting", "crop", "taped"])
def test_any_slip_of_the_pen_in_a_heading_is_answered(write, column):
    columns = ["pass", "start", "end", "unit", "turns", "setting", "crop", "bed", "taped"]
    for slip in slips(column) - {"turn"}:  # "turn" is understood
        header = ",".join(slip if one == column else one for one in columns)
        with pytest.raises(TurnSheetError) as caught:
            read_turns(write("t.csv", f"{header}\n"))
        assert str(caught.value) == (
            f"t.csv, line 1: column {slip!r} is not known; did you mean {column}?"
        )


REPAIRED = {
    "no turns in a line": (
        "pass,unit,turns\n1,A,41\n1,B,\n",
        "t.csv, line 3: line without turns left out",
    ),
    "unused column": (
        "pass,turns,weather\n1,41,dry\n",
        "t.csv, line 1: column 'weather' is not used; known are pass, track_pass, "
        "start, end, time, date, unit, turns, setting, crop, bed, taped",
    ),
    "Latin": (
        "pass,turns,bed\n1,41,süd\n".encode("latin-1"),
        "t.csv, line 2: not UTF-8: read as Windows Latin",
    ),
    "same instant": (
        "time,turns\n2026-05-12T07:01:01Z,1\n2026-05-12T07:01:01Z,2\n2026-05-12T07:01:02Z,3\n",
        "t.csv, line 2: reading at the same instant as the next left out",
    ),
    "second 60": (
        "pass,start,end,turns\n1,2026-05-12 07:01:60Z,2026-05-12 07:04Z,41\n",
        "t.csv, line 2: second 60 read as the next minute's 0",
    ),
    "damaged UTF-16": (
        "pass,turns,notes\n1,41,wet".encode("utf-16") + b"\x00\xd8\n\x00",
        "t.csv, line 2: characters that cannot be read replaced",
    ),
    "24:00": (
        "pass,start,end,turns\n1,2026-05-12 23:50Z,2026-05-12 24:00Z,41\n",
        "t.csv, line 2: 24:00 read as 00:00 of the next day",
    ),
}


@pytest.mark.parametrize("content", REPAIRED.values(), ids=REPAIRED.keys())
def test_repaired_and_reported(write, content):
    sheet = read_turns(write("t.csv", content[0]))
    assert [str(one) for one in sheet.notices if one.kind != "fact"] == [content[1]]


def test_comments_are_left_aside_and_notes_told(write):
    sheet = read_turns(write("t.csv", "pass,turns,notes\n# before rain\n1,41,wet\n"))
    assert sheet.counts[0].line == 3
    assert [str(one) for one in sheet.notices] == ["t.csv, line 3: note on pass 1: wet"]


CELL = st.text(alphabet="0123456789:-./,;TZ+ aAp\"'½\n\t", max_size=24)


@settings(max_examples=150, deadline=None)
@given(
    header=st.sampled_from(
        ["pass,start,end,unit,turns", "time,unit,turns", "pass;turns", "time;turns;note"]
    ),
    cells=st.lists(st.lists(CELL, max_size=6), max_size=6),
)
def test_any_cells_are_read_or_refused(tmp_path_factory, header, cells):
    path = tmp_path_factory.mktemp("any") / "t.csv"
    mark = ";" if ";" in header else ","
    path.write_text("\n".join([header, *(mark.join(row) for row in cells)]), encoding="utf-8")
    try:
        read_turns(path, time_zone="Europe/Oslo", day=date(2026, 5, 12))
    except GroundtruthError as refusal:
        said = str(refusal)
        assert said.startswith("t.csv")
        assert "\n" not in said


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=400))
def test_any_bytes_are_read_or_refused(tmp_path_factory, data):
    path = tmp_path_factory.mktemp("any") / "t.csv"
    path.write_bytes(data)
    with pytest.raises(GroundtruthError, match=r"^t.csv"):
        read_turns(path)


def test_notes_are_facts_of_their_pass_their_instant_or_their_line():
    text = (
        "pass,start,end,unit,turns,Comment,note\n"
        "1,2027-04-27T13:00:00Z,2027-04-27T13:01:00Z,A,40,stone,wet\n"
        ",2027-04-27T13:05:00Z,,,,,plate changed\n"
        "2,2027-04-27T13:06:00Z,2027-04-27T13:07:00Z,A,,,forgotten\n"
        "3,2027-04-27T13:08:00Z,2027-04-27T13:09:00Z,A,41,,\n"
        ",,,,,rain,\n"
    )
    read = read_turns(Source("t.csv", text.encode()))
    assert [c.pass_number for c in read.counts] == [1, 3]
    assert [(n.kind, str(n)) for n in read.notices] == [
        ("repair", "t.csv, line 4: line without turns left out"),
        ("fact", "t.csv, line 2: note on pass 1: stone; wet"),
        ("fact", "t.csv, line 3: note at 2027-04-27T13:05:00Z: plate changed"),
        ("fact", "t.csv, line 4: note on pass 2: forgotten"),
        ("fact", "t.csv, line 6: note: rain"),
    ]


def test_notes_are_kept_to_plain_limits():
    text = "pass,turns,note\n" + "".join(f"{i},40,{'x' * 900}{i}\n" for i in range(1, 300))
    *said, last = read_turns(Source("t.csv", text.encode())).notices
    assert len(said) == 200
    assert max(len(n.text) for n in said) < 600
    assert last.text == "99 further notes"


def test_notes_of_a_sheet_with_a_column_for_each_unit():
    read = read_turns(Source("t.csv", b"pass,A,B,Note\n1,4,5,hail\n,,,noon\n2,5,6,\n"))
    assert [(c.pass_number, c.unit) for c in read.counts] == [
        (1, "A"),
        (1, "B"),
        (2, "A"),
        (2, "B"),
    ]
    assert [n.text for n in read.notices] == ["note on pass 1: hail", "note: noon"]
