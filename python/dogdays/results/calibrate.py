"""What `Run.calibrate` finds. Field names are those of the program's JSON, with their units."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from ._base import Result


@dataclass(frozen=True, kw_only=True, repr=False)
class HeldOut(Result):
    """How well the rest of the log is foretold from its first part."""

    rms_after_K: float
    rms_before_K: float
    rows: int


@dataclass(frozen=True, kw_only=True, repr=False)
class ComparedLog(Result):
    """A column of a log beside the model."""

    column: str
    drift_K: float | None
    drift_lasts_s: float | None
    lag_identified: bool
    lag_s: float | None
    offset_K: float | None
    offset_std_K: float | None
    rms_after_K: float | None
    rms_before_K: float | None
    rows: int
    run: int
    sensor: str
    strays: int
    white: bool | None
    white_p: float | None


@dataclass(frozen=True, kw_only=True, repr=False)
class Parameter(Result):
    """A value in doubt before and after, in its unit; `doubt_left` is the share of its spread that is left."""

    at_bound: bool
    doubt_left: float
    high: float | None
    identified: bool
    low: float | None
    name: str
    prior_std: float
    run: int | None
    start: float
    std: float
    unit: str
    value: float


@dataclass(frozen=True, kw_only=True, repr=False)
class ComparedReading(Result):
    """A reading beside the model before and after, °C."""

    after_degC: float
    at: str
    at_h: float
    before_degC: float
    measured_degC: float
    run: int
    sensor: str
    strays: bool
    within_K: float


@dataclass(frozen=True, kw_only=True, repr=False)
class Calibration(Result):
    """What `Run.calibrate` finds: the values in doubt as the thermometers make them, and how well the model follows."""

    bed_heater: list[dict[str, Any]]
    contradicting: list[dict[str, Any]]
    evaluations: int
    fits: bool
    held_out: HeldOut | None
    identified_from: float
    logs: list[ComparedLog]
    machine: str
    mixed_up: list[dict[str, Any]]
    moved_h: list[Any]
    not_told_apart: list[Any]
    others: int
    parameters: list[Parameter]
    readings: list[ComparedReading]
    rms_after_K: float | None
    rms_before_K: float | None
    rows: int
    run: str
    runs: list[str]
    schema: int
    settled: bool
    starts: list[dict[str, Any]]

    @property
    def machine_file(self) -> str | None:
        """The text of a machine's file with what was found, for a folder `my-models/machines`; none where no values fit
        what was logged, and of a result made from a dictionary."""
        found: str | None = getattr(self, "_machine_file", None)
        return found

    @property
    def notes(self) -> tuple[str, ...]:
        """What was read of the logs, and what was left out."""
        found: tuple[str, ...] = getattr(self, "_notes", ())
        return found
