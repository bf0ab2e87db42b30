"""Hands partitions to Dask and collects receipts. Dask does the scheduling; what is done is known from the parts on disk.

Tasks may run more than once and workers may die: a part is written whole or not at all, and one that is there is not
computed again. Few partitions are under way at a time, so that a plan of any length fits in memory.
"""

from __future__ import annotations

import contextlib
import logging
import os
import tempfile
from collections.abc import Callable, Iterator
from concurrent.futures import CancelledError
from dataclasses import dataclass, field
from typing import Any

from .failures import FleetError
from .parts import Receipt, path_of, read
from .worker import Task, Work, write_failed

#: How long a scheduler may take to answer, s.
CONNECT_S = 10
#: Partitions under way for each thread of the workers: enough that none waits.
_AHEAD = 3
#: After how many receipts it is looked anew how many workers there are.
_LOOK_EVERY = 20
_RETRIES = 2


@dataclass
class Tally:
    """What became of partitions: receipts by identity, those computed now and those that were there."""

    computed: int = 0
    kept: int = 0
    receipts: dict[str, Receipt] = field(default_factory=dict)


#: Told of each receipt, and what the partition was thought to cost, s.
Told = Callable[[Receipt, float, bool], None]


def serially(todo: Iterator[tuple[Work, float]], tally: Tally, told: Told, task: Task) -> None:
    """Computes partitions in this process, one after the other."""
    for work, cost_s in todo:
        if work.identity not in tally.receipts:
            _take(tally, told, task(work), cost_s)


def on_dask(client: Any, todo: Iterator[tuple[Work, float]], tally: Tally, told: Told, task: Task) -> None:
    """Computes partitions on the workers of a Dask client.

    Raises `FleetError` if the scheduler goes away or a part can't be written.
    """
    from distributed import as_completed

    under_way: dict[Any, tuple[Work, float]] = {}
    names: set[str] = set()
    completed = as_completed(loop=client.loop)
    window = _window(client)

    def submit() -> None:
        while len(under_way) < window:
            following = next(todo, None)
            if following is None:
                return
            work, cost_s = following
            if work.identity in names or work.identity in tally.receipts:
                continue
            try:
                future = client.submit(task, work, key=_key(work), pure=False, retries=_RETRIES)
            except Exception as e:
                raise FleetError(f"{_GONE} ({e})") from None
            names.add(work.identity)
            under_way[future] = work, cost_s
            completed.add(future)

    submit()
    for finished, future in enumerate(completed, start=1):
        work, cost_s = under_way.pop(future)
        names.discard(work.identity)
        _take(tally, told, _receipt(future, work), cost_s)
        future.release()
        if finished % _LOOK_EVERY == 0:
            window = _window(client)
        submit()


def _key(work: Work) -> str:
    # The same partition for another folder, by somebody else on this scheduler, is another task.
    return f"season-{work.identity}-{work.mark}"


def _receipt(future: Any, work: Work) -> Receipt:
    from distributed import KilledWorker

    failure: BaseException | None = None
    if future.status == "error":
        failure = future.exception()
    elif future.status != "cancelled":
        # Where the worker that held the receipt died since, this waits until it is made anew.
        try:
            receipt: Receipt = future.result()
            return receipt
        except (KilledWorker, FleetError) as e:
            # The worker that held the receipt died, and so did those that went to make it anew.
            failure = e
        except (OSError, CancelledError):
            raise FleetError(_GONE) from None
    if isinstance(failure, KilledWorker):
        # The part may be there all the same: what was computed is not given up.
        found = None if work.anew else read(path_of(work.parts, work.identity), work.identity, len(work.cases))
        return found or write_failed(
            work,
            "each worker that computed the partition of this season died, so that it was given up: perhaps one of its "
            "seasons takes more memory than there is; --retry-failed tries again",
        )
    if isinstance(failure, FleetError):
        raise failure
    if failure is None:
        raise FleetError(_GONE)
    raise FleetError(f"a worker could not do its work: {type(failure).__name__}: {failure}")


_GONE = "the scheduler went away"


def _take(tally: Tally, told: Told, receipt: Receipt, cost_s: float) -> None:
    tally.computed += 1
    tally.receipts[receipt.identity] = receipt
    told(receipt, cost_s, True)


def _window(client: Any) -> int:
    try:
        threads = int(sum(client.nthreads().values()))
    except Exception as e:
        raise FleetError(f"{_GONE} ({e})") from None
    return max(_AHEAD * threads, 4)


@contextlib.contextmanager
def connected(scheduler: str | None, workers: int | None) -> Iterator[Any]:
    """A Dask client: of the scheduler at that address, or of as many processes here as there are cores, one thread each.

    Raises `FleetError` if there is no scheduler at the address within `CONNECT_S`.
    """
    try:
        import dask
        from distributed import Client, LocalCluster
    except ImportError as e:
        raise FleetError(f'{e}: install the package as "dogdays[fleet]"') from None
    with contextlib.ExitStack() as stack:
        quiet = {"distributed.comm.timeouts.connect": f"{CONNECT_S}s", "distributed.admin.log-format": "%(message)s"}
        stack.enter_context(dask.config.set(quiet))
        stack.enter_context(_silence())
        if scheduler is not None:
            try:
                client = Client(scheduler, timeout=CONNECT_S, set_as_default=False)
            except (OSError, TimeoutError, ValueError) as e:
                raise FleetError(f"no scheduler answers at {scheduler}: {str(e) or type(e).__name__}") from None
        else:
            # Nothing is listened to from outside, and nothing of a dead worker stays.
            scratch = stack.enter_context(tempfile.TemporaryDirectory(prefix="dogdays-fleet-", ignore_cleanup_errors=True))
            cluster = LocalCluster(
                n_workers=workers or cores(),
                threads_per_worker=1,
                processes=True,
                host="127.0.0.1",
                # Its port for health is asked for in any case: any free one, and without pages.
                dashboard_address="127.0.0.1:0",
                scheduler_kwargs={"dashboard": False},
                local_directory=scratch,
                silence_logs=logging.CRITICAL,
                env={"RAYON_NUM_THREADS": "1"},
                preload=["dogdays.fleet.local_worker"],
            )
            stack.callback(_closed, cluster)
            client = Client(cluster, set_as_default=False)
        stack.callback(_closed, client)
        yield client


def cores() -> int:
    """How many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _closed(what: Any) -> None:
    # A scheduler that is not there can't say goodbye.
    with contextlib.suppress(Exception):
        what.close(timeout=5)


@contextlib.contextmanager
def _silence() -> Iterator[None]:
    """Dask's own words about lost connections are said better here."""
    loggers = [logging.getLogger(name) for name in ("distributed", "distributed.client", "distributed.core", "tornado")]
    before = [each.level for each in loggers]
    for each in loggers:
        each.setLevel(logging.CRITICAL + 1)
    try:
        yield
    finally:
        for each, level in zip(loggers, before, strict=True):
            each.setLevel(level)
