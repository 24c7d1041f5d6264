"""Seeding arithmetic: rows and areas, seeds and weights, turns and distances. SI throughout.

Geometry and proportion only; each formula is common practice in drill calibration and holds for
any machine. The published worked examples in tests/published/ check them.
"""

from __future__ import annotations

from ..core.crops import _above_zero


def row_length(area_m2: float, row_spacing_m: float) -> float:
    """Length of row in an area sown in evenly spaced rows, area / spacing. [m]

    Raises
    ------
    InputError : a figure is not above 0. So do all functions below.
    """
    _above_zero(area=area_m2, row_spacing=row_spacing_m)
    return area_m2 / row_spacing_m


def seeds_per_metre_from_area(seeds_per_m2: float, row_spacing_m: float) -> float:
    """Seeds (or plants) per metre of row from seeds per area, density × row spacing. [1/m]"""
    _above_zero(seeds_per_area=seeds_per_m2, row_spacing=row_spacing_m)
    return seeds_per_m2 * row_spacing_m


def seeds_per_area_from_metre(seeds_per_m: float, row_spacing_m: float) -> float:
    """Seeds (or plants) per area from seeds per metre of row, density / row spacing. [1/m²]"""
    _above_zero(seeds_per_metre=seeds_per_m, row_spacing=row_spacing_m)
    return seeds_per_m / row_spacing_m


def rate_by_weight(seeds_per_m2: float, seeds_per_kg: float) -> float:
    """Weight of seed per area that holds so many seeds, density / seeds per weight. [kg/m²]"""
    _above_zero(seeds_per_area=seeds_per_m2, seeds_per_weight=seeds_per_kg)
    return seeds_per_m2 / seeds_per_kg


def catch_for_rate(rate_kg_m2: float, width_m: float, distance_m: float) -> float:
    """Weight that a drill of this width must drop over a distance, rate × width × distance. [kg]"""
    _above_zero(rate=rate_kg_m2, width=width_m, distance=distance_m)
    return rate_kg_m2 * width_m * distance_m


def rate_from_catch(catch_kg: float, width_m: float, distance_m: float) -> float:
    """Rate by weight from a catch over a distance, catch / (width × distance). [kg/m²]"""
    _above_zero(catch=catch_kg, width=width_m, distance=distance_m)
    return catch_kg / (width_m * distance_m)


def turns_for_distance(distance_m: float, ground_per_turn_m: float) -> float:
    """Turns over a distance, distance / ground per turn. [-]"""
    _above_zero(distance=distance_m, ground_per_turn=ground_per_turn_m)
    return distance_m / ground_per_turn_m


def skid(turns_free: float, turns_in_work: float) -> float:
    """Skid of a dragged wheel over one distance, (N_free − N_work) / N_free. [-]

    The same as slip 1 − n·c/D, since N_free·c = D. Ground per turn grows by 1 / (1 − skid).
    """
    _above_zero(turns_on_firm_ground=turns_free, turns_in_work=turns_in_work)
    return (turns_free - turns_in_work) / turns_free


def travel_reduction(turns_free: float, turns_in_work: float) -> float:
    """Travel reduction as traction texts state it for a driven wheel, 1 − D / (n·c). [-]

    Negative for a dragged wheel: 1 − 1/(1 − s) with our slip s. For comparing with such texts.
    """
    _above_zero(turns_on_firm_ground=turns_free, turns_in_work=turns_in_work)
    return 1 - turns_free / turns_in_work
