"""Measure every run that is not in the data set yet, and put it there."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from itertools import chain
from pathlib import Path

from ..core.errors import InputError
from ..core.opened import inputs_remembered
from .cluster import Workers, opened_pool
from .dispatch import Dispatch, Placed, Results
from .find_runs import RunPlace, find_runs
from .inputs import UnreadRun, inputs_of
from .journal import FleetJournal, opened_journal
from .outcomes import ENDED, FAILED, REFUSED, not_measured
from .parts import RUNS_OF_A_PART, begun_folder, put_waiting, recovered
from .progress import Progress

TIME_LIMIT_S = 600.0
_BATCH = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class ManyRequest:
    """Runs below a folder or in a list, and the folder of the data set that they go into.

    ``again`` measures those once more whose process died, or that failed by a fault of ours.
    """

    runs: Path
    out: Path
    workers: Workers = field(default_factory=Workers)
    time_limit_s: float = TIME_LIMIT_S
    again: bool = False

    def __post_init__(self) -> None:
        if not 0 < self.time_limit_s <= 86_400:
            raise InputError("--time-limit: must be above 0 and at most a day (86400 s)")


@dataclass(frozen=True, slots=True, kw_only=True)
class ManySummary:
    """What a call did, and how many runs of each status the data set holds now.

    ``lost`` runs had been done, but their files were gone or changed.
    """

    progress: Progress
    held: dict[str, int]
    lost: int


def measure_many(
    request: ManyRequest, report: Callable[[Progress], None] = lambda progress: None
) -> ManySummary:
    """Every run has its rows in the data set once, measured or with the reason why not.

    A call that was killed is gone on with by the next. ``report`` is called about every second.

    Raises
    ------
    InputError : there are no runs; the folder is not ours; Dask is missing; no scheduler or
        worker answers.
    """
    needed_packages()
    places = find_runs(request.runs)
    begun_folder(request.out)
    with opened_journal(request.out) as journal:
        lost = recovered(request.out, journal)
        call = _Call(request, journal, Progress(found=len(places)), report)
        try:
            call.measure(iter(places))
        finally:
            call.put()
        return ManySummary(progress=call.progress, held=journal.counts(), lost=lost)


def needed_packages() -> None:
    """Refuse where the packages of the extra "many" are missing.

    Raises
    ------
    InputError : one is.
    """
    from importlib.util import find_spec

    for name in ("distributed", "pyarrow"):
        if find_spec(name) is None:
            raise InputError(
                f"measuring many runs needs the package {name}; install it with "
                'pip install "groundtruth[many]"'
            )


class _Call:
    """One call on an open journal."""

    def __init__(
        self,
        request: ManyRequest,
        journal: FleetJournal,
        progress: Progress,
        report: Callable[[Progress], None],
    ) -> None:
        self.progress = progress
        self._request, self._journal, self._report = request, journal, report
        self._again = journal.ended_as((ENDED, FAILED)) if request.again else set()
        self._sent: set[str] = set()
        self._moved: list[tuple[str, str]] = []
        self._unread: Results = []

    def measure(self, places: Iterator[RunPlace]) -> None:
        """Send to workers what is to be measured; without such no worker is started."""
        to_do = self._to_do(places)
        first = next(to_do, None)
        if first is None:
            return
        with opened_pool(self._request.workers) as pool:
            self.progress.began_s = time.monotonic()
            dispatch = Dispatch(
                pool,
                chain([first], to_do),
                left=lambda: self.progress.left,
                time_limit_s=self._request.time_limit_s,
            )
            for results in dispatch.results():
                self.progress.workers = dispatch.size
                self._keep(results)
                self._report(self.progress)

    def put(self) -> None:
        """Keep what is at hand and put all that waits into files."""
        self._keep([])
        self._note_moved()
        self._journal.drop_unplaced()
        if self._journal.waiting() or self._journal.replaced():
            put_waiting(self._request.out, self._journal)

    def _to_do(self, places: Iterator[RunPlace]) -> Iterator[Placed]:
        """The runs that are not in the data set; of copies the first."""
        for place in places:
            with inputs_remembered():  # of its own: nothing is written where an input may lie
                inputs = inputs_of(place)
            done = self._journal.has(inputs.key) and inputs.key not in self._again
            if done or inputs.key in self._sent:
                self.progress.skipped += 1
                if not self._journal.is_at(place.place, inputs.key):
                    self._moved.append((place.place, inputs.key))
            elif isinstance(inputs, UnreadRun):
                outcome = not_measured(inputs.key, inputs.source, REFUSED, inputs.message)
                self._unread.append((place, outcome))
                self._sent.add(inputs.key)
            else:
                self._sent.add(inputs.key)
                yield place, inputs
            if len(self._unread) >= _BATCH:
                self._keep([])
            if len(self._moved) >= _BATCH:
                self._note_moved()

    def _note_moved(self) -> None:
        if self._moved:
            self._journal.found(self._moved)
            self._moved = []

    def _keep(self, results: Results) -> None:
        results = [*self._unread, *results]
        self._unread = []
        if results:
            self._journal.keep([(place.place, outcome) for place, outcome in results])
        for _, outcome in results:
            done = self.progress.done
            done[outcome.status] = done.get(outcome.status, 0) + 1
            self._sent.discard(outcome.key)
            self._again.discard(outcome.key)
        if self._journal.waiting() >= RUNS_OF_A_PART:
            put_waiting(self._request.out, self._journal)
