"""Workers of Dask: on this computer, or behind a scheduler that was started beforehand."""

from __future__ import annotations

import contextlib
import logging
import queue
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from ..core.errors import InputError
from .addresses import SchedulerAddress
from .work import OVER_TIME

Client = Any
Future = Any
OVER_MEMORY = "worker-restart-memory"
"""The topic under which a nanny says which worker it ends [distributed, worker_memory]."""
MOST_WORKERS = 1024
LEAST_BYTES = 300_000_000
"""A worker that only waits takes 170 MB."""
_CONNECT_S = 30.0
_FIRST_WORKER_S = 60.0
_STEP_S = 1.0
_MALLOC_TRIM_BYTES = 256 << 20
"""Dask's own 64 KiB gives memory back again and again within a run, only to ask for it anew
[mallopt(3), M_TRIM_THRESHOLD]."""
_SETTINGS = {
    "distributed.deploy.lost-worker-timeout": "10000 hours",  # see `_local`
    "distributed.scheduler.allowed-failures": 0,
    "distributed.scheduler.http.routes": [],
    "distributed.worker.http.routes": [],
    "distributed.worker.memory.target": False,
    "distributed.worker.memory.spill": False,
    "distributed.worker.memory.pause": False,
    "distributed.worker.memory.terminate": 0.95,
    "distributed.worker.profile.enabled": False,
    "distributed.nanny.pre-spawn-environ": {
        "MALLOC_TRIM_THRESHOLD_": _MALLOC_TRIM_BYTES,
        "OMP_NUM_THREADS": 1,
        "MKL_NUM_THREADS": 1,
        "OPENBLAS_NUM_THREADS": 1,
    },
    "distributed.admin.large-graph-warning-threshold": "1 GB",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Workers:
    """Where runs are measured: ``number`` processes here (as many as cores unless said), each with
    at most ``memory_bytes`` (its share of the computer's), or behind a ``scheduler``."""

    number: int | None = None
    memory_bytes: int | None = None
    scheduler: SchedulerAddress | None = None

    def __post_init__(self) -> None:
        if self.number is not None and not 1 <= self.number <= MOST_WORKERS:
            raise InputError(f"--workers {self.number}: must be 1 to {MOST_WORKERS}")
        if self.memory_bytes is not None and not LEAST_BYTES <= self.memory_bytes <= 1e15:
            raise InputError(f"--memory: must be {LEAST_BYTES / 1e9:g} to 1,000,000 GB")


@dataclass(frozen=True, slots=True, kw_only=True)
class Ended:
    """A task that is over: its result, or, where its worker died, None and why as far as known."""

    task: str
    result: Any = None
    over_time: frozenset[str] = frozenset()
    over_memory: bool = False


class Pool:
    """Workers at work. Tasks are called by names of the caller's."""

    def __init__(self, client: Client, address: str) -> None:
        self._client, self._address = client, address
        self._futures: dict[str, Future] = {}
        self._over: queue.SimpleQueue[str] = queue.SimpleQueue()
        self._over_time: set[str] = set()
        self._over_memory: set[str] = set()
        client.subscribe_topic(OVER_TIME, lambda event: self._over_time.add(event[1]))
        client.subscribe_topic(OVER_MEMORY, lambda event: self._over_memory.add(event[1]["worker"]))

    def size(self) -> int:
        """How many runs can be measured at a time.

        Raises
        ------
        InputError : the scheduler does not answer.
        """
        self._check()
        try:
            cores = self._client.sync(self._client.scheduler.ncores, callback_timeout=_CONNECT_S)
        except (OSError, TimeoutError, RuntimeError) as why:
            raise self._lost() from why
        return sum(cores.values())

    def submit(self, task: str, function: Callable[..., Any], *args: Any, **named: Any) -> None:
        """Let a worker call a function."""
        self._wait_for(task, self._client.submit(function, *args, **named, key=task, pure=False))

    def _wait_for(self, task: str, future: Future) -> None:
        self._futures[task] = future
        future.add_done_callback(lambda _: self._over.put(task))

    def next_ended(self) -> Ended | None:
        """The next task that is over; None after a second in which none was.

        Raises
        ------
        InputError : the scheduler is gone, no worker is left, or a worker cannot begin.
        """
        self._check()
        try:
            task = self._over.get(timeout=_STEP_S)
        except queue.Empty:
            return None
        return self._ended(task, self._futures.pop(task))

    def _ended(self, task: str, future: Future) -> Ended | None:
        """What came of a task; None where its worker died before it handed over the result, which
        is then made again."""
        from distributed import KilledWorker

        if future.status == "cancelled":
            raise self._lost()
        if future.status not in ("finished", "error"):
            self._wait_for(task, future)
            return None
        try:
            return Ended(task=task, result=future.result(timeout=_CONNECT_S))
        except KilledWorker as why:
            return Ended(
                task=task,
                over_time=frozenset(self._over_time),
                over_memory=why.last_worker.address in self._over_memory,
            )
        except TimeoutError:
            self.size()  # is the scheduler there?
            self._wait_for(task, future)
            return None
        except OSError as why:
            raise self._lost() from why
        except InputError:
            raise
        except Exception as why:
            self._check()
            raise InputError(
                f"a worker cannot begin ({type(why).__name__}: {why}); install the same "
                "groundtruth[many] on all machines, and start the same command again: it goes on"
            ) from why

    def _check(self) -> None:
        if self._client.status != "running":
            raise self._lost()

    def _lost(self) -> InputError:
        return InputError(
            f"the scheduler at {self._address} does not answer any more; what was measured is "
            "kept. See to the scheduler and start the same command again: it goes on"
        )


@contextmanager
def opened_pool(workers: Workers) -> Iterator[Pool]:
    """Workers that are ready, given back at the end of the block.

    Raises
    ------
    InputError : Dask is not installed, or no scheduler or worker answers.
    """
    import dask
    from distributed import Client as DaskClient

    with contextlib.ExitStack() as stack:
        stack.enter_context(_silent())
        stack.enter_context(dask.config.set(_SETTINGS))
        if workers.scheduler is None:
            client = stack.enter_context(DaskClient(stack.enter_context(_local(workers))))
        else:
            client = stack.enter_context(_connected(workers.scheduler))
        address = client.scheduler.address
        try:
            client.wait_for_workers(1, timeout=_FIRST_WORKER_S)
        except (OSError, TimeoutError) as why:
            raise InputError(
                f"the scheduler at {address} has no worker; start one there and try again "
                "(docs/many.md)"
            ) from why
        yield Pool(client, address)


@contextmanager
def _connected(scheduler: SchedulerAddress) -> Iterator[Client]:
    from distributed import Client as DaskClient
    from distributed import Security

    security = None
    if scheduler.encrypted:
        security = Security(
            tls_ca_file=str(scheduler.tls_ca),
            tls_client_cert=str(scheduler.tls_cert),
            tls_client_key=str(scheduler.tls_key),
            require_encryption=True,
        )
    try:
        client = DaskClient(scheduler.address, security=security, timeout=_CONNECT_S)
    except (OSError, TimeoutError) as why:
        raise InputError(
            f"--scheduler {scheduler.address}: does not answer ({why}); is it started, and do the "
            "certificates fit?"
        ) from why
    with client:
        yield client


def _local(workers: Workers) -> Any:
    """A cluster of processes on this computer that listens to this computer alone.

    Dask gives a worker up for good that died twice some 15 s apart, since it looks so long after
    the first death whether one of that name is there. The setting keeps it from looking.
    """
    from dask.system import CPU_COUNT  # what a container may use, where it says so
    from distributed import LocalCluster

    memory = {} if workers.memory_bytes is None else {"memory_limit": workers.memory_bytes}
    return LocalCluster(
        n_workers=workers.number or CPU_COUNT,
        threads_per_worker=1,
        processes=True,
        host="127.0.0.1",
        dashboard_address="127.0.0.1:0",
        scheduler_kwargs={"dashboard": False},
        silence_logs=logging.CRITICAL,
        **memory,
    )


@contextmanager
def _silent() -> Iterator[None]:
    """Keep Dask's own messages off the terminal: what matters comes back as a result."""
    import distributed  # sets up its logging when first imported

    names = (distributed.__name__, "tornado", "asyncio")
    before = {name: logging.getLogger(name).level for name in names}
    handlers = {h: h.level for h in logging.getLogger(names[0]).handlers}
    try:
        for name in names:
            logging.getLogger(name).setLevel(logging.CRITICAL)
        for handler in handlers:
            handler.setLevel(logging.CRITICAL)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            yield
    finally:
        for name, level in before.items():
            logging.getLogger(name).setLevel(level)
        for handler, level in handlers.items():
            handler.setLevel(level)
