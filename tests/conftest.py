"""Fixtures that several test modules share."""

import os

# Small matrices only: several threads a core make them tens of times slower where cores are shared.
# Must be set before numpy is first imported.
for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(name, "1")

from browser import browser  # noqa: E402  numpy comes with it

__all__ = ["browser"]
