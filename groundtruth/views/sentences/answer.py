"""The answer that a grower came for: ground per gear turn, slip, change."""

from __future__ import annotations

from dataclasses import dataclass

from ...core.display import PERCENT, ground_scale
from ...core.language import say
from ...core.measured import Measured
from ...core.result import Result


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """The answer in parts: "" for what is not known."""

    ground: str  # "25.15 in"
    ground_sure: str  # "24.87 to 25.42 in"
    slip: str
    slip_sure: str
    in_use: str
    change: str  # "+2.69 %"
    change_reach: str  # "1.1 %", of the 95 % interval

    @property
    def sentences(self) -> tuple[str, ...]:
        """The answer in whole sentences, the most wanted first."""
        found = [
            say(
                "One gear turn covers {ground} of ground (95 % sure: {sure}).",
                ground=self.ground,
                sure=self.ground_sure,
            )
        ]
        if self.slip and self.slip_sure:
            found.append(
                say("Slip {slip} (95 % sure: {sure}).", slip=self.slip, sure=self.slip_sure)
            )
        elif self.slip:
            found.append(say("Slip {slip}.", slip=self.slip))
        if self.change:
            found.append(
                say(
                    "Figure in use: {old}; the new one is {change} (± {reach}) against it.",
                    old=self.in_use,
                    change=self.change,
                    reach=self.change_reach,
                )
            )
        return tuple(found)


def answer_of(result: Result) -> Answer:
    """The figures that a grower came for."""
    ground, pooled, slip = ground_scale(result.units), result.ground_per_turn, result.slip
    in_use_m = result.seeder.ground_per_gear_turn_in_use_m
    change = result.change if in_use_m is not None else None
    return Answer(
        ground=ground.value(pooled),
        ground_sure=ground.interval(result.ground_per_turn_95, pooled.std),
        slip=PERCENT.value(slip) if slip else "",
        slip_sure=PERCENT.interval(result.slip_95, slip.std) if slip and result.slip_95 else "",
        in_use=ground.value(Measured(in_use_m)) if in_use_m is not None else "",
        change=_signed_percent(change) if change else "",
        change_reach=f"{PERCENT.pair(change)[1]} %" if change else "",
    )


def _signed_percent(share: Measured) -> str:
    return f"{PERCENT.signed(share.value, PERCENT.places(share.std))} %"
