"""What a result tells of its recording and of the passes' errors, to JSON and back."""

from __future__ import annotations

from typing import Any, get_args

from ...core.fleet_prior import FleetFigure
from ...core.recording import DistanceErrors, Recording
from ...core.run import ReceiverKind
from ...core.safe_text import clean
from ..json_values import quantity_keys
from .node import JsonNode


def recording_keys(recording: Recording | None) -> dict[str, Any] | None:
    """The recording as an object, null where nothing was kept of it."""
    if recording is None:
        return None
    return {
        "receiver": recording.receiver,
        "doppler": recording.doppler,
        "fixes": recording.fixes,
        "fixes_set_aside": recording.fixes_set_aside,
        "noise": dict(recording.noise),
    }


def recording_of_json(node: JsonNode) -> Recording | None:
    """The recording; files written before tell nothing of it."""
    if node.data.get("recording") is None:
        return None
    recording = node.child("recording")
    noise = recording.child("noise")
    return Recording(
        receiver=recording.word("receiver", get_args(ReceiverKind)),
        doppler=recording.truth("doppler"),
        fixes=recording.whole("fixes"),
        fixes_set_aside=recording.whole("fixes_set_aside"),
        noise=tuple((clean(name), noise.number(name)) for name in noise.data),
    )


def distances_keys(distances: DistanceErrors | None) -> dict[str, Any] | None:
    """The errors of the distances as an object, null where they were not kept."""
    if distances is None:
        return None
    of = distances.correlations
    return {
        "passes": list(distances.passes),
        "u_m": list(distances.std_m),
        "correlations": None if of is None else list(of),
    }


def distances_of_json(node: JsonNode) -> DistanceErrors | None:
    """The errors of the distances; files written before hold none."""
    if node.data.get("distances") is None:
        return None
    distances = node.child("distances")
    return DistanceErrors(
        passes=distances.wholes("passes"),
        std_m=distances.numbers("u_m"),
        correlations=distances.maybe("correlations", lambda: distances.numbers("correlations")),
    )


def with_fleet_keys(figure: FleetFigure | None) -> dict[str, Any] | None:
    """The figure with what a fleet knows, null without one."""
    if figure is None:
        return None
    return {
        **quantity_keys("ground_per_turn", figure.ground_per_turn, "_m"),
        "ground_per_turn_95_m": list(figure.ground_per_turn_95),
        "odd": figure.odd,
        "dropped": figure.dropped,
    }


def with_fleet_of(node: JsonNode) -> FleetFigure | None:
    """The figure with what a fleet knows; files written before hold none."""
    if node.data.get("with_fleet") is None:
        return None
    figure = node.child("with_fleet")
    return FleetFigure(
        ground_per_turn=figure.measured("ground_per_turn", "_m"),
        ground_per_turn_95=figure.two("ground_per_turn_95_m"),
        odd=figure.number("odd"),
        dropped=figure.truth("dropped"),
    )
