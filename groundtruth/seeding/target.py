"""Seeds per gear turn wanted: corrected by the ground that a turn really covers.

seeds per turn = plants per metre × ground per turn / (germination × field emergence)

A proportion, common practice without a source; docs/formulas.md derives it.
"""

from __future__ import annotations

from ..core.crops import plants_per_metre, seeds_to_drop
from ..core.measured import Measured
from ..core.result import Target
from ..core.run import Sowing


def target_for(
    sowing: Sowing,
    ground_per_turn: Measured,
    ground_per_turn_95: tuple[float, float] | None = None,
    in_use_m: float | None = None,
) -> Target:
    """The target for a crop at a measured ground per turn (m), beside that at the figure in use.

    Spacing and shares of the sowing are taken as wished, without uncertainty, so that the
    interval is that of the ground per turn; where it is not given it is the normal one.
    """
    seeds_per_m = seeds_to_drop(
        plants_per_metre(sowing.spacing_m), sowing.germination, sowing.field_emergence
    )
    low, high = ground_per_turn_95 or ground_per_turn.interval()
    return Target(
        sowing=sowing,
        seeds_per_turn=ground_per_turn.scaled(seeds_per_m),
        seeds_per_turn_95=(low * seeds_per_m, high * seeds_per_m),
        seeds_per_turn_in_use=None if in_use_m is None else in_use_m * seeds_per_m,
    )
