"""What measuring a run says besides its figures: kinds, numbers and references, no sentences.

The sentences are made where they are shown, in the units asked for.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

from .measured import Measured

Severity = Literal["watch", "warning", "repair", "fact"]
"""Something to look at on the machine, to think about, that was repaired, or worth knowing."""


class ReceiverEvidence(StrEnum):
    """What tells a centimetre receiver, beside straight lines. The values are those of the JSON."""

    RUN_FILE = "run file"
    FIX_QUALITY = "fix quality"
    ACCURACY = "reported accuracy"
    RATE = "fixes a second"


class FindingKind(StrEnum):
    """What was found. The values are those of the JSON."""

    TURNED_MORE = "more turns than a rolling wheel drives"
    MUCH_SLIP = "much slip"
    DROVE_ON = "drove on beyond the end"
    END_UNSEEN = "no fix at the end"
    TOO_UNSURE = "ground too unsure"
    JUMPED = "fixes jumped aside"
    NO_HEIGHTS = "no heights"
    CENTIMETRE_RECEIVER = "centimetre receiver"
    UNCOUNTED = "passes without a count"
    NOT_RECORDED = "row of a pass that was not recorded"
    NO_PASS = "row without a pass"
    SAME_PASS = "two rows for one pass"
    ROW_DOUBLED = "row written twice"
    SEVERAL_PASSES = "row over several passes"
    TIMES_DIFFER = "times that cover no pass"
    GUESSED = "rows brought to passes by length"
    RUNNING_COUNTER = "running counter"
    CLOCK_OFF = "clock of the sheet off"
    CLOCK_FAR_OFF = "clock of the sheet far off"
    TAPED_OFF = "taped length left out"
    PASS_OFF = "ground and counts disagree"


_SEVERITY: dict[FindingKind, Severity] = {
    FindingKind.TURNED_MORE: "watch",
    FindingKind.MUCH_SLIP: "watch",
    FindingKind.DROVE_ON: "warning",
    FindingKind.END_UNSEEN: "warning",
    FindingKind.TOO_UNSURE: "warning",
    FindingKind.JUMPED: "repair",
    FindingKind.NO_HEIGHTS: "fact",
    FindingKind.CENTIMETRE_RECEIVER: "fact",
    FindingKind.UNCOUNTED: "fact",
    FindingKind.NOT_RECORDED: "warning",
    FindingKind.NO_PASS: "warning",
    FindingKind.SAME_PASS: "warning",
    FindingKind.ROW_DOUBLED: "repair",
    FindingKind.SEVERAL_PASSES: "warning",
    FindingKind.TIMES_DIFFER: "warning",
    FindingKind.GUESSED: "warning",
    FindingKind.RUNNING_COUNTER: "warning",
    FindingKind.CLOCK_OFF: "repair",
    FindingKind.CLOCK_FAR_OFF: "warning",
    FindingKind.TAPED_OFF: "warning",
    FindingKind.PASS_OFF: "warning",
}
_NEEDED = {
    FindingKind.DROVE_ON: ("passes", "end", "from_s", "until_s", "along_m"),
    FindingKind.END_UNSEEN: ("passes", "end", "from_s", "until_s"),
    FindingKind.TOO_UNSURE: ("passes",),
    FindingKind.JUMPED: ("passes", "fixes"),
    FindingKind.UNCOUNTED: ("passes",),
    FindingKind.CENTIMETRE_RECEIVER: ("evidence",),
    FindingKind.NOT_RECORDED: ("passes",),
    FindingKind.NO_PASS: ("passes",),
    FindingKind.SAME_PASS: ("passes",),
    FindingKind.ROW_DOUBLED: ("passes",),
    FindingKind.SEVERAL_PASSES: ("passes",),
    FindingKind.TIMES_DIFFER: ("passes",),
    FindingKind.GUESSED: ("passes",),
    FindingKind.RUNNING_COUNTER: ("passes",),
    FindingKind.CLOCK_OFF: ("offset",),
    FindingKind.CLOCK_FAR_OFF: ("offset",),
    FindingKind.TAPED_OFF: ("passes", "written", "expected"),
    FindingKind.PASS_OFF: ("passes", "written", "expected"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing found in a run. What a kind does not need is left empty.

    ``passes`` are the numbers of the passes concerned, ``end`` the end of a pass. ``from_s`` and
    ``until_s`` (s since 1970 UTC) are the time without a fix, or that in which the tractor drove
    ``along_m`` straight on between the end found in the track and the turn sheet's instant.
    ``fixes`` were left out. ``evidence`` tells a receiver that is good to centimetres.
    ``line`` is that of the sheet. ``offset`` is how far the sheet's clock
    is ahead of the track's (s), ``drift_s_per_h`` what it gains. ``written`` is what the sheet says
    (a taped length, m; turns of one unit), ``expected`` the least and the most that it should be.

    Raises
    ------
    ValueError : what the kind needs is not there.
    """

    kind: FindingKind
    passes: tuple[int, ...] = ()
    end: Literal["start", "end"] | None = None
    from_s: float | None = None
    until_s: float | None = None
    along_m: float | None = None
    fixes: int | None = None
    evidence: ReceiverEvidence | None = None
    line: int | None = None
    offset: Measured | None = None
    drift_s_per_h: float | None = None
    written: float | None = None
    expected: tuple[float, float] | None = None

    def __post_init__(self) -> None:
        _refuse_incomplete(self, _NEEDED.get(self.kind, ()))

    @property
    def severity(self) -> Severity:
        """What a reader should do about it."""
        return _SEVERITY[self.kind]


class AdviceKind(StrEnum):
    """A way to a surer figure. The values are those of the JSON."""

    MORE_PASSES = "more passes"
    MANY_MORE_PASSES = "many more passes"
    TAPE = "tape the beds"
    LONGER_PASSES = "longer passes"
    STAND = "stand at both ends"
    THREE_PASSES = "three passes or more"


_NEEDED_OF_ADVICE = {
    AdviceKind.MORE_PASSES: ("passes", "half_width_95"),
    AdviceKind.MANY_MORE_PASSES: ("passes", "half_width_95"),
    AdviceKind.TAPE: ("half_width_95",),
    AdviceKind.LONGER_PASSES: ("pass_length_m", "half_width_95"),
    AdviceKind.STAND: ("half_width_95",),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """One proposal for a surer figure, with what it would bring. What does not apply is None.

    ``half_width_95`` is half the 95 % interval of ground per gear turn that it would lead to,
    relative; ``passes`` how many it takes in all, ``pass_length_m`` how long they would be.

    Raises
    ------
    ValueError : what the kind needs is not there.
    """

    kind: AdviceKind
    half_width_95: float | None = None
    passes: int | None = None
    pass_length_m: float | None = None

    def __post_init__(self) -> None:
        _refuse_incomplete(self, _NEEDED_OF_ADVICE.get(self.kind, ()))


def _refuse_incomplete(one: Finding | Advice, needed: tuple[str, ...]) -> None:
    for name in needed:
        if getattr(one, name) in (None, ()):
            raise ValueError(f"{one.kind.value}: {name} is not known")
