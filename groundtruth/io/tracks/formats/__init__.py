"""The track formats that are read, one module each.

A new format is a module here that ends in a `TrackFormat`, and its name in `FORMATS`.
"""

from __future__ import annotations

from ..track_format import TrackFormat
from .csv_table import CSV
from .geojson import GEOJSON
from .gpx import GPX
from .kml import KML
from .nmea import NMEA

FORMATS: tuple[TrackFormat, ...] = (GPX, KML, GEOJSON, NMEA, CSV)
"""Asked in this order whether a file is theirs; the first that recognises it reads it."""
