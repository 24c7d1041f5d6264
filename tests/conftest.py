"""Fixtures that several test modules share, and what holds for the whole suite."""

import os

# Small matrices only: several threads a core make them tens of times slower where cores are shared.
# Must be set before numpy is first imported.
for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(name, "1")

from browser import browser  # noqa: E402  numpy comes with it
from hypothesis import settings  # noqa: E402

settings.register_profile("unhurried", deadline=None)  # no test fails by time: machines are shared
settings.load_profile("unhurried")

__all__ = ["browser"]
