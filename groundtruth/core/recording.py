"""What a run tells of its phone, and how the errors of its passes hang together."""

from __future__ import annotations

from dataclasses import dataclass

from .run import ReceiverKind

MOST_CORRELATED = 300
"""Passes up to which correlations are kept: their number goes by the square."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Recording:
    """How well the phone or receiver recorded the passes.

    ``fixes`` are those on the measured passes and their stands, ``fixes_set_aside`` those of them
    that jumped and were left out. ``doppler`` says whether its own speeds were used, ``noise`` the
    estimated parameters of its error and of the driving by name, each with its unit (`estimator`).
    """

    receiver: ReceiverKind
    doppler: bool
    fixes: int
    fixes_set_aside: int
    noise: tuple[tuple[str, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DistanceErrors:
    """The errors of the distances as they were pooled, all passes in the order of ``passes``.

    ``std_m`` (k,) are the standard uncertainties; ``correlations`` the k(k−1)/2 coefficients below
    the diagonal, row by row, None above 300 passes.

    Raises
    ------
    ValueError : numbers do not fit, an uncertainty is below 0, a coefficient not within ± 1.
    """

    passes: tuple[int, ...]
    std_m: tuple[float, ...]
    correlations: tuple[float, ...] | None

    def __post_init__(self) -> None:
        count = len(self.passes)
        if len(self.std_m) != count or min(self.std_m, default=0.0) < 0:
            raise ValueError(f"{count} passes need as many uncertainties of 0 or more")
        if self.correlations is None:
            return
        if len(self.correlations) != count * (count - 1) // 2:
            raise ValueError(
                f"{count} passes need {count * (count - 1) // 2} correlations, "
                f"not {len(self.correlations)}"
            )
        if not all(-1 <= one <= 1 for one in self.correlations):
            raise ValueError("correlations must lie within -1 and 1")
