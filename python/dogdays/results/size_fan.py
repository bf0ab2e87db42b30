"""What `Run.size_fan` finds. Field names are those of the program's JSON, with their units."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from ._base import Result, Verdict


@dataclass(frozen=True, kw_only=True, repr=False)
class AskFor(Result):
    """What to ask a dealer for."""

    air_degC: float
    duct_mm: float | None
    filter_clean_Pa: float | None
    filter_loaded_Pa: float | None
    flap: bool | None
    flow_by: str
    flow_m3_per_h: float
    line: str
    most_flow_m3_per_h: float | None
    power_of_the_invented_fan_W: float | None
    rated_for_degC: float
    speed_control: bool | None
    static_pressure_Pa: float
    warmest_air_degC: float


@dataclass(frozen=True, kw_only=True, repr=False)
class AssumedFilter(Result):
    """The filter that is assumed where the run file says nothing."""

    at_m3_per_h: float
    clean_Pa: float
    loaded_Pa: float
    stops: str | None


@dataclass(frozen=True, kw_only=True, repr=False)
class FanCosts(Result):
    """What the fan draws and what the heaters draw more, J."""

    fan_J: float
    heaters_more_J: float
    season_J: float | None
    season_costs: float | None


@dataclass(frozen=True, kw_only=True, repr=False)
class CleanFilter(Result):
    """The fan with a clean filter."""

    energy_J: float | None
    flow_m3_per_h: float | None
    margin_K: float
    peak_degC: float
    pressure_Pa: float | None
    running_share: float | None
    starts: float | None
    takes_Pa: dict[str, float]
    unstable: bool
    verdict: Verdict
    warmest_air_degC: float


@dataclass(frozen=True, kw_only=True, repr=False)
class Fan(Result):
    """One fan with a loaded filter; `standing` says what it is good for."""

    air_max_degC: float | None
    chamber_too_cool: bool
    chance_softens: float | None
    clean: CleanFilter | None
    energy_J: float | None
    fan: str
    flap: bool | None
    flow_m3_per_h: float | None
    invented: bool
    lacks: str | None
    life_h: float | None
    margin_K: float | None
    peak_degC: float | None
    power_W: float | None
    pressure_Pa: float | None
    running_share: float | None
    settable: bool | None
    size_mm: float | None
    sound_dBA: float | None
    speed: float | None
    standing: str
    starts: float | None
    supply: str | None
    takes_Pa: dict[str, float] | None
    unstable: bool | None
    verdict: Verdict | None
    warmest_air_degC: float


@dataclass(frozen=True, kw_only=True, repr=False)
class FilterChange(Result):
    """When the filter has to be changed."""

    after_h: float | None
    at_Pa: float
    new_Pa: float


@dataclass(frozen=True, kw_only=True, repr=False)
class LargerOpening(Result):
    """What a larger inlet would spare."""

    add_cm2: float
    chance_softens: float | None
    fan: str | None
    flow_m3_per_h: float
    margin_K: float
    needed_flow_m3_per_h: float
    power_W: float | None
    pressure_Pa: float


@dataclass(frozen=True, kw_only=True, repr=False)
class MarginAtFlow(Result):
    """The margin at a flow, with its band, K."""

    flow_m3_per_h: float
    margin_K: float | None
    p05_K: float | None
    p95_K: float | None
    verdict: Verdict


@dataclass(frozen=True, kw_only=True, repr=False)
class Thermostat(Result):
    """The fan switched by a thermostat."""

    margin_K: float
    off_below_degC: float
    on_above_degC: float
    running_share: float
    starts_a_day: float


@dataclass(frozen=True, kw_only=True, repr=False)
class FanSizing(Result):
    """What `Run.size_fan` finds: the least flow, the pressure it takes, and each fan over the whole run."""

    advice: str
    answer: str
    as_scheduled: bool
    ask_for: AskFor | None
    assumed_filter: AssumedFilter | None
    at_pressure_Pa: float | None
    at_pressure_clean_Pa: float | None
    catalogue_fans_are_invented: bool
    cautions: list[str]
    chance_softens_closed: float | None
    coolest_peak_degC: float | None
    costs: FanCosts | None
    eased: dict[str, Any] | None
    fans: list[Fan]
    filter_change: FilterChange | None
    instead_of: str | None
    larger_opening: LargerOpening | None
    margin_over_flow: list[MarginAtFlow]
    most_flow_m3_per_h: float | None
    most_margin_K: float | None
    needed_flow_m3_per_h: float | None
    reachable: bool
    recommended: str | None
    required_chance: float | None
    run: str
    safety_first: list[str]
    samples: int | None
    schema: int
    seed: int | None
    smallest_by: list[str]
    sure_flow_m3_per_h: float | None
    takes_Pa: dict[str, float] | None
    thermostat: Thermostat | None
    unreachable: dict[str, Any] | None
    verdict: Verdict
    warnings: list[str]
