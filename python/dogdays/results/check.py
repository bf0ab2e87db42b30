"""What `Run.check` finds. Field names are those of the program's JSON, with their units."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import Any

from .._native import DogdaysError
from ..trajectory import Trajectory
from ._base import Result, Verdict, left_out


@dataclass(frozen=True, kw_only=True, repr=False)
class FanUse(Result):
    """How long a fan runs, how often it starts and what it draws."""

    energy_J: float | None
    running_h: float
    running_share: float
    starts: int
    starts_are_estimated: bool


@dataclass(frozen=True, kw_only=True, repr=False)
class Spool(Result):
    """One spool: when it begins and runs out."""

    begin: str
    begin_h: float
    changed: bool
    drawn_kg: float
    end: str
    end_h: float
    holds_kg: float
    runs_out: str | None
    runs_out_h: float | None
    spool: int
    staffed: bool | None


@dataclass(frozen=True, kw_only=True, repr=False)
class Spools(Result):
    """The spools that the job takes."""

    changes: int
    each: list[Spool]
    first_kg: float
    full_kg: float
    unstaffed_changes: int | None


@dataclass(frozen=True, kw_only=True, repr=False)
class Alarm(Result):
    """Where an alarm would have to be set: the thermometer and its reading when the margin is used up."""

    reading_degC: float
    sensor: str


@dataclass(frozen=True, kw_only=True, repr=False)
class Consumer(Result):
    """What one consumer draws over the run, kWh."""

    consumer: str
    energy_kWh: float


@dataclass(frozen=True, kw_only=True, repr=False)
class Electricity(Result):
    """What the run draws, kWh; costs where the run file knows a price."""

    consumers: list[Consumer]
    costs: float | None
    lacks_fan: bool
    price_per_kWh: float | None
    together_kWh: float


@dataclass(frozen=True, kw_only=True, repr=False)
class Failure(Result):
    """What happens when something fails: how long until the limit is reached (`time_left_s`, null: never)."""

    at: str
    at_h: float
    kind: str
    limit_degC: float
    margin_K: float
    peak_at: str
    peak_at_h: float
    peak_degC: float
    peak_station: str
    station: str
    time_left_s: float | None
    time_left_without_it_s: float | None
    until: str | None
    until_h: float | None
    verdict: Verdict
    warmer_K: float
    was_above_before: bool


@dataclass(frozen=True, kw_only=True, repr=False)
class Heat(Result):
    """Where the heat comes from and goes, J over the whole run."""

    in_J: dict[str, float]
    out_J: dict[str, float]
    stored_J: float
    unaccounted_relative: float


@dataclass(frozen=True, kw_only=True, repr=False)
class IntegratorEffort(Result):
    """What the integration took."""

    evaluations: int
    method: str
    rejected: int
    steps: int


@dataclass(frozen=True, kw_only=True, repr=False)
class LogSheet(Result):
    """What to look at before the start and during the run, one row a check or event."""

    before: list[dict[str, Any]]
    during: list[dict[str, Any]]


@dataclass(frozen=True, kw_only=True, repr=False)
class MarginBand(Result):
    """5th, 50th and 95th percentile of the margin, K."""

    p05_K: float
    p50_K: float
    p95_K: float


@dataclass(frozen=True, kw_only=True, repr=False)
class Node(Result):
    """A place of the machine: least, mean, greatest and last temperature, °C."""

    end_degC: float
    max_degC: float
    mean_degC: float
    min_degC: float
    node: str


@dataclass(frozen=True, kw_only=True, repr=False)
class Peak(Result):
    """The hottest moment of the filament that decides: where, when, how warm, and its limit there, °C."""

    at: str
    at_h: float
    filament_degC: float
    limit_degC: float
    moving_degC: float | None
    standing_degC: float
    station: str
    p05_degC: float | None = left_out()
    p50_degC: float | None = left_out()
    p95_degC: float | None = left_out()


@dataclass(frozen=True, kw_only=True, repr=False)
class Remedy(Result):
    """One thing that might help, and what it comes to."""

    actions: list[str]
    allowed: bool
    chance_softens: float | None
    drawbacks: list[str]
    effect_K: float
    margin_K: float
    peak_degC: float
    remedy: str
    verdict: Verdict


@dataclass(frozen=True, kw_only=True, repr=False)
class Remedies(Result):
    """What makes the run hold (`found`, the smallest first) and what does not suffice."""

    cautions: list[str]
    floor: dict[str, Any] | None
    found: list[Remedy]
    nearest: Remedy | None
    needed: bool
    not_enough: list[Remedy]
    starts_tried: int


@dataclass(frozen=True, kw_only=True, repr=False)
class OtherMachine(Result):
    """Another run in the same room."""

    machine: str
    machines: int
    run: str
    start: str
    start_h: float


@dataclass(frozen=True, kw_only=True, repr=False)
class Room(Result):
    """What makes the room as warm as it is."""

    above_outdoors_K: float | None
    is_: str
    machines: int
    others: list[OtherMachine]


@dataclass(frozen=True, kw_only=True, repr=False)
class HalfWidth(Result):
    """Half of the band, K."""

    margin_K: float
    peak_K: float


@dataclass(frozen=True, kw_only=True, repr=False)
class Indices(Result):
    """First-order and total Sobol indices with the half-width of their 95 % interval."""

    S1: float
    S1_conf: float
    ST: float
    ST_conf: float


@dataclass(frozen=True, kw_only=True, repr=False)
class InputShare(Result):
    """One value's share of the variance of margin and peak."""

    key: str
    margin: Indices
    peak: Indices


@dataclass(frozen=True, kw_only=True, repr=False)
class IfKnown(Result):
    """The band that is left when a value is known."""

    half_width: HalfWidth
    key: str
    measure: list[str]


@dataclass(frozen=True, kw_only=True, repr=False)
class OtherInputs(Result):
    """All other values in doubt together."""

    count: int
    margin: Indices
    peak: Indices


@dataclass(frozen=True, kw_only=True, repr=False)
class SensorWorth(Result):
    """The band that is left after a reading there."""

    half_width: HalfWidth
    sensor: str


@dataclass(frozen=True, kw_only=True, repr=False)
class Readings(Result):
    """What one reading of a thermometer is worth."""

    at_h: float
    error_K: float
    sensors: list[SensorWorth]


@dataclass(frozen=True, kw_only=True, repr=False)
class Sensitivity(Result):
    """Which values in doubt matter. `half_width`: half of the band from the 5th to the 95th percentile, K."""

    half_width: HalfWidth
    inputs: list[InputShare]
    known: list[IfKnown]
    others: OtherInputs
    readings: Readings
    runs: int
    samples: int
    samples_left_out: int
    seed: int
    station: str
    values_in_doubt: int


@dataclass(frozen=True, kw_only=True, repr=False)
class Station(Result):
    """A station of the feed path: the filament that has stood there, and that on steady feed, °C."""

    limit_degC: float
    max_degC: float
    mean_degC: float
    moving_max_degC: float
    station: str


@dataclass(frozen=True, kw_only=True, repr=False)
class Check(Result):
    """What `Run.check` finds. Temperatures are in °C, margins in K, times of the course in hours from the start.

    `verdict` is `holds`, `tight`, `softens` or `cannot run`; `margin_K` is how far the hottest filament stays below its
    limit (negative: above). Both are the best estimate. `surely_holds` says whether it also holds as surely as the run
    requires: at most `required_chance` of softening; null without samples. `answer` is the program's sentence.
    `cautions` and `warnings` are meant to be read. `trajectory()` gives temperatures over time.
    """

    alarm: Alarm | None
    answer: str
    arrangement: str
    cannot_run: dict[str, Any] | None
    cautions: list[str]
    electricity: Electricity
    failures: list[Failure]
    failures_together: Failure | None
    fan: FanUse | None
    filament: str
    first_above_at_h: float | None
    guessed: list[str]
    heat: Heat
    hours_above_limit_h: float
    hours_within_margin_h: float
    integrator: IntegratorEffort
    log_sheet: LogSheet
    longest_stop_s: float
    machine: str
    margin_K: float
    material: str
    nodes: list[Node]
    peak: Peak
    required_chance: float
    required_margin_K: float
    room: Room
    run: str
    schema: int
    softening_basis: str
    softening_limit_degC: float
    spools: Spools | None
    stations: list[Station]
    surely_holds: bool | None
    verdict: Verdict
    warnings: list[str]
    chance_cannot_run: float | None = left_out()
    chance_softens: float | None = left_out()
    explain: dict[str, Any] | None = left_out()
    margin: MarginBand | None = left_out()
    remedies: Remedies | None = left_out()
    samples: int | None = left_out()
    samples_failed: int | None = left_out()
    seed: int | None = left_out()
    sensitivity: Sensitivity | None = left_out()
    values_in_doubt: int | None = left_out()

    def trajectory(self, every: str | dt.timedelta = "10 min") -> Trajectory:
        """Temperatures over time at even steps, and at the end of the run; the columns are those of `check --csv`.

        Of a result that was made from a dictionary, or came from another process, there is no trajectory:
        `DogdaysError`.
        """
        course = getattr(self, "_course", None)
        if course is None:
            raise DogdaysError(
                "this result came without its trajectory, from a dictionary or another process: check the run here"
            )
        return Trajectory.of(course, every, self._start)  # type: ignore[attr-defined]

    def __getstate__(self) -> dict[str, Any]:
        # The trajectory stays in the process that computed it.
        return {key: value for key, value in self.__dict__.items() if not key.startswith("_")}
