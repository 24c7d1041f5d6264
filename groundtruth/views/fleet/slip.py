"""How slip goes with soil, tyre, pressure and speed, to be shown."""

from __future__ import annotations

from ...core.display import PERCENT
from ...core.language import many
from ...core.safe_text import visible
from ...fleet.slip import PRESSURE_STEP_PA, SPEED_STEP_M_S, SlipAnswer, SlipEffect
from ..blocks import Sentences, Table, column
from .answer import NAME, ROWS, FleetAnswer, names, of_percent, share_text
from .forest import Forest

_KPA, _KM_H = 1000.0, 1 / 3.6
_WHAT = {
    "soil_moisture": "soil",
    "soil_texture": "texture",
    "tyre": "tyre",
    "tyre_pressure_pa": "pressure",
    "ballast_kg": "ballast",
    "speed_m_s": "speed",
}
_STEPS = {
    "tyre_pressure_pa": "10 kPa more pressure",
    "ballast_kg": "10 kg more ballast",
    "speed_m_s": "0.1 m/s faster",
}


def slip_shown(found: SlipAnswer) -> FleetAnswer:
    """How slip goes with everything."""
    said = [
        f"Slip is {PERCENT.show(found.usual)} with the commonest soil and tyre, at the mean "
        f"pressure, ballast and speed, by {many(found.runs, '{count} run', '{count} runs')}.",
        f"What remains: farms differ by {share_text(found.between_farms)}, seeders of a farm by "
        f"{share_text(found.between_seeders)}, days by {share_text(found.between_days)}.",
    ]
    if found.untold:
        same = ", ".join(visible(name.replace("_", " "), 40) for name in found.untold)
        said.append(f"Always come with others, so that no run tells their effect: {same}.")
    effects = Table(
        title="More slip, all else alike",
        columns=(
            column("what", (_effect(e) for e in found.effects), "left"),
            column("runs", (str(e.runs) for e in found.effects)),
            column("more slip, % points", PERCENT.column([e.more for e in found.effects]),
                   strong=True),
        ),
    )  # fmt: skip
    cells = found.cells[:ROWS]
    table = Table(
        title="Slip as it was measured, passes of a kind together",
        columns=(
            column("soil", names(c["moisture"] for c in cells), "left"),
            column("texture", names(c["texture"] for c in cells), "left"),
            column("tyre", names(c["tyre"] for c in cells), "left"),
            column("kPa", (_class(c["pressure_pa"], PRESSURE_STEP_PA, _KPA, 0) for c in cells)),
            column("km/h", (_class(c["speed_m_s"], SPEED_STEP_M_S, _KM_H, 1) for c in cells)),
            column("farms", (str(c["farms"]) for c in cells)),
            column("passes", (str(c["passes"]) for c in cells)),
            column("slip, %", (PERCENT.number(c["slip"], 1) for c in cells), strong=True),
            column("spread, %", (PERCENT.number(c["slip_spread"], 1) for c in cells)),
        ),
    )
    return FleetAnswer(
        title="Slip over the fleet",
        blocks=(Sentences(title="Slip", sentences=tuple(said), strong=1), effects, table),
        forest=Forest(
            title="More slip, all else alike",
            unit="percentage points",
            lines=tuple(of_percent(_effect(e), e.more.value, e.more_95) for e in found.effects),
            zero=0.0,
        ),
    )


def _effect(effect: SlipEffect) -> str:
    what = _WHAT[effect.what]
    if effect.kind == "step":
        return _STEPS[effect.what]
    return f"{what} {visible(effect.kind, NAME)} against {visible(effect.than, NAME)}"


def _class(low: float | None, step: float, unit: float, places: int) -> str:
    if low is None:
        return ""
    return f"{low / unit:.{places}f} to {(low + step) / unit:.{places}f}"
