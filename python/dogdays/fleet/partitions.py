"""From cases to partitions: what one task computes and writes as one file.

A partition holds about as much work as the plan asks for. Cases of the same weather file go together, so that a worker
reads it once. The same plan with the same costs makes the same partitions, or nothing could be taken up again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from typing import NamedTuple

from .cases import Case
from .identity import Contents, partition
from .plan import Plan

#: Cases that wait for others of their weather file; more would not be flat in memory.
MOST_WAITING = 100_000
#: Cases in one partition, however cheap they are: a part should stay a small file.
MOST_CASES = 10_000


class Partition(NamedTuple):
    """Cases that are computed together, by identity, and what they cost, s of one core."""

    identity: str
    cases: tuple[tuple[str, Case], ...]
    cost_s: float


@dataclass
class _Group:
    cases: list[tuple[str, Case]] = field(default_factory=list)
    cost_s: float = 0.0

    def add(self, other: _Group) -> None:
        self.cases += other.cases
        self.cost_s += other.cost_s

    def made(self) -> Partition:
        self.cases.sort(key=lambda each: each[0])
        return Partition(partition(each for each, _ in self.cases), tuple(self.cases), self.cost_s)


def partitions(
    plan: Plan,
    cases: Iterable[Case],
    cost_s: Callable[[Case], float],
    each_s: float,
    contents: Contents,
) -> Iterator[Partition]:
    """The partitions of these cases, of about `each_s` seconds, one after the other, with no more than `MOST_WAITING`
    cases in memory."""
    groups: dict[str | None, _Group] = {}
    waiting = 0

    def is_full(group: _Group) -> bool:
        return group.cost_s >= each_s or len(group.cases) >= MOST_CASES

    for case in cases:
        group = groups.setdefault(case.weather, _Group())
        group.cases.append((case.identity(plan, contents), case))
        group.cost_s += cost_s(case)
        waiting += 1
        if is_full(groups[case.weather]):
            fullest = case.weather
        elif waiting >= MOST_WAITING:
            fullest = max(groups, key=lambda weather: len(groups[weather].cases))
        else:
            continue
        done = groups.pop(fullest)
        waiting -= len(done.cases)
        yield done.made()
    # What is left of several files shares partitions.
    last = _Group()
    for weather in sorted(groups, key=lambda weather: weather or ""):
        last.add(groups[weather])
        if is_full(last):
            yield last.made()
            last = _Group()
    if last.cases:
        yield last.made()
