"""Which runs go together, which alone, and when one is given up: on workers that die on purpose."""

from __future__ import annotations

from collections import Counter, deque

import pytest

from groundtruth.core.errors import InputError
from groundtruth.io.run_bytes import RunBytes
from groundtruth.many import dispatch as module
from groundtruth.many.cluster import Ended
from groundtruth.many.dispatch import Dispatch
from groundtruth.many.find_runs import RunPlace
from groundtruth.many.inputs import RunInputs, UnreadRun
from groundtruth.many.outcomes import REFUSED, not_measured


@pytest.fixture(autouse=True)
def still(monkeypatch):
    """A clock that stands, so that the sizes of tasks do not hang on the machine's load."""
    monkeypatch.setattr(module.time, "monotonic", lambda: 0.0)


class Workers:
    """A pool whose workers die of some runs; a task is over when it is asked for."""

    def __init__(self, number=2, deadly=(), slow=(), large=()):
        self.number, self.deadly, self.slow, self.large = number, set(deadly), set(slow), set(large)
        self.tasks: deque = deque()
        self.sizes: list[int] = []
        self.deaths = Counter()
        self.over_time: set[str] = set()

    def size(self):
        return self.number

    def submit(self, task, function, runs, *, time_limit_s, version):
        assert len(self.tasks) < self.number, "a run waits behind another that may kill its worker"
        self.sizes.append(len(runs))
        self.tasks.append((task, [one.key for one in runs]))

    def next_ended(self):
        if not self.tasks:
            return None
        task, keys = self.tasks.popleft()
        for key in keys:
            if key in self.deadly | self.slow | self.large:
                self.deaths[key] += 1
                if key in self.slow:
                    self.over_time.add(key)
                return Ended(
                    task=task,
                    over_time=frozenset(self.over_time),
                    over_memory=key in self.large,
                )
        return Ended(
            task=task, result=[not_measured(key, key, REFUSED, "as measured") for key in keys]
        )


def inputs(name, size=1):
    source = type("S", (), {"data": b"x" * size})
    return RunInputs(key=name, source=name, run=RunBytes(description=source, files=(), name=name))


def dispatched(pool, names, monkeypatch, unread=(), size=1):
    """All outcomes by key, each of which may come once."""

    def read_again(place):
        if place.source in unread:
            return UnreadRun(key=place.source, source=place.source, message="gone meanwhile")
        return inputs(place.source, size)

    monkeypatch.setattr(module, "inputs_of", read_again)
    found = {}
    runs = ((RunPlace(name, name, "."), inputs(name, size)) for name in names)
    asked = Dispatch(pool, runs, left=lambda: len(names) - len(found), time_limit_s=5.0)
    for results in asked.results():
        for place, outcome in results:
            assert outcome.key == place.source not in found
            found[outcome.key] = outcome
    return found


NAMES = [f"run-{n:03d}" for n in range(200)]


def test_many_runs_go_together_while_many_are_left(monkeypatch):
    pool = Workers()
    assert set(dispatched(pool, NAMES, monkeypatch)) == set(NAMES)
    assert pool.sizes[:2] == [1, 1]  # to see how long one takes
    assert pool.sizes[2] == (len(NAMES) - 1) // 16
    assert pool.sizes[-1] == 1
    assert pool.sizes[2:] == sorted(pool.sizes[2:], reverse=True)


def test_a_task_of_slow_runs_has_fewer_of_them(monkeypatch):
    class Slow(Workers):
        def next_ended(self):
            clock.now += 3.0 * (len(self.tasks[0][1]) if self.tasks else 0)
            return super().next_ended()

    clock = type("Clock", (), {"now": 0.0})
    monkeypatch.setattr(module.time, "monotonic", lambda: clock.now)
    pool = Slow(number=1)
    assert set(dispatched(pool, NAMES, monkeypatch)) == set(NAMES)
    assert max(pool.sizes) == module.TASK_S // 3.0


def test_a_task_has_at_most_so_many_runs(monkeypatch):
    pool = Workers()
    dispatched(pool, [f"{n}" for n in range(3000)], monkeypatch)
    assert max(pool.sizes) == module.MOST_OF_A_TASK


def test_a_task_has_at_most_so_many_bytes(monkeypatch):
    pool = Workers()
    dispatched(pool, NAMES, monkeypatch, size=3 << 20)
    assert max(pool.sizes) == 3


def test_innocent_runs_are_measured_though_their_worker_died(monkeypatch):
    pool = Workers(deadly=["run-005", "run-100"])
    found = dispatched(pool, NAMES, monkeypatch)
    assert set(found) == set(NAMES)
    assert {k: o.message for k, o in found.items() if o.status == "ended"} == dict.fromkeys(
        ["run-005", "run-100"],
        "the process that measured it died 2 times; groundtruth measure, on this run alone, may "
        "show why",
    )
    assert pool.deaths == {"run-005": 3, "run-100": 3}  # once among others, twice alone


def test_a_run_that_takes_too_long_is_given_up_at_once_and_its_neighbours_go_on_together(
    monkeypatch,
):
    pool = Workers(slow=["run-005"])
    found = dispatched(pool, NAMES, monkeypatch)
    assert set(found) == set(NAMES)
    (late,) = (o for o in found.values() if o.status == "ended")
    assert late.message.startswith("took longer than 5 s; look at its track, or allow more with")
    assert pool.deaths == {"run-005": 1}
    assert 12 in pool.sizes[1:]


def test_a_run_that_takes_too_much_memory_is_said_so(monkeypatch):
    found = dispatched(Workers(large=["run-005"]), NAMES, monkeypatch)
    (late,) = (o for o in found.values() if o.status == "ended")
    assert late.key == "run-005"
    assert late.message.startswith("took more memory than a worker has; look at its track, or")


def test_a_worker_that_dies_by_chance_costs_no_run(monkeypatch):
    class Unlucky(Workers):
        def next_ended(self):
            ended = super().next_ended()
            if ended and ended.result and len(self.sizes) % 7 == 3:
                return Ended(task=ended.task)
            return ended

    found = dispatched(Unlucky(), NAMES, monkeypatch)
    assert set(found) == set(NAMES)
    assert sum(o.status == "ended" for o in found.values()) <= 2


def test_a_suspect_whose_files_are_gone_meanwhile_is_refused(monkeypatch):
    found = dispatched(Workers(deadly=["run-005"]), NAMES, monkeypatch, unread=["run-005"])
    assert found["run-005"].status == "refused"
    assert found["run-005"].message == "gone meanwhile"
    assert set(found) == set(NAMES)


def test_without_any_worker_for_minutes_the_call_ends(monkeypatch):
    clock = iter(range(0, 10_000, 100))
    monkeypatch.setattr(module.time, "monotonic", lambda: next(clock))
    with pytest.raises(InputError, match="no worker has been there for some minutes; what was"):
        dispatched(Workers(number=0), NAMES, monkeypatch)


def test_workers_that_come_later_are_used(monkeypatch):
    class Late(Workers):
        def size(self):
            self.asked = getattr(self, "asked", 0) + 1
            self.number = min(3, max(0, self.asked - 3))
            return self.number

    pool = Late(number=0)
    assert set(dispatched(pool, NAMES[:5], monkeypatch)) == set(NAMES[:5])
