"""What `Run.compare` finds. Field names are those of the program's JSON, with their units."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from ._base import Result, Verdict, left_out
from .check import MarginBand


@dataclass(frozen=True, kw_only=True, repr=False)
class ComparedPeak(Result):
    """The hottest moment of an arrangement, °C."""

    at: str
    at_h: float
    filament_degC: float
    limit_degC: float
    station: str
    p05_degC: float | None = left_out()
    p50_degC: float | None = left_out()
    p95_degC: float | None = left_out()


@dataclass(frozen=True, kw_only=True, repr=False)
class Arrangement(Result):
    """One arrangement: verdict, margin, how sure, and up to which room temperature it holds (`breakeven_room_degC`)."""

    allowed: bool
    arrangement: str
    breakeven: str
    breakeven_is_outdoors: bool
    breakeven_room_degC: float | None
    breakeven_shift_K: float | None
    cannot_run: dict[str, Any] | None
    change_K: float
    fan_kWh: float | None
    flow_m3_per_h: float | None
    heaters_kWh: float
    margin_K: float
    name: str
    peak: ComparedPeak
    required_margin_K: float
    softening_limit_degC: float
    stays_closed: bool
    surely_holds: bool | None
    verdict: Verdict
    warnings: list[str]
    chance_cannot_run: float | None = left_out()
    chance_softens: float | None = left_out()
    margin: MarginBand | None = left_out()
    samples: int | None = left_out()
    samples_failed: int | None = left_out()
    seed: int | None = left_out()
    values_in_doubt: int | None = left_out()


@dataclass(frozen=True, kw_only=True, repr=False)
class Comparison(Result):
    """What `Run.compare` finds: arrangements side by side, the run as it is first."""

    arrangements: list[Arrangement]
    cautions: list[str]
    flow_basis: str | None
    flow_m3_per_h: float | None
    run: str
    schema: int
