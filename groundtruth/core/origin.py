"""Where a run comes from, and the state of the ground that was driven on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

Moisture = Literal["dry", "moist", "wet"]
"""Water state of the soil [Soil Survey Manual, USDA Handbook 18 (2017), ch. 3; from memory]."""
Texture = Literal[
    "sand",
    "loamy sand",
    "sandy loam",
    "loam",
    "silt loam",
    "silt",
    "sandy clay loam",
    "clay loam",
    "silty clay loam",
    "sandy clay",
    "silty clay",
    "clay",
]
"""The twelve texture classes [Soil Survey Manual, USDA Handbook 18 (2017), ch. 3; from memory]."""
MOISTURES: tuple[Moisture, ...] = get_args(Moisture)
TEXTURES: tuple[Texture, ...] = get_args(Texture)


@dataclass(frozen=True, slots=True, kw_only=True)
class Origin:
    """Farm and field of a run and the model of the phone, in words; "" where they are not given.

    ``farm_id`` is what the farm is known by to others.
    """

    farm: str = ""
    farm_id: str = ""
    field: str = ""
    phone: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Soil:
    """Moisture and texture of the soil, None where they are not given."""

    moisture: Moisture | None = None
    texture: Texture | None = None
