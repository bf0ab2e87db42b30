"""What a season costs: as the plan says, or measured once on a few cases and kept beside the results.

It is kept because the same plan must fall into the same partitions when it is taken up again. An estimate decides how
large partitions are and what is told about time; no result depends on it.
"""

from __future__ import annotations

import json
import math
import time
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import dogdays

from . import parts
from .cases import Case
from .identity import Contents
from .plan import Plan
from .worker import Files, Work, row

#: Kinds of cases that are measured; others cost the mean of these.
MEASURED_KINDS = 6
#: Where nothing could be measured, s.
_GUESS_S = 1.0
#: Partitions, s, and in how many a plan falls at least unless they would be too short to be worth a file.
USUAL_S = 60.0
SHORTEST_S = 1.0
FEWEST = 64
_FILE = "costs.json"


@dataclass(frozen=True)
class Survey:
    """All cases of a plan, counted in one pass."""

    seasons: int
    weathers: int
    #: By kind, how many cases there are and how long their weather is in all, bytes.
    sizes: dict[str, tuple[int, int]]
    #: Cases to measure: the first of each kind.
    samples: dict[str, Case]

    @classmethod
    def of(cls, cases: Iterable[Case], contents: Contents) -> Survey:
        """Goes through all cases and keeps a few."""
        seasons = 0
        weathers: set[str | None] = set()
        sizes: dict[str, tuple[int, int]] = {}
        samples: dict[str, Case] = {}
        for case in cases:
            seasons += 1
            weathers.add(case.weather)
            kind = kind_of(case)
            count, size = sizes.get(kind, (0, 0))
            sizes[kind] = count + 1, size + _size(case, contents)
            if len(samples) < MEASURED_KINDS and case.problem is None:
                samples.setdefault(kind, case)
        return cls(seasons, len(weathers - {None}), sizes, samples)


def kind_of(case: Case) -> str:
    """Cases of one kind take about as long: it is the run's length, the starts and what blows that matter."""
    return "; ".join((case.run, case.arrangement, case.starts, "least flow" if case.least_flow else ""))


class Costs:
    """Seconds of one core that a case takes, about."""

    def __init__(self, plan: Plan, per_byte_s: dict[str, float], contents: Contents) -> None:
        self._plan = plan
        self._per_byte_s = per_byte_s
        self._contents = contents
        known = list(per_byte_s.values())
        self._other = sum(known) / len(known) if known else 0.0

    def cost_s(self, case: Case) -> float:
        """What this case takes, s of one core."""
        if self._plan.case_cost_s is not None:
            return self._plan.case_cost_s
        return self._of(kind_of(case), _size(case, self._contents))

    def all_s(self, survey: Survey) -> float:
        """What all cases take, s of one core."""
        if self._plan.case_cost_s is not None:
            return self._plan.case_cost_s * survey.seasons
        # In a fixed order: partitions hang on the last digit.
        return math.fsum(count * self._of(kind, size / count) for kind, (count, size) in sorted(survey.sizes.items()))

    def partition_s(self, survey: Survey) -> float:
        """What one partition should take, s: what the plan says, or so much that even a small plan has enough of them."""
        return self._plan.partition_s or min(max(self.all_s(survey) / FEWEST, SHORTEST_S), USUAL_S)

    def _of(self, kind: str, size: float) -> float:
        return self._per_byte_s.get(kind, self._other) * size or _GUESS_S


def _size(case: Case, contents: Contents) -> int:
    """How long the weather is: there are as many starts as it has room for."""
    return 1 if case.weather is None else contents.size(case.weather)


def measured(plan: Plan, survey: Survey, results: Path, contents: Contents, *, keep: bool) -> Costs:
    """Costs from the folder of results, or from a season of each kind, computed here and now; then kept if wanted."""
    if plan.case_cost_s is not None:
        return Costs(plan, {}, contents)
    known = _read(results / _FILE)
    if known is None:
        known = {}
        for kind, case in survey.samples.items():
            work = work_of(plan, (("", case),), "", results, contents)
            # Of all threads, or many cores would look like a fast one.
            begun = time.process_time()
            found = row("", case, Files(work))
            if found["status"] == "computed":
                known[kind] = (time.process_time() - begun) / max(_size(case, contents), 1)
        if keep and known:
            about = {"version": dogdays.__version__, "seconds_per_byte_of_weather": known}
            parts.write_text(results / _FILE, json.dumps(about, indent=1, sort_keys=True) + "\n")
    return Costs(plan, known, contents)


def _read(path: Path) -> dict[str, float] | None:
    try:
        about = json.loads(path.read_text(encoding="utf-8"))
        if about["version"] != dogdays.__version__:
            return None
        return {str(kind): float(cost) for kind, cost in about["seconds_per_byte_of_weather"].items()}
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return None


def work_of(
    plan: Plan,
    cases: tuple[tuple[str, Case], ...],
    identity: str,
    results: Path,
    contents: Contents,
    *,
    mark: str | None = None,
    anew: bool = False,
) -> Work:
    """What a worker needs to know of a partition."""
    hashes = {case.run: contents.run(case.run) for _, case in cases if case.run}
    hashes |= {case.weather: contents.file(case.weather) for _, case in cases if case.weather}
    return Work(
        identity=identity,
        cases=cases,
        folder=plan.folder,
        models=plan.models,
        parts=results / "parts",
        reading=tuple(sorted(plan.reading.items())),
        contents=hashes,
        version=dogdays.__version__,
        mark=mark,
        anew=anew,
    )
