"""Names under which tables and JSON properties hold a fix's fields, with their units."""

from __future__ import annotations

import re
from dataclasses import dataclass

from ...core.units import FOOT, KM_PER_HOUR, KNOT, MILE_PER_HOUR

_NAMES = {
    "time": "time|timestamp|time stamp|datetime|date time|utc|time utc|utc time|utc datetime|"
    "timestamp utc|datetime utc|gps time|gpstime|local time|time local|epoch|epoch s|epoch ms|"
    "unix|unix time|unixtime|timestamp s|timestamp ms|time s|time ms|when|recorded at|iso time|"
    "isotime|instant",
    "date": "date|day|date utc|utc date|gps date|local date",
    "lat": "lat|latitude|lat deg|latitude deg|gps lat|gps latitude|lat wgs84|latitude wgs84|"
    "lat e7|latitude e7",
    "lon": "lon|lng|long|longitude|lon deg|longitude deg|gps lon|gps long|gps longitude|"
    "lon wgs84|longitude wgs84|lon e7|lng e7|longitude e7",
    "position": "position|positions|coordinate|coordinates|coords|location|gps|gps position|"
    "gps coordinates|gps location",
    "lat lon": "lat lon|lat lng|lat long|latlon|latlng|latlong|latitude longitude",
    "lon lat": "lon lat|lng lat|long lat|lonlat|lnglat|longlat|longitude latitude",
    "ns": "ns|n s|lat ns|latitude ns|lat hemisphere",
    "ew": "ew|e w|lon ew|longitude ew|lon hemisphere",
    "height": "height|ele|elevation|alt|altitude|height m|ele m|elevation m|alt m|altitude m|"
    "gps altitude|height ft|altitude ft|elevation ft",
    "speed": "speed|speed m s|speed mps|speed ms|speed km h|speed kmh|speed kph|speed mph|"
    "speed kn|speed kt|speed kts|speed knots|gps speed|ground speed|velocity",
    "accuracy": "accuracy|accuracy m|acc|hacc|h acc|horizontal accuracy|horizontal accuracy m|"
    "horizontalaccuracy|position accuracy|accuracy ft",
    "hdop": "hdop",
    "segment": "segment|seg|segment id|track segment",
}
NAMES: dict[str, str] = {
    name: field for field, names in _NAMES.items() for name in names.split("|")
}
POSITIONS = {"position": "", "lat lon": "lat", "lon lat": "lon"}
"""Fields that hold latitude and longitude in one cell, and which of the two comes first."""
_UNITS = {
    "km h": KM_PER_HOUR.value,
    "kmh": KM_PER_HOUR.value,
    "kph": KM_PER_HOUR.value,
    "mph": MILE_PER_HOUR.value,
    "kn": KNOT.value,
    "kt": KNOT.value,
    "kts": KNOT.value,
    "knots": KNOT.value,
    "ft": FOOT.value,
    "feet": FOOT.value,
}


@dataclass(frozen=True, slots=True)
class FixField:
    """A field that a header names: which one, the factor to SI, and whether its clock is UTC."""

    name: str
    factor: float = 1.0
    utc: bool = False


def plain_name(header: str) -> str:
    """ "Speed (km/h)" to "speed km h", "coordTimes" to "coord times"."""
    spaced = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", header.strip()[:200])
    return " ".join(re.split(r"[^a-z0-9]+", spaced.lower())).strip()


def field_named(header: str) -> FixField | None:
    """The field that a column heading or property name stands for, or None."""
    name = plain_name(header)
    field = NAMES.get(name)
    if field is None:  # a unit in brackets that no spelling above holds: "Altitude (meters)"
        bare = plain_name(re.sub(r"[\[(].*", "", header))
        field = NAMES.get(bare)
    if field is None:
        return None
    factor = 1.0
    if field in ("speed", "height", "accuracy"):
        for unit, value in _UNITS.items():
            if name.endswith(f" {unit}"):
                factor = value
    elif field in ("lat", "lon") and name.endswith(" e7"):
        factor = 1e-7
    return FixField(field, factor, utc="utc" in name.split())
