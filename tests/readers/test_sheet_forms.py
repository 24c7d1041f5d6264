"""The same counts in each of the forms in which people keep them give the same figures."""

from __future__ import annotations

import io
import zipfile
from datetime import UTC, date, datetime, time

import pytest
from making import workbook

from groundtruth.core.errors import GroundtruthError
from groundtruth.io import read_bench, read_stands, read_turns
from groundtruth.io.files import Source

DAY = date(2027, 5, 3)
START_S = datetime(2027, 5, 3, 6, 0, tzinfo=UTC).timestamp()
PLAIN = """pass,start,end,unit,turns,bed
1,06:01:00Z,06:02:10Z,A,93,L1
1,06:01:00Z,06:02:10Z,B,92.5,L1
2,06:03:00Z,06:04:05Z,A,94,L2
2,06:03:00Z,06:04:05Z,B,91.0,L2
"""
TIMES = [("06:01:00Z", "06:02:10Z"), ("06:03:00Z", "06:04:05Z")]


def read(text, name="t.csv"):
    data = text if isinstance(text, bytes) else text.encode()
    return read_turns(
        Source(name, data), time_zone="Europe/Oslo", day=DAY, recording_start_s=START_S
    )


def figures(sheet):
    return [
        (c.pass_number, c.unit, c.turns, c.resolution, c.start_s, c.end_s, c.bed)
        for c in sheet.counts
    ]


WIDE = """pass,start,end,{0},{1},bed
1,06:01:00Z,06:02:10Z,93,92.5,L1
2,06:03:00Z,06:04:05Z,94,91.0,L2
"""


def times(*written):
    """The plain sheet with its four times written otherwise."""
    text = PLAIN
    for old, new in zip([t for pair in TIMES for t in pair], written, strict=True):
        text = text.replace(old, new)
    return text


FORMS = {
    "a column for each unit": WIDE.format("unit A", "unit B"),
    "a column for each unit, turns first": WIDE.format("turns A", "Turns (B)"),
    "a column for each unit, label first": WIDE.format("A turns", "B turns"),
    "bare labels": WIDE.format("A", "B"),
    "a title": "Long Piece; sowing of 3 May, dry\n\n" + PLAIN.replace(",", ";"),
    "a title with the separator": "Turns,of,the,day\nby hand\n" + PLAIN,
    "a total by name": PLAIN + "Total,,,,370.5,\n",
    "a total by its sum": PLAIN + ",,,,370.5,\n",
    "totals of each unit": WIDE.format("A", "B") + ",,,187,183.5,\n",
    "a total by another name": PLAIN.replace(",", ";") + "Summe:;;;;370,5;\n",
    "decimal commas": PLAIN.replace(",", ";").replace(".", ","),
    "German": PLAIN.replace("pass,start,end,unit,turns,bed",
        "Durchgang,Beginn,Ende,Reihe,Umdrehungen,Beet"),
    "French": PLAIN.replace("pass,start,end,unit,turns,bed",
        "Passage,Début,Fin,Élément,Tours,Planche"),
    "Spanish": PLAIN.replace("pass,start,end,unit,turns,bed",
        "Pasada,Inicio,Fin,Unidad,Vueltas,Bancal"),
    "Dutch": PLAIN.replace("pass,start,end,unit,turns,bed",
        "Werkgang,Begin,Einde,Rij,Omwentelingen,Bed"),
    "beds for passes": "\n".join(
        line.partition(",")[2] for line in PLAIN.splitlines()) + "\n",
    "seconds since the start": times("60", "130", "180 s", "245 sec"),
    "hours from Greenwich": times(
        "08:01:00 GMT+2", "08:02:10 UTC+2", "08:03:00 (GMT+02:00)", "08:04:05+02"),
    "letters of the zone": times("08:01:00 CEST", "08:02:10 MESZ", "02:03:00 EDT", "07:04:05 WEST"),
}  # fmt: skip


@pytest.mark.parametrize("form", FORMS)
def test_the_same_counts_in_another_form(form):
    assert figures(read(FORMS[form])) == figures(read(PLAIN))


AS_DAY_AND_TIME = (
    datetime(2027, 5, 3, 8, 1),  # noqa: DTZ001 - cells of a spreadsheet have no zone
    datetime(2027, 5, 3, 8, 2, 10),  # noqa: DTZ001
)


def test_a_spreadsheet_file_gives_what_its_csv_gives():
    rows = [
        ["Long Piece"],
        ["pass", "start", "end", "unit", "turns", "bed"],
        [1, *AS_DAY_AND_TIME, "A", 93, "L1"],
        [1, time(8, 1, 0), time(8, 2, 10), "B", 92.5, "L1"],
        [2, "06:03:00Z", "06:04:05Z", "A", 94.0, "L2"],
        [2, "06:03:00Z", "06:04:05Z", "B", 91.0, "L2"],
        ["total", None, None, None, "=SUM(E3:E6)", None],
    ]
    sheet = read(workbook(rows, [("E6", "0.0"), ("B3", "yyyy-mm-dd hh:mm:ss")]), "t.xlsx")
    assert figures(sheet) == figures(read(PLAIN))
    assert [c.line for c in sheet.counts] == [3, 4, 5, 6]


def test_minutes_in_a_spreadsheet_file_stay_minutes():
    rows = [["pass", "start", "end", "turns"], [1, time(8, 1), time(8, 2), 93]]
    (count,) = read(workbook(rows, [("B2", "hh:mm"), ("C2", "hh:mm")])).counts
    assert count.instant_resolution_s == 60


SAID = {
    "title": (
        "Long Piece\n" + PLAIN,
        "t.csv, line 1: lines above the header left out",
    ),
    "total": (PLAIN + "Total,,,,370.5,\n", "t.csv, line 6: total row left out"),
    "not understood": (
        PLAIN.replace("bed", "colour of socks"),
        "t.csv, line 1: column 'colour of socks' is not used; known are pass, "
        "track_pass, start, end, time, date, unit, turns, setting, crop, bed, taped",
    ),
    "seconds": (
        FORMS["seconds since the start"],
        "t.csv: times are taken as seconds since the start of the track (8 times)",
    ),
}


@pytest.mark.parametrize("case", SAID)
def test_what_is_done_is_said(case):
    text, says = SAID[case]
    assert [str(notice) for notice in read(text).notices] == [says]


def test_a_last_pass_that_happens_to_be_the_sum_is_kept():
    assert len(read("pass,turns\n1,40\n2,41\n3,81\n").counts) == 3


def bomb():
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/worksheets/sheet1.xml", b" " * (65 << 20))
    return stream.getvalue()


def with_document_type():
    stream = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(workbook([["pass", "turns"], [1, 41]]))) as old,
        zipfile.ZipFile(stream, "w") as new,
    ):
        for part in old.namelist():
            data = old.read(part)
            if part == "xl/worksheets/sheet2.xml":
                data = b'<!DOCTYPE x [<!ENTITY a "pass">]>' + data
            new.writestr(part, data)
    return stream.getvalue()


WORKBOOKS = {
    "bomb": (bomb, "t.xlsx: unpacks to more than 64 MB; this is no turn sheet"),
    "document type": (
        with_document_type,
        "t.xlsx: is a spreadsheet file with a document type; save the sheet as CSV",
    ),
    "empty": (lambda: workbook([]), "t.xlsx: no line below the header"),
    "cut": (lambda: workbook([["pass", "turns"], [1, 41]])[:2000],
        "t.xlsx: is a spreadsheet file that cannot be read; save the sheet as CSV"),
    "many lines": (lambda: workbook([["pass", "turns"], *[[1, 1]] * 50_001]),
        "t.xlsx: more than 50,000 lines; this is no turn sheet"),
}  # fmt: skip


@pytest.mark.parametrize("case", WORKBOOKS)
def test_spreadsheet_files_refused(case):
    make, says = WORKBOOKS[case]
    with pytest.raises(GroundtruthError) as caught:
        read(make(), "t.xlsx")
    assert str(caught.value) == says


def test_bench_and_stands_in_other_forms():
    plain = read_bench(Source("b.csv", b"crop,setting,turns,seeds\nbeet,9,6,103\nbeet,9,6,98\n"))
    other = "Bench of 3 May\nKultur;Einstellung;Umdrehungen;Samen A;Samen B\nbeet;9;6;103;98\n"
    spread = read_bench(Source("b.csv", (other + "Summe;;;103;98\n").encode()))
    assert [c.seeds for c in spread.counts] == [c.seeds for c in plain.counts]
    stand = "date,crop,length,plants\n05/12/2027,beet,2 m,50\n"
    (count,) = read_stands(Source("s.csv", stand.encode()), date_order="day first").counts
    assert count.day == date(2027, 12, 5)
    (count,) = read_stands(Source("s.csv", stand.encode()), date_order="month first").counts
    assert count.day == date(2027, 5, 12)
