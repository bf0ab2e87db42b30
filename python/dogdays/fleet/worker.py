"""What a worker does: the seasons of one partition, to a part on disk. It may be done twice; the rows are the same.

Workers see the plan's folder and that of the results under the same paths as the one who planned. That what they see is
what was planned is checked by content.
"""

from __future__ import annotations

import functools
import json
import platform
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import dogdays

from . import parts
from .cases import Case
from .failures import FleetError
from .identity import Contents

#: Weather files in a worker's memory; a partition has few.
_KEPT_WEATHERS = 16
_set_threads = threading.Lock()


@dataclass(frozen=True)
class Work:
    """A partition as it is sent to a worker."""

    identity: str
    cases: tuple[tuple[str, Case], ...]
    #: The plan's folder, that of models, and that of parts.
    folder: Path
    models: Path | None
    parts: Path
    #: How weather files are read: keywords of `Weather.read`.
    reading: tuple[tuple[str, Any], ...]
    #: Hashes of run and weather files by their names, as planned.
    contents: dict[str, str]
    version: str
    #: What the folder of parts is known by; none: there is no other computer that could see another one.
    mark: str | None = None
    #: Compute it even if its part is there.
    anew: bool = False


class _Cannot(Exception):
    """Why a case can't be computed, for its row."""


def compute(work: Work) -> parts.Receipt:
    """Computes a partition unless it is there, and writes its part.

    Raises `FleetError` if this is another version of the package, `OSError` if the part can't be written.
    """
    if work.version != dogdays.__version__:
        raise FleetError(
            f"a worker has dogdays {dogdays.__version__}, and the plan was made with {work.version}: "
            "install the same version everywhere"
        )
    if work.mark is not None and not parts.has_mark(work.parts, work.mark):
        raise FleetError(
            f"a worker on {platform.node()} does not see the results in {work.parts}: all computers of a fleet see the "
            "same folders under the same paths"
        )
    found = None if work.anew else parts.read(parts.path_of(work.parts, work.identity), work.identity, len(work.cases))
    if found is not None:
        return found
    _one_thread_a_task()
    files = Files(work)
    return parts.write(work.parts, work.identity, [row(name, case, files) for name, case in work.cases])


def write_failed(work: Work, message: str) -> parts.Receipt:
    """Writes the part of a partition that could not be computed: every row says why."""
    rows = [{**_inputs(name, case), **_failed(message, 0.0)} for name, case in work.cases]
    return parts.write(work.parts, work.identity, rows)


def row(name: str, case: Case, files: Files) -> dict[str, Any]:
    """Computes one season; whatever goes wrong stands in the row."""
    begun = time.perf_counter()
    try:
        found = _season(case, files)
        message = None
    except (_Cannot, dogdays.DogdaysError) as e:
        message = str(e)
    except Exception as e:
        message = f"a fault of the program: {type(e).__name__}: {e}"
    except BaseException as e:
        # A panic of the native part, which is no `Exception`; anything else ends the worker.
        if type(e).__name__ != "PanicException":
            raise
        message = f"a fault of the program: {e}"
    seconds = time.perf_counter() - begun
    if message is not None:
        return {**_inputs(name, case), **_failed(message, seconds)}
    return {**_inputs(name, case), **found, "status": "computed", "message": None, "seconds": seconds}


def _inputs(name: str, case: Case) -> dict[str, Any]:
    return {
        "identity": name,
        "site": case.site,
        "machine": case.machine,
        "material": case.material,
        "arrangement": case.arrangement,
        "year": case.year,
        "variant": case.variant,
        "run": case.run,
        "weather": case.weather,
        "starts_every": case.starts,
        "settings": json.dumps(case.settings, sort_keys=True, default=str),
    }


def _failed(message: str, seconds: float) -> dict[str, Any]:
    return {"status": "failed", "message": message, "seconds": seconds}


def _season(case: Case, files: Files) -> dict[str, Any]:
    if case.problem is not None:
        raise _Cannot(case.problem)
    weather = None if case.weather is None else files.weather(case.weather, case.time_zone)
    run = files.run(case.run)
    if case.settings:
        run = run.with_settings(case.settings)
    # The JSON and no dataclasses: of thousands of starts only sums are wanted.
    every_s = dogdays._native.time_s("starts", case.starts)
    native = None if weather is None else weather._native
    found = json.loads(run._native.season(native, every_s, None, case.least_flow, False, None))
    starts, holds = found["starts"], found["holds"]
    worst = found["arrangements"][0]["worst"] or {}
    return {
        "starts": starts,
        "holds": holds,
        "tight": found["tight"],
        "softens": found["softens"],
        "cannot_run": found["cannot_run"],
        "safe_share": holds / starts,
        "worst_margin_K": worst.get("margin_K"),
        "worst_start": worst.get("start"),
        "worst_peak_at": worst.get("peak_at"),
        "worst_peak_degC": worst.get("peak_degC"),
        "forced_cooling_needed": holds < starts,
        "least_flow_m3_per_h": (found["least_flow"] or {}).get("least_flow_m3_per_h"),
    }


class Files:
    """Run and weather files of a partition, each read once, and checked to be those that were planned with."""

    def __init__(self, work: Work) -> None:
        self._work = work
        self._contents = Contents(work.folder, work.models)
        self._runs: dict[str, dogdays.Run] = {}

    def run(self, name: str) -> dogdays.Run:
        if name not in self._runs:
            path = self._work.folder / name
            self._check(name, self._contents.run(name), "or a file that it names, or the models,")
            self._runs[name] = dogdays.Run.from_file(path, models=self._work.models)
        return self._runs[name]

    def weather(self, name: str, time_zone: str | None) -> dogdays.Weather:
        path = self._work.folder / name
        sha256 = self._contents.file(name)
        self._check(name, sha256, "")
        if path.is_dir():
            raise _Cannot(f"{name} is a folder: a case has one weather file")
        reading = dict(self._work.reading)
        if time_zone is not None:
            reading["time_zone"] = time_zone
        weather = _weather(path, sha256, tuple(sorted(reading.items())))
        if len(weather.names) != 1:
            raise _Cannot(f"{name} holds {len(weather.names)} series: a case has one")
        return weather

    def _check(self, name: str, sha256: str, more: str) -> None:
        if sha256 != self._work.contents[name]:
            raise _Cannot(
                f"{name} {more} is not the file that was planned with: its content differs. All computers of a fleet see "
                "the same files under the same paths, and nobody changes them meanwhile; then plan again".replace("  ", " ")
            )


@functools.lru_cache(maxsize=_KEPT_WEATHERS)
def _weather(path: Path, sha256: str, reading: tuple[tuple[str, Any], ...]) -> dogdays.Weather:
    return dogdays.Weather.read(path, **dict(reading))


def _one_thread_a_task() -> None:
    """Tasks of a worker run side by side already, so the native part takes as many threads as the worker has and no more."""
    try:
        from distributed import get_worker

        threads = int(get_worker().state.nthreads)
    except (ImportError, ValueError):
        # No worker: this process computes by itself, with all cores.
        return
    with _set_threads:
        try:
            dogdays.set_threads(threads)
        except dogdays.DogdaysError:
            # Set before.
            return


#: What a task is: handed to the engine, so that its own work can be measured with another one.
Task = Callable[[Work], parts.Receipt]
