"""Times of pandas tables: datetime64[ns, UTC] there, seconds since 1970 here."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from .errors import InputError

if TYPE_CHECKING:
    import pandas as pd

Array = NDArray[np.float64]


def utc_times(time_s: Array) -> pd.DatetimeIndex:
    """Times as pandas keeps them, datetime64[ns, UTC], NaT for NaN; to half a nanosecond.

    >>> utc_times(np.array([1_778_569_200.25]))[0].isoformat()
    '2026-05-12T07:00:00.250000+00:00'
    """
    import pandas as pd

    known = np.isfinite(time_s)
    whole = np.floor(np.where(known, time_s, 0.0))
    # seconds and their fraction apart: a product with 1e9 would round to 256 ns
    nanoseconds = whole.astype(np.int64) * 1_000_000_000
    nanoseconds += np.rint(np.where(known, time_s - whole, 0.0) * 1e9).astype(np.int64)
    times = nanoseconds.astype("datetime64[ns]")
    times[~known] = np.datetime64("NaT")
    return pd.DatetimeIndex(times, tz="UTC")


def seconds_of(times: pd.Series | pd.DatetimeIndex) -> Array:
    """Seconds since 1970-01-01 UTC of pandas times in any unit and zone, NaN for NaT.

    >>> import pandas as pd
    >>> seconds_of(pd.DatetimeIndex(["2026-05-12T09:00:00.25+02:00"])).tolist()
    [1778569200.25]

    Raises
    ------
    InputError : they are no times, or carry no time zone, which is never guessed.
    """
    import pandas as pd

    if not isinstance(times.dtype, pd.DatetimeTZDtype):
        wrong = "carries no time zone" if times.dtype.kind == "M" else "holds no times"
        raise InputError(
            f'{times.name or "time"} {wrong}; say which with .dt.tz_localize("Europe/Oslo"), or '
            "make times of text with pandas.to_datetime(..., utc=True)",
            column=str(times.name or "time"),
        )
    utc = pd.DatetimeIndex(times).tz_convert("UTC").as_unit("ns")
    nanoseconds = utc.asi8
    seconds = nanoseconds // 1_000_000_000 + (nanoseconds % 1_000_000_000) / 1e9
    return np.where(utc.isna(), np.nan, seconds)
