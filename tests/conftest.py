"""Fixtures that several test modules share, and what holds for the whole suite."""

import os
import tempfile
from pathlib import Path

# Small matrices only: several threads a core make them tens of times slower where cores are shared.
# Must be set before numpy is first imported.
for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(name, "1")

# Where the details of faults nobody planned go, from the processes that tests start too.
DETAILS = Path(tempfile.gettempdir())
if not DETAILS.name.startswith("groundtruth-tests"):  # a worker inherits it
    DETAILS /= f"groundtruth-tests-{getattr(os, 'getuid', int)()}"
DETAILS.mkdir(exist_ok=True)
os.environ["TMPDIR"] = tempfile.tempdir = str(DETAILS)

import pytest  # noqa: E402
from browser import browser  # noqa: E402  numpy comes with it
from database_server import server  # noqa: E402
from hypothesis import settings  # noqa: E402

from groundtruth.cli.last_net import BEGINNING  # noqa: E402

settings.register_profile("unhurried", deadline=None)  # no test fails by time: machines are shared
settings.load_profile("unhurried")

__all__ = ["browser", "server"]


@pytest.fixture(autouse=True)
def no_fault_is_caught_by_the_last_net_alone():
    """A test that reaches the net which turns unplanned faults into a line fails, whatever else it
    asserts; one that tests the net takes the details away."""
    yield
    for details in DETAILS.glob(f"{BEGINNING}*"):
        text = details.read_text(encoding="utf-8")
        details.unlink()
        pytest.fail(f"the last net was reached, perhaps by a test beside this one:\n{text}")
