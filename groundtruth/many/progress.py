"""How far a call is, and how long it takes from here."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(slots=True, kw_only=True)
class Progress:
    """Counts of runs; ``done`` by status are those of this call.

    ``found`` is how many there are; ``skipped`` were done before, or are copies of another;
    ``workers`` how many measure now. ``began_s`` is when the first was sent to one, on the clock
    that `line` is asked by.
    """

    found: int
    skipped: int = 0
    done: dict[str, int] = field(default_factory=dict)
    workers: int = 0
    began_s: float | None = None

    @property
    def measured_now(self) -> int:
        """Runs that got an outcome in this call."""
        return sum(self.done.values())

    @property
    def left(self) -> int:
        """Runs that were not come to yet; some of them may be done already."""
        return self.found - self.skipped - self.measured_now

    def left_s(self, now_s: float) -> float | None:
        """Seconds that the rest takes at the pace so far, None where nothing is known of it."""
        if self.began_s is None or not self.measured_now:
            return None
        return (now_s - self.began_s) / self.measured_now * self.left

    def line(self, now_s: float) -> str:
        """One line: how many of how many, what became of them, and the time left.

        >>> Progress(found=1200, skipped=200, done={"measured": 245, "refused": 5}, workers=8,
        ...          began_s=0.0).line(100.0)
        '450 of 1,200 runs: 200 done before, 245 measured, 5 refused · 8 workers · about 5 min left'
        """
        parts = [f"{self.skipped:,} done before"] if self.skipped else []
        parts += [f"{count:,} {status}" for status, count in self.done.items() if count]
        said = f"{self.found - self.left:,} of {self.found:,} runs"
        if parts:
            said += f": {', '.join(parts)}"
        if self.began_s is None:
            return said
        said += f" · {self.workers} worker{'s' * (self.workers != 1)}"
        left_s = self.left_s(now_s)
        return said if left_s is None else f"{said} · about {_time_text(left_s)} left"


def _time_text(seconds: float) -> str:
    """A time as people say it, to two digits at most."""
    for unit, size, least in (("h", 3600.0, 2 * 3600.0), ("min", 60.0, 90.0)):
        if seconds >= least:
            return f"{seconds / size:.0f} {unit}"
    return f"{max(1, round(seconds)):d} s"
