"""Which runs go to the workers when: several a task, and those suspected of killing one alone."""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import count

from .. import __version__
from ..core.errors import InputError
from .cluster import Ended, Pool
from .find_runs import RunPlace
from .inputs import RunInputs, UnreadRun, inputs_of
from .outcomes import ENDED, REFUSED, Outcome, not_measured
from .work import measure_chunk

Placed = tuple[RunPlace, RunInputs]
Results = list[tuple[RunPlace, Outcome]]
MOST_OF_A_TASK = 32
TASK_S = 10.0
"""About so long a task should take: the way to a worker and back, some 10 ms, is nothing beside it,
and no more is lost where something dies."""
MOST_BYTES_OF_A_TASK = 8 << 20
_TASKS_A_WORKER = 8
"""At least so many tasks, so that no worker is idle for long at the end."""
DEATHS_ALONE = 2
"""So often workers have to die of a run alone until it is given up: once may be chance."""
_NO_WORKER_S = 300.0


@dataclass(frozen=True, slots=True)
class _Task:
    """Runs that were sent together, by place and key; of a suspect alone how often it killed."""

    runs: tuple[tuple[RunPlace, str], ...]
    deaths: int
    sent_s: float


class Dispatch:
    """Sends runs to workers, at most one task to each at a time, so that none waits behind another
    that kills it, and gathers what comes of them."""

    def __init__(
        self,
        pool: Pool,
        runs: Iterator[Placed],
        *,
        left: Callable[[], int],
        time_limit_s: float,
    ) -> None:
        """``left`` tells about how many ``runs`` are to come."""
        self._pool, self._runs, self._left = pool, runs, left
        self._time_limit_s = time_limit_s
        self._tasks: dict[str, _Task] = {}
        self._names = (f"measure-{time.time_ns()}-{number}" for number in count())
        self._once_more: deque[RunPlace] = deque()
        self._suspects: deque[tuple[RunPlace, int]] = deque()
        self._unread: Results = []
        self._run_s = TASK_S
        self.size = 0

    def results(self) -> Iterator[Results]:
        """What came of runs as it comes; an empty list about every second in which nothing came.

        Raises
        ------
        InputError : the scheduler is gone, or all workers are.
        """
        alone_since = None
        while True:
            self.size = self._pool.size()
            while len(self._tasks) < self.size and self._send():
                pass
            if self._unread:
                yield self._unread
                self._unread = []
            if self.size:
                alone_since = None
            else:
                alone_since = alone_since or time.monotonic()
                if time.monotonic() - alone_since > _NO_WORKER_S:
                    raise InputError(
                        "no worker has been there for some minutes; what was measured is kept. "
                        "Start workers and the same command again: it goes on"
                    )
            if self.size and not self._tasks:
                return
            ended = self._pool.next_ended()
            yield [] if ended is None else self._taken(ended)

    def _send(self) -> bool:
        """Send the next runs, if there are any."""
        chunk, deaths = self._chunk(), 0
        if not chunk and self._suspects:
            place, deaths = self._suspects.popleft()
            chunk = self._read_again(place)
        if not chunk:
            return bool(self._suspects or self._once_more)
        name = next(self._names)
        runs = tuple((place, inputs.key) for place, inputs in chunk)
        self._tasks[name] = _Task(runs, deaths, time.monotonic())
        self._pool.submit(
            name,
            measure_chunk,
            [inputs for _, inputs in chunk],
            time_limit_s=self._time_limit_s,
            version=__version__,
        )
        return True

    def _chunk(self) -> list[Placed]:
        """Runs for one task: many while many are left, fewer towards the end, one to begin with."""
        in_time = int(TASK_S / max(self._run_s, 1e-3))
        most = min(self._left() // (_TASKS_A_WORKER * self.size), in_time, MOST_OF_A_TASK)
        chunk: list[Placed] = []
        room = MOST_BYTES_OF_A_TASK
        while len(chunk) < max(1, most) and room > 0:
            if self._once_more:
                taken = self._read_again(self._once_more.popleft())
            else:
                taken = [one] if (one := next(self._runs, None)) else []
                if not taken:
                    break
            chunk += taken
            room -= sum(inputs.run.size for _, inputs in taken)
        return chunk

    def _read_again(self, place: RunPlace) -> list[Placed]:
        """A run that was sent before, read anew instead of being kept in memory."""
        inputs = inputs_of(place)
        if isinstance(inputs, UnreadRun):
            outcome = not_measured(inputs.key, inputs.source, REFUSED, inputs.message)
            self._unread.append((place, outcome))
            return []
        return [(place, inputs)]

    def _taken(self, ended: Ended) -> Results:
        task = self._tasks.pop(ended.task)
        if ended.result is not None:
            self._run_s = (time.monotonic() - task.sent_s) / len(task.runs)
            places = (place for place, _ in task.runs)
            return list(zip(places, ended.result, strict=True))
        late = {key for _, key in task.runs} & ended.over_time
        given_up: Results = []
        for place, key in task.runs:
            deaths = task.deaths + 1
            if key in late:
                given_up.append((place, self._ended(place, key, self._too_long())))
            elif late:
                self._once_more.append(place)
            elif len(task.runs) > 1:
                self._suspects.append((place, 0))
            elif deaths < DEATHS_ALONE:
                self._suspects.append((place, deaths))
            else:
                why = _TOO_LARGE if ended.over_memory else _DIED.format(deaths)
                given_up.append((place, self._ended(place, key, why)))
        return given_up

    def _ended(self, place: RunPlace, key: str, why: str) -> Outcome:
        return not_measured(key, place.source, ENDED, why)

    def _too_long(self) -> str:
        return (
            f"took longer than {self._time_limit_s:g} s; look at its track, or allow more with "
            "--time-limit"
        )


_TOO_LARGE = "took more memory than a worker has; look at its track, or allow more with --memory"
_DIED = (
    "the process that measured it died {} times; groundtruth measure, on this run alone, may show "
    "why"
)
