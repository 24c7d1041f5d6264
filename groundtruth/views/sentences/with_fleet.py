"""What a fleet's knowledge makes of a run's figure, in sentences."""

from __future__ import annotations

from ...core.display import PERCENT, ground_scale
from ...core.language import say
from ...core.result import Result


def with_fleet_sentences(result: Result) -> tuple[str, ...]:
    """The figure with the fleet's knowledge beside the run's own; empty without a prior."""
    found = result.with_fleet
    if found is None:
        return ()
    scale, own, figure = ground_scale(result.units), result.ground_per_turn, found.ground_per_turn
    alone = {
        "alone": scale.value(own),
        "alone_sure": scale.interval(result.ground_per_turn_95, own.std),
    }
    odd = PERCENT.number(min(found.odd, 0.99), 0)
    if found.dropped:
        return (
            say(
                "This machine is unlike those of the fleet ({odd} % sure or more): what the fleet "
                "knows was dropped, and the run's own figure stands, {alone} (95 % sure: "
                "{alone_sure}).",
                odd=odd,
                **alone,
            ),
        )
    return (
        say(
            "By this run alone {alone} (95 % sure: {alone_sure}); with what the fleet knows of "
            "other machines {figure} (95 % sure: {sure}).",
            figure=scale.value(figure),
            sure=scale.interval(found.ground_per_turn_95, figure.std),
            **alone,
        ),
        say("That this machine is an odd one is {odd} % probable.", odd=odd),
    )
