"""How the figures of a result are shown: which unit for what, and in which form.

Ground per gear turn is shown in centimetres or inches, the length of a pass in metres or feet and
slip in per cent, so that figures that are compared stand in one unit whatever their size. The
digits follow the rule of `units`: two of the uncertainty. Wherever a person reads, ± is the
half-width of the 95 % interval, 1.96 standard uncertainties; these themselves stand in JSON.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, tzinfo
from statistics import median_high

from .language import English, decimals, said, say
from .measured import K95, Measured
from .run import UnitSystem
from .units import decimals_for, rounded, unit_factor

_DECIMALS_OF_EXACT = 1


@dataclass(frozen=True, slots=True)
class Scale:
    """The unit that one kind of figure is shown in."""

    unit: str

    def pair(self, quantity: Measured) -> tuple[str, str]:
        """Value and half-width of its 95 % interval as text, "" for that of an exact value."""
        value, reach = rounded(_expanded(quantity), self.unit)
        return _typeset(value), "" if reach == "0" else decimals(reach)

    def show(self, quantity: Measured) -> str:
        """Value ± half-width of its 95 % interval with the unit: "63.01 ± 0.71 cm"."""
        value, reach = self.pair(quantity)
        return self._with_unit(f"{value} ± {reach}" if reach else value)

    def value(self, quantity: Measured) -> str:
        """The value alone with the unit, to the place that its uncertainty allows."""
        return self._with_unit(self.pair(quantity)[0])

    def interval(self, ends: tuple[float, float], std: float) -> str:
        """Two ends in SI, to the place of their value: "62.3 to 63.7 cm"."""
        places = self.places(std)
        low, high = (self.number(end, places) for end in ends)
        return self._with_unit(span(low, high))

    def column(self, quantities: Sequence[Measured | None]) -> tuple[str, ...]:
        """Values ± half-widths of 95 % intervals without unit, all to one place to compare.

        The place is that of the median uncertainty; "" stands for None.
        """
        stds = [q.std for q in quantities if q is not None and q.std > 0]
        if not stds:
            return tuple(self.pair(q)[0] if q is not None else "" for q in quantities)
        places = self.places(median_high(stds))
        return tuple(
            f"{self.number(q.value, places)} ± {self.reach(q.std, places)}" if q is not None else ""
            for q in quantities
        )

    def places(self, std: float) -> int:
        """Decimals in this unit that show two digits of the half-width of the 95 % interval,
        from a standard uncertainty in SI."""
        if not std > 0:
            return _DECIMALS_OF_EXACT
        return decimals_for(K95 * std / unit_factor(self.unit))

    def reach(self, std: float, places: int) -> str:
        """The half-width of a 95 % interval as a bare number, from a standard uncertainty in SI."""
        return self.number(K95 * std, places)

    def number(self, value: float, places: int) -> str:
        """The bare number in this unit."""
        return _number(value / unit_factor(self.unit), places)

    def signed(self, value: float, places: int) -> str:
        """The bare number with its sign, as a change carries it."""
        text = self.number(value, places)
        return text if text.startswith("−") or not text.strip("0.,") else f"+{text}"

    def _with_unit(self, text: str) -> str:
        return f"{text} {self.unit}" if self.unit else text


PERCENT = Scale("%")
PLAIN = Scale("")


def ground_scale(units: UnitSystem) -> Scale:
    """Unit for ground per gear turn and for spacings along the row: cm or in."""
    return Scale("in" if units == "us" else "cm")


def distance_scale(units: UnitSystem) -> Scale:
    """Unit for the length of a pass: m or ft."""
    return Scale("ft" if units == "us" else "m")


def _expanded(quantity: Measured) -> Measured:
    return Measured(quantity.value, K95 * quantity.std)


def _number(value: float, places: int) -> str:
    return _typeset(f"{round(value, places):.{max(0, places)}f}")


def _typeset(number: str) -> str:
    """A true minus sign, none before a number that shows as zero, and the decimal sign."""
    signed = number.lstrip("-") if not number.strip("-0.") else number.replace("-", "−")
    return decimals(signed)


def span(low: str, high: str) -> str:
    """From one number, day or time to another: "62.3 to 63.7"."""
    return say("{low} to {high}", low=low, high=high)


def and_joined(words: Sequence[str]) -> str:
    """Words as one says them in a row.

    >>> and_joined(["a", "b", "c"]), and_joined(["a"])
    ('a, b and c', 'a')
    """
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


def time_of_day(time_s: float, zone: tzinfo) -> str:
    """An instant (s since 1970 UTC) by a farm's clock, as in 08:41:07."""
    return datetime.fromtimestamp(time_s, UTC).astimezone(zone).strftime("%H:%M:%S")


MONTHS = (
    English("January"),
    English("February"),
    English("March"),
    English("April"),
    English("May"),
    English("June"),
    English("July"),
    English("August"),
    English("September"),
    English("October"),
    English("November"),
    English("December"),
)


def day_text(iso_day: str) -> str:
    """An ISO day as people write it, unmistakable either side of an ocean: "12 May 2026"."""
    try:
        day = date.fromisoformat(iso_day)
    except ValueError:
        return iso_day
    month = said(MONTHS[day.month - 1])
    return say("{day} {month} {year}", day=day.day, month=month, year=day.year)
