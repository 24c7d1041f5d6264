"""Nested random effects beside metafor, and with the dense matrices of the same model."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
import pytest
from benchmarks.fleet import SIZES, coverage

from groundtruth.stats.nested_effects import fit_nested_effects, group_numbers

DATA = Path(__file__).parent / "data"


def table(name):
    with (DATA / name).open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    return {key: np.array([row[key] for row in rows]) for key in rows[0]}


def test_districts_and_schools_are_fitted_as_metafor_does():
    """The data set of Konstantopoulos 2011, Research Synthesis Methods 2:61, as metadat has it
    (dat.konstantopoulos2011), fitted by R 4.2.2 with metafor 3.8-1:
    rma.mv(yi, vi, random = ~ 1 | district/school, control = list(REMLf = FALSE))."""
    data = table("konstantopoulos2011.csv")
    found = fit_nested_effects(
        data["yi"].astype(float),
        data["vi"].astype(float),
        levels=[data["district"].astype(int), data["school"].astype(int)],
    )
    assert found.estimate == pytest.approx([0.1847131637], rel=1e-6)
    assert found.std == pytest.approx([0.08455591874], rel=1e-5)
    assert found.variance == pytest.approx([0.06506194428, 0.03273651703], rel=1e-4)
    assert found.log_likelihood == pytest.approx(-9.971399879, abs=1e-7)
    districts = [-0.1899860, -0.0846708, 0.1407273, 0.2406481]  # of ranef(), the first four
    assert found.effect[0][:4] == pytest.approx(districts, abs=2e-6)


def invented():
    data = table("nested-effects.csv")
    n = len(data["wet"])
    return {
        "figures": data["figure"].astype(float),
        "variance": data["std"].astype(float) ** 2,
        "levels": [data[key] for key in ("farm", "seeder", "day")],
        "design": np.column_stack(
            [np.ones(n), data["wet"].astype(float), data["speed_m_s"].astype(float)]
        ),
    }


def test_three_levels_with_covariates_are_fitted_as_metafor_does():
    """131 invented figures, fitted by R 4.2.2 with metafor 3.8-1: rma.mv(figure, std^2,
    mods = ~ wet + speed_m_s, random = ~ 1 | farm/seeder/day, control = list(REMLf = FALSE))."""
    found = fit_nested_effects(**invented())
    assert found.estimate == pytest.approx([0.04683358283, 0.02474468443, 0.01083414411], rel=1e-4)
    assert found.std == pytest.approx([0.015374815764, 0.005447197178, 0.007158648419], rel=1e-4)
    metafor = [0.0016056305666, 0.0003786514742, 0.0001343623296]
    assert found.variance == pytest.approx(metafor, rel=1e-3)
    assert found.log_likelihood == pytest.approx(292.2856878, abs=1e-6)
    for level, first in enumerate(  # the first of ranef() at each level
        (
            [-0.0051307563, 0.0406735009, -0.0534248635, -0.0557007419],
            [-0.0305590169, 0.0086994429, 0.0206496018, -0.0082892035],
            [-0.0101861436, -0.0006575504, 0.0030869480, -0.0101461230],
        )
    ):
        assert found.effect[level][:4] == pytest.approx(first, abs=2e-6)


def test_the_fit_is_that_of_dense_matrices_and_no_order_of_the_rows_changes_it():
    data = invented()
    found = fit_nested_effects(**data)
    v = np.diag(data["variance"])
    for number, theta in zip(group_numbers(data["levels"]), found.variance, strict=True):
        v += theta * (number[:, None] == number[None, :])
    x, y = data["design"], data["figures"]
    covariance = np.linalg.inv(x.T @ np.linalg.solve(v, x))
    assert found.covariance == pytest.approx(covariance, rel=1e-8)
    assert found.estimate == pytest.approx(covariance @ x.T @ np.linalg.solve(v, y), rel=1e-8)

    mixed = np.random.default_rng(3).permutation(len(y))
    turned = {"levels": [one[mixed] for one in data["levels"]]}
    turned |= {key: data[key][mixed] for key in ("figures", "variance", "design")}
    again = fit_nested_effects(**turned)
    assert again.estimate == pytest.approx(found.estimate, rel=1e-6)
    assert again.variance == pytest.approx(found.variance, rel=1e-4)


def test_degrees_of_freedom_are_those_of_the_level_a_column_changes_between():
    """12 farms for the mean; 60 days of a seeder, less mean and wet soil; all figures for speed."""
    assert fit_nested_effects(**invented()).degrees_of_freedom.tolist() == [11, 58, 128]


@pytest.mark.parametrize(
    ("changed", "why"),
    [
        ({"variance": np.zeros(3)}, "above 0"),
        ({"variance": np.ones(2)}, "fit each other"),
        ({"design": np.ones((3, 2))}, "full column rank"),
        ({"design": np.eye(3)}, "more than the coefficients"),
    ],
)
def test_what_cannot_be_fitted_is_refused(changed, why):
    given = {"figures": np.arange(3.0), "variance": np.ones(3), "levels": [np.arange(3)]}
    with pytest.raises(ValueError, match=why):
        fit_nested_effects(**given | changed)


@pytest.mark.whole_days
def test_intervals_hold_the_truth_of_simulated_fleets():
    """The truth is that of our own draws: 200 fleets of each size."""
    found = np.mean([coverage(farms, 200) for _, farms in SIZES], axis=0)
    assert (found >= 93).all()
    assert (found <= 97).all()
