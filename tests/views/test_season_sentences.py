"""What is said about anomalies, in the days' form that is asked for."""

import pytest

from groundtruth.beds import Anomaly, AnomalyKind, PassReference
from groundtruth.core.display import day_text
from groundtruth.views.sentences.season import anomaly_sentence
from groundtruth.views.tables.season import anomaly_sentences


def anomaly(kind, **more):
    made = {
        "kind": AnomalyKind(kind), "block": "A", "bed": "A4", "run": "k2", "day": "2027-05-12",
        "passes": (7,), "sure": 0.97,
    }  # fmt: skip
    return Anomaly(**{**made, **more})


FIRST = PassReference(run="k1", day="2027-05-10", number=4)
SAME = PassReference(run="k2", day="2027-05-12", number=3)


@pytest.mark.parametrize(
    ("found", "says"),
    [
        (
            anomaly("sown twice", earlier=FIRST),
            "Bed A4 was sown twice on 2027-05-10, pass 4, and 2027-05-12, pass 7",
        ),
        (
            anomaly("sown twice", earlier=SAME, sure=0.6),
            "Bed A4 was perhaps sown twice on 2027-05-12, passes 3 and 7",
        ),
        (
            anomaly("skipped", passes=()),
            "Bed A4 was left out on 2027-05-12, its neighbours were sown",
        ),
        (
            anomaly("short", share=0.613),
            "Bed A4 was sown short on 2027-05-12: 61 % of its usual length",
        ),
        (
            anomaly("unsure", passes=(3, 1, 2, 9), sure=0.4),
            "Block A, 2027-05-12: which bed was sown is not sure for passes 1 to 3, 9; write the "
            "beds into that day's turn sheet and add the run again with --replace",
        ),
    ],
    ids=lambda value: value.kind if isinstance(value, Anomaly) else "",
)
def test_each_kind_is_one_sentence(found, says):
    assert anomaly_sentence(found) == says
    (line,) = anomaly_sentences([found])
    sure = "." if found.kind == "unsure" else f" ({100 * found.sure:.0f} % sure of the bed)."
    assert line == says + sure


def test_days_are_written_as_asked():
    said = anomaly_sentence(anomaly("sown twice", earlier=FIRST), day_text)
    assert said.endswith("on 10 May 2027, pass 4, and 12 May 2027, pass 7")


def test_text_of_files_is_made_visible():
    (line,) = anomaly_sentences([anomaly("skipped", passes=(), bed="A\x1b[2J")])
    assert "\\x1b" in line
