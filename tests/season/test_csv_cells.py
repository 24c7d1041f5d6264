"""Cells of an export as CSV, read without the limit that the csv module sets for the process."""

import csv
import io
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from groundtruth.season.astext import csv_text, rows_of_csv
from groundtruth.season.exporttable import ExportTable

CELLS = st.lists(st.text(alphabet="ab,\"' \r\nü", max_size=6), min_size=2, max_size=2)


def table(*columns):
    return ExportTable("t", [(column, "TEXT") for column in columns], [])


@given(st.lists(CELLS, max_size=4))
def test_rows_are_those_that_the_csv_module_reads(rows):
    out = io.StringIO(newline="")
    csv.writer(out, lineterminator="\r\n").writerows([["a", "b"], *rows])
    theirs = list(csv.reader(io.StringIO(out.getvalue(), newline="")))[1:]
    read = rows_of_csv(out.getvalue().encode(), table("a", "b"))
    assert read == [tuple(made_unsafe(cell) for cell in row) for row in theirs]


def made_unsafe(cell):
    """Without the ' that an export puts before what a spreadsheet would take for a formula: said
    again in other words than the code's."""
    kept = ""
    for at, char in enumerate(cell):
        after, before = cell[at + 1 : at + 2], cell[at - 1 : at] if at else "start"
        # a ' that was taken out does not make the next one stand behind a separator
        guard = char == "'" and before in ("start", *';,|\t\r\n"')
        if guard and after and (after in ACTS or (not at and after in "\t\r\n")):
            continue
        kept += char
    return kept


ACTS = "=+-@'＝＋－＠"


@given(st.text(alphabet=f'{ACTS};,|\t\r\n" a', max_size=9))
def test_any_text_comes_back_and_no_cell_of_it_acts(text):
    """Read as a spreadsheet of either separator may: split at every mark that ends a cell or line
    somewhere, quoted or not, no piece begins as a formula does."""
    made = csv_text(ExportTable("t", [("a", "TEXT"), ("b", "TEXT")], [(text, text)]))
    body = made.partition("\r\n")[2]
    assert rows_of_csv(made.encode(), table("a", "b")) == [(text, text)]
    for piece in re.split(r'[;,|\t\r\n"]', body):
        assert not piece.startswith(tuple("=+-@＝＋－＠")), body


def test_a_cell_may_be_long_and_the_process_keeps_its_limit():
    before = csv.field_size_limit()
    long = "x" * (2 * before)
    assert rows_of_csv(f"a,b\r\n{long},\r\n".encode(), table("a", "b")) == [(long, "")]
    assert csv.field_size_limit() == before


@pytest.mark.parametrize("text", ['a,b\r\n1,"2', 'a,b\r\n1,2"3\r\n', "a,b\r\n1\r\n", "a\r\n1\r\n"])
def test_damaged_text_is_refused(text):
    with pytest.raises(ValueError, match=r"quotation|longer|columns"):
        rows_of_csv(text.encode(), table("a", "b"))
