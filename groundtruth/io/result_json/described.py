"""What a person says of a run in its description, to JSON and back: farm, field, machine, soil."""

from __future__ import annotations

from dataclasses import asdict, fields
from typing import Any

from ...core.origin import MOISTURES, TEXTURES, Origin, Soil
from ...core.seeder import Seeder
from ..json_values import quantity_keys
from .node import JsonNode


def origin_keys(origin: Origin) -> dict[str, Any]:
    """Farm, field and phone as keys of the document."""
    return asdict(origin)


def origin_of(node: JsonNode) -> Origin:
    """Farm, field and phone; files written before hold none."""
    return Origin(**{field.name: node.name_if_there(field.name) for field in fields(Origin)})


def soil_keys(soil: Soil) -> dict[str, Any]:
    """The soil as an object."""
    return asdict(soil)


def soil_of(node: JsonNode) -> Soil:
    """The soil; files written before say nothing of it."""
    if "soil" not in node.data:
        return Soil()
    soil = node.child("soil")
    return Soil(
        moisture=soil.word_if_there("moisture", MOISTURES),
        texture=soil.word_if_there("texture", TEXTURES),
    )


def seeder_keys(seeder: Seeder) -> dict[str, Any]:
    """The machine as an object."""
    return {
        "turns_of": seeder.turns_of,
        **quantity_keys("wheel_circumference", seeder.wheel_circumference, "_m"),
        "gear_turns_per_wheel_turn": seeder.gear_turns_per_wheel_turn,
        "row_units": seeder.row_units,
        "row_spacing_m": seeder.row_spacing_m,
        "bed_width_m": seeder.bed_width_m,
        "bed_spacing_m": seeder.bed_spacing_m,
        "antenna_ahead_m": seeder.antenna_ahead_m,
        "antenna_right_m": seeder.antenna_right_m,
        "settings": list(seeder.settings),
        "name": seeder.name,
        "id": seeder.id,
        "tyre": seeder.tyre,
        "tyre_pressure_pa": seeder.tyre_pressure_pa,
        "ballast_kg": seeder.ballast_kg,
    }


def seeder_of(node: JsonNode) -> Seeder:
    """The machine; ``node`` is the whole document, which holds the figure in use."""
    seeder = node.child("seeder")
    return Seeder(
        turns_of="gear" if seeder.one_of("turns_of", ("gear", "wheel")) == "gear" else "wheel",
        wheel_circumference=seeder.maybe(
            "wheel_circumference_m", lambda: seeder.measured("wheel_circumference", "_m")
        ),
        gear_turns_per_wheel_turn=seeder.number("gear_turns_per_wheel_turn"),
        ground_per_gear_turn_in_use_m=node.maybe(
            "ground_per_turn_in_use_m", lambda: node.number("ground_per_turn_in_use_m")
        ),
        row_units=seeder.maybe("row_units", lambda: seeder.whole("row_units")),
        row_spacing_m=seeder.maybe("row_spacing_m", lambda: seeder.number("row_spacing_m")),
        bed_width_m=seeder.maybe("bed_width_m", lambda: seeder.number("bed_width_m")),
        bed_spacing_m=seeder.maybe("bed_spacing_m", lambda: seeder.number("bed_spacing_m")),
        antenna_ahead_m=seeder.number("antenna_ahead_m"),
        antenna_right_m=seeder.number("antenna_right_m"),
        settings=seeder.texts("settings"),
        name=seeder.name_if_there("name"),
        id=seeder.name_if_there("id"),
        tyre=seeder.name_if_there("tyre"),
        tyre_pressure_pa=seeder.number_if_there("tyre_pressure_pa"),
        ballast_kg=seeder.number_if_there("ballast_kg"),
    )
