"""What `Run.season` finds. Field names are those of the program's JSON, with their units."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ._base import Result, Verdict, left_out


@dataclass(frozen=True, kw_only=True, repr=False)
class Computed(Result):
    """How the starts were computed."""

    shared: bool
    because: str | None = left_out()
    by_themselves: int | None = left_out()
    every_h: float | None = left_out()
    memory_h: float | None = left_out()


@dataclass(frozen=True, kw_only=True, repr=False)
class HourOfDay(Result):
    """Starts at an hour of the day."""

    holds: int
    hour: int
    starts: int


@dataclass(frozen=True, kw_only=True, repr=False)
class Start(Result):
    """One start: its margin, K, verdict, and the hottest moment, °C."""

    margin_K: float
    peak_at: str
    peak_degC: float
    start: str
    station: str
    verdict: Verdict


@dataclass(frozen=True, kw_only=True, repr=False)
class Stretch(Result):
    """Starts in a row that all hold, or none of which does."""

    best: Start
    from_: str
    holds: bool
    starts: int
    to: str
    worst: Start


@dataclass(frozen=True, kw_only=True, repr=False)
class Week(Result):
    """A week of starts."""

    cannot_run: int
    holds: int
    mean_margin_K: float
    monday: str
    softens: int
    starts: int
    tight: int


@dataclass(frozen=True, kw_only=True, repr=False)
class SeasonArrangement(Result):
    """One arrangement over the season."""

    allowed: bool
    cannot_run: int
    computed: Computed
    holds: int
    hours_of_day: list[HourOfDay]
    left_out: int
    longest_that_does_not: Stretch | None
    longest_that_holds: Stretch | None
    name: str
    next_starts: list[Stretch] | None
    safe_hours_of_day: list[int]
    softens: int
    starts: int
    starts_table: list[Start]
    tight: int
    weeks: list[Week]
    worst: Start | None


@dataclass(frozen=True, kw_only=True, repr=False)
class AtFlow(Result):
    """The season at one flow; `rescued`: share of the starts that did not hold before."""

    cannot_run: int
    flow_m3_per_h: float
    holds: int
    rescued: float
    softens: int
    starts: int
    tight: int


@dataclass(frozen=True, kw_only=True, repr=False)
class LeastFlow(Result):
    """What extraction is worth: the least flow at which every start holds, m³/h."""

    days: int
    days_too_warm_without: int
    flows: list[AtFlow]
    least_flow_m3_per_h: float | None


@dataclass(frozen=True, kw_only=True, repr=False)
class Season(Result):
    """What `Run.season` finds in one weather: each start, and the arrangements. Starts are counted by verdict.

    `margins_K()` and `start_times()` give the table of starts as arrays.
    """

    arrangements: list[SeasonArrangement]
    cannot_run: int
    holds: int
    least_flow: LeastFlow | None
    required_margin_K: float | None
    run: str
    schema: int
    softens: int
    starts: int
    starts_table: list[Start] | None
    tight: int

    def margins_K(self) -> NDArray[np.float64]:
        """The margin of each start of the run as it is, K."""
        return np.array([start.margin_K for start in self.starts_table or []])

    def start_times(self) -> NDArray[np.datetime64]:
        """The local times of the starts."""
        return np.array([start.start for start in self.starts_table or []], dtype="datetime64[s]")


@dataclass(frozen=True, kw_only=True, repr=False)
class ShareOfYears(Result):
    """In how many of the years a start at this day and hour holds."""

    day: int
    holds: int
    hour: int
    month: int
    years: int


@dataclass(frozen=True, kw_only=True, repr=False)
class Year(Result):
    """One year of an arrangement."""

    cannot_run: int
    holds: int
    return_period_years: float | None
    softens: int
    starts: int
    tight: int
    worst_week: Week | None
    year: str


@dataclass(frozen=True, kw_only=True, repr=False)
class YearsArrangement(Result):
    """One arrangement over the years."""

    cannot_run: int
    holds: int
    left_out: int
    name: str
    share_of_years: list[ShareOfYears]
    softens: int
    starts: int
    tight: int
    worst: Start | None
    years: list[Year]


@dataclass(frozen=True, kw_only=True, repr=False)
class Years(Result):
    """What `Run.season` finds in several weathers."""

    arrangements: list[YearsArrangement]
    cannot_run: int
    holds: int
    run: str
    schema: int
    softens: int
    starts: int
    tight: int
