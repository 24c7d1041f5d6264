"""Sheets in any spelling, and whatever a cell may hold: a figure or one clear line, never else."""

from __future__ import annotations

import warnings
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from groundtruth.core.crops import Crop
from groundtruth.core.errors import GroundtruthError
from groundtruth.core.measured import Measured
from groundtruth.io.files import Source
from groundtruth.io.sheets.bed_lengths import read_bed_lengths
from groundtruth.io.sheets.bench import read_bench
from groundtruth.io.sheets.crops import read_crops
from groundtruth.io.sheets.rows import SheetError, read_rows
from groundtruth.io.sheets.spacings import read_spacings
from groundtruth.io.sheets.stands import read_stands
from groundtruth.io.sheets.turns import read_turns
from groundtruth.seeding import setting_curve
from groundtruth.seeding.plant_spacing import spacing_indices
from groundtruth.seeding.seed_need import seed_needed
from groundtruth.seeding.setting_choice import choose
from groundtruth.seeding.stand_emergence import emergence


def test_spellings(tmp_path):
    """Semicolons, decimal commas, units in headings, other names, Latin letters, comments."""
    path = tmp_path / "b.csv"
    path.write_bytes(
        "# caught in the barn\nCrop;Lot;Step;Gear turns;Weight (g);Seeds per gram;RPM;Note\n"
        "Gr\xfcnkohl;7;3;10;3,5;300;80;ok\n".encode("latin-1")
    )
    bench = read_bench(path)
    (count,) = bench.counts
    assert (count.crop, count.seed_lot, count.setting, count.turns) == ("Grünkohl", "7", "3", 10)
    assert count.seeds.value == pytest.approx(1050)
    assert count.turns_per_minute == 80
    assert count.line == 3
    (notice,) = bench.notices
    assert "Windows Latin" in notice.text


PLAIN = "crop;setting;turns;seeds\nbeet;F1;10;98\nbeet;F2;10;121\n"


@pytest.mark.parametrize(
    "data",
    [
        PLAIN.encode(),
        PLAIN.encode("utf-8-sig"),
        PLAIN.encode("utf-16"),
        PLAIN.replace(";", "\t").encode("utf-16-le"),
        PLAIN.replace(";", "\t").encode("utf-16-be"),
        b"sep=;\r\n" + PLAIN.replace("\n", "\r\n").encode(),
        PLAIN.replace(";", ",").encode(),
        ("\n;;;\n# in the barn\n" + PLAIN).encode(),
    ],
)
def test_the_same_sheet_in_every_export(tmp_path, data):
    path = tmp_path / "b.csv"
    path.write_bytes(data)
    bench = read_bench(path)
    assert [(c.crop, c.setting, c.turns, c.seeds.value) for c in bench.counts] == [
        ("beet", "F1", 10, 98),
        ("beet", "F2", 10, 121),
    ]
    assert bench.notices == ()


@pytest.mark.parametrize(
    ("day", "says"),
    [
        (
            "05/12/2026",
            "05/12/2026 can be two different days; write 2026-12-05 or 2026-05-12",
        ),
        ("5-12-2026", "5-12-2026 can be two different days; write 2026-12-05 or 2026-05-12"),
        ("12/05/26", "the year of a date needs four digits, as in 2026-04-01"),
    ],
)
def test_days_that_can_be_two_are_refused(tmp_path, day, says):
    path = tmp_path / "s.csv"
    path.write_text(f"date,crop,length,plants\n{day},beet,2 m,50\n", encoding="utf-8")
    with pytest.raises(GroundtruthError) as caught:
        read_stands(path)
    assert str(caught.value) == f"s.csv, line 2: date: {says}"


@pytest.mark.parametrize("day", ["May 12", "2026-W20-2", "2026-02-30", "06:00", "2026-05-12 6:00"])
def test_what_is_no_day_is_refused(tmp_path, day):
    path = tmp_path / "s.csv"
    path.write_text(f"date,crop,length,plants\n{day},beet,2 m,50\n", encoding="utf-8")
    with pytest.raises(GroundtruthError) as caught:
        read_stands(path)
    assert str(caught.value) == (
        f"s.csv, line 2: date {day!r} is no day; write year, month and day as in 2026-05-12"
    )


@pytest.mark.parametrize("day", ["2026-05-13", "13.05.2026", "13/05/2026", "05/13/2026"])
def test_a_day_in_any_spelling_that_can_be_one_only(tmp_path, day):
    """Day.month.year with dots as DIN 5008 writes it; with slashes where one number is above 12."""
    path = tmp_path / "s.csv"
    path.write_text(f"date,crop,length,plants\n{day},beet,2 m,50\n", encoding="utf-8")
    (count,) = read_stands(path).counts
    assert count.day == date(2026, 5, 13)


def test_a_slip_in_another_name_of_a_column_is_answered_too(tmp_path):
    path = tmp_path / "b.csv"
    path.write_text("setting,turns,garms,seeds_per_gram\n3,10,4,200\n", encoding="utf-8")
    with pytest.raises(SheetError, match=r"column 'garms' is not known; did you mean grams\?"):
        read_bench(path)


def test_spreadsheet_files_are_refused(tmp_path):
    path = tmp_path / "b.xlsx"
    path.write_bytes(b"PK\x03\x04 and so on")
    with pytest.raises(SheetError, match="save the sheet as CSV"):
        read_rows(path, what="bench sheet", required=("setting",))


def slips(word):
    """A letter lost, doubled, or exchanged with the next."""
    places = range(len(word))
    lost = {word[:n] + word[n + 1 :] for n in places}
    doubled = {word[: n + 1] + word[n:] for n in places if word[n] != "_"}
    exchanged = {word[:n] + word[n : n + 2][::-1] + word[n + 2 :] for n in places}
    return (lost | doubled | exchanged) - {word}


@pytest.mark.parametrize(
    ("read", "columns"),
    [
        (read_bench, ["crop", "setting", "turns", "seeds", "seeds_per_gram", "seconds"]),
        (read_crops, ["crop", "spacing", "rate", "row_spacing", "lines", "germination", "accept"]),
        (read_stands, ["date", "crop", "length", "plants"]),
        (read_bed_lengths, ["bed", "length", "lines"]),
        (read_spacings, ["spacing"]),
    ],
)
def test_any_slip_of_the_pen_in_a_heading_is_answered(tmp_path, read, columns):
    path = tmp_path / "s.csv"
    for column in columns:
        for slip in slips(column):
            header = ",".join(slip if one == column else one for one in columns)
            path.write_text(f"{header}\n{',' * (len(columns) - 1)}\n", encoding="utf-8")
            with pytest.raises(SheetError) as caught:
                read(path)
            assert str(caught.value) == (
                f"s.csv, line 1: column {slip!r} is not known; did you mean {column}?"
            )


def test_a_missing_file(tmp_path):
    with pytest.raises(SheetError, match="no such bench sheet"):
        read_bench(tmp_path / "none.csv")


@pytest.mark.parametrize("written", ["-1", "0", "nan", "inf", "1e999", "5 %%", "±", "3±4", "½"])
@pytest.mark.parametrize("column", ["share", "with_limits", "above_zero"])
def test_no_figure_out_of_range_gets_through(tmp_path, column, written):
    path = tmp_path / "s.csv"
    path.write_text(f"x\n{written}\n", encoding="utf-8")
    (row,) = read_rows(path, what="sheet", required=("x",)).rows
    with pytest.raises(SheetError, match=r"s.csv, line 2: x") as caught:
        getattr(row, column)("x")
    assert "\n" not in str(caught.value)


CELLS = st.one_of(
    st.sampled_from(
        ["", "0", "-1", "1", "5", "1e300", "1e-300", "5 cm", "2 ft", "1/2", "85", "0.8", "80 %",
         "0.7 ± 0.2", "nan", "9 lb/acre", "F1", "20-28", "2026-05-12", "3.5 g", "1,000", "²", "٣"]
    ),
    st.text(max_size=12),
    st.floats().map(repr),
    st.integers().map(str),
)  # fmt: skip


def written(tmp_path, columns, rows):
    path = tmp_path / "sheet.csv"
    lines = [";".join(columns)]
    lines += [";".join('"' + c.replace('"', "'") + '"' for c in row) for row in rows]
    path.write_text("\n".join(lines), encoding="utf-8", errors="surrogatepass")
    return path


def rows_of(columns):
    """Rows that could be used, but for up to two cells of each."""

    @st.composite
    def rows(draw):
        row = [draw(st.sampled_from(good)) for good in columns.values()]
        for _ in range(draw(st.integers(0, 2))):
            row[draw(st.integers(0, len(row) - 1))] = draw(CELLS)
        return row

    return st.lists(rows(), min_size=1, max_size=5)


BENCH = {
    "crop": ["a"], "setting": ["1", "2", "3"], "turns": ["5", "0.5"], "seeds": ["", "100", "0"],
    "grams": ["3", "2.50 g"], "seeds_per_gram": ["60 ± 3", "60"], "seconds": ["", "5"],
}  # fmt: skip
WISH = {
    "crop": ["a"], "spacing": ["5 cm", ""], "plants_per_bed_metre": [""], "rate": ["", "9 lb/acre"],
    "row_spacing": ["30 cm"], "lines": ["", "3"], "germination": ["", "0.8"],
    "germination_tested": ["", "100"], "field_emergence": ["", "0.7 ± 0.1"],
    "accept": ["", "20-28", "6-8 per ft"], "seeds_per_gram": ["60 ± 5"], "depth": ["", "2 cm"],
}  # fmt: skip
STAND = {
    "date": ["", "2026-05-12"], "crop": ["a", "b"], "length": ["2 m", "10 ft"],
    "plants": ["50", "0", "31"], "seeds_per_metre": ["", "30"],
}  # fmt: skip
BED = {"bed": ["N1", "N2"], "length": ["40 m", "100 ft"], "lines": ["", "3"]}
SPACING = {"spacing": ["4 cm", "2 in", "0"]}


def use_bench(path):
    bench = read_bench(path)
    for crop, lot in bench.lots:
        curve = setting_curve(bench.of(crop, lot))
        choose(Crop(name="x", plants_per_m=20), Measured(0.6, 0.01), curve)


def use_crops(path):
    for crop in read_crops(path).crops:
        crop.target(Measured(0.6, 0.01), (0.58, 0.62))


def use_stands(path):
    stands = read_stands(path)
    for crop, lot in stands.lots:
        emergence(stands.of(crop, lot), seeds_per_m=Measured(30.0, 1.0))


def use_beds(path):
    seed_needed(read_bed_lengths(path), Measured(30.0, 1.0), seeds_per_kg=Measured(6e4, 1e3))


def use_spacings(path):
    spacing_indices(read_spacings(path), 0.05)


def refusal_of(use, path):
    """What our own errors say, "" where all was used."""
    try:
        use(path)
    except GroundtruthError as error:
        return str(error)
    return ""


@pytest.mark.whole_days
@pytest.mark.parametrize(
    ("columns", "use"),
    [(BENCH, use_bench), (WISH, use_crops), (STAND, use_stands), (BED, use_beds),
     (SPACING, use_spacings)],
    ids=["bench", "crops", "stands", "beds", "spacings"],
)  # fmt: skip
def test_anything_in_a_cell_is_used_or_refused(tmp_path_factory, columns, use):
    """No exception but ours, no warning of numpy's, whatever 150 sheets hold."""

    @settings(max_examples=150, deadline=None, database=None, derandomize=True)
    @given(rows_of(columns))
    def check(rows):
        path = written(tmp_path_factory.mktemp("sheet"), columns, rows)
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            line = refusal_of(use, path)
        assert "\n" not in line

    check()


@pytest.mark.parametrize(
    ("read", "text", "line", "column", "cell"),
    [
        (read_turns, "pass,turns\n1,41\n2,about 40\n", 3, "turns", "about 40"),
        (read_turns, "pass,turns\n1,-4\n", 2, "turns", "-4"),
        (read_turns, "pass,start,end,turns\n1,7:04Z,7:02Z,41\n", 2, "start", "7:04Z"),
        (read_turns, "pass,taped,turns\n1,long,41\n", 2, "taped", "long"),
        (read_turns, "pass,stard,turns\n1,1,1\n", 1, "stard", ""),
        (read_bench, "setting,turns,seeds\n3,0,4\n", 2, "turns", "0"),
        (read_bench, "setting,turns,seeds\n3,10,many\n", 2, "seeds", "many"),
        (read_bench, "setting,seeds\n3,10\n", 1, "turns", ""),
        (read_crops, "crop,spacing,accept\nbeet,5 cm,few\n", 2, "accept", "few"),
        (read_crops, "crop,spacing,germination\nbeet,5 cm,85\n", 2, "germination", "85"),
        (read_stands, "crop,length,plants\nbeet,2 m,-1\n", 2, "plants", "-1"),
        (read_bed_lengths, "bed,length\nN1,0 m\n", 2, "length", "0 m"),
        (read_spacings, "spacing\n4 cm\n4\n", 3, "spacing", "4"),
    ],
)
def test_a_refusal_tells_its_cell(read, text, line, column, cell):
    with pytest.raises(SheetError) as caught:
        read(Source("s.csv", text.encode()))
    error = caught.value
    assert (error.file, error.line, error.column, error.cell) == ("s.csv", line, column, cell)
    assert str(error) == f"s.csv, line {line}: {error.reason}"
