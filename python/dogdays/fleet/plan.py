"""A plan: what is to be computed, read from TOML and checked. Its format is described in the package's README.

`Plan.cases()` in `cases.py` goes through what a plan describes without ever holding all of it.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import dogdays
from dogdays import _native

from .failures import PlanError, near

if sys.version_info >= (3, 11):
    import tomllib
else:
    import tomli as tomllib

#: What a case may be told by, apart from keys of a run file.
KINDS = ("site", "machine", "material", "arrangement")
AXES = (*KINDS, "weather", "year", "run", "starts", "least_flow")

_FLEET = ("name", "run", "models", "results", "starts", "least_flow", "partition", "case_cost", "price_per_core_hour")
_READING = ("fill", "fill_up_to", "time_zone", "wrap")
_TABLES = ("fleet", "reading", "table", "product", *KINDS)
_BY_KIND = {"site": ("weather", "time_zone", "run"), "machine": ("run",), "material": (), "arrangement": ()}
#: What takes longer than a day is lost too easily.
_LONGEST_PARTITION_S = 86_400.0


@dataclass(frozen=True)
class Definition:
    """What a name in the plan stands for: keys of a run file, and for some kinds a run file or weather files."""

    settings: dict[str, Any] = field(default_factory=dict)
    run: str | None = None
    #: Files, from the plan's folder; none: the plan says nothing of it.
    weather: tuple[str, ...] | None = None
    time_zone: str | None = None


@dataclass(frozen=True)
class Table:
    """Cases from a file, one a row; `default` holds columns that the file need not have."""

    file: Path
    place: str
    default: dict[str, Any]


@dataclass(frozen=True)
class Product:
    """Every combination of these."""

    place: str
    axes: dict[str, list[Any]]


@dataclass(frozen=True)
class Plan:
    """A plan that was understood. Paths are absolute; files of cases stay as they were written, from `folder`."""

    file: Path
    folder: Path
    name: str
    run: str | None
    models: Path | None
    results: Path
    starts: str
    least_flow: bool
    #: How long a worker should be busy with one partition, s; none: as suits the whole.
    partition_s: float | None
    #: What the user says that one season takes, s of one core; none: measured.
    case_cost_s: float | None
    price_per_core_hour: float | None
    reading: dict[str, Any]
    defined: dict[str, dict[str, Definition]]
    sources: tuple[Table | Product, ...]

    @classmethod
    def read(cls, file: Path) -> Plan:
        """Reads a plan; raises `PlanError` with all that is wrong with it."""
        try:
            found = tomllib.loads(file.read_text(encoding="utf-8"))
        except OSError as e:
            raise PlanError([f"{file}: {e.strerror or e}"]) from None
        except (tomllib.TOMLDecodeError, UnicodeDecodeError) as e:
            raise PlanError([f"{file}: {e}"]) from None
        return _Reader(file).plan(found)


class _Reader:
    def __init__(self, file: Path) -> None:
        self.file = file
        self.folder = file.resolve().parent
        self.problems: list[str] = []

    def wrong(self, key: str, told: str) -> None:
        problem = f"{self.file}: `{key}`: {told}" if key else f"{self.file}: {told}"
        if problem not in self.problems:
            self.problems.append(problem)

    def plan(self, found: dict[str, Any]) -> Plan:
        for key in found:
            if key not in _TABLES:
                self.wrong(key, f"there is no such table in a plan; {near(key, _TABLES)}")
        fleet = self.table(found, "fleet", _FLEET)
        reading = self.table(found, "reading", _READING)
        for key in ("fill", "fill_up_to", "time_zone"):
            self.text(reading, "reading", key)
        self.flag(reading, "reading", "wrap")
        defined = {kind: self.definitions(found, kind) for kind in KINDS}
        sources: list[Table | Product] = [*self.tables(found), *self.products(found, defined)]
        if not sources and not self.problems:
            self.wrong("", "there is no [[table]] and no [[product]], so there is nothing to compute")
        results = self.text(fleet, "fleet", "results") or "results"
        models = self.text(fleet, "fleet", "models")
        plan = Plan(
            file=self.file,
            folder=self.folder,
            name=self.text(fleet, "fleet", "name") or self.file.stem,
            run=self.text(fleet, "fleet", "run"),
            models=None if models is None else self.folder / models,
            results=self.folder / results,
            starts=self.starts(fleet),
            least_flow=self.flag(fleet, "fleet", "least_flow") or False,
            partition_s=self.time_s(fleet, "partition"),
            case_cost_s=self.time_s(fleet, "case_cost"),
            price_per_core_hour=self.price(fleet),
            reading=reading,
            defined=defined,
            sources=tuple(sources),
        )
        if models is not None and not (self.folder / models).is_dir():
            self.wrong("fleet.models", f"there is no folder {models}")
        if (plan.partition_s or 0.0) > _LONGEST_PARTITION_S:
            self.wrong("fleet.partition", 'a day is the longest; "60 s" is usual')
        if self.problems:
            raise PlanError(self.problems)
        return plan

    def table(self, found: dict[str, Any], name: str, known: tuple[str, ...]) -> dict[str, Any]:
        table = found.get(name, {})
        if not isinstance(table, dict):
            self.wrong(name, f"a table is needed: [{name}]")
            return {}
        for key in table:
            if key not in known:
                self.wrong(f"{name}.{key}", f"there is no such key; {near(key, known)}")
        return table

    def text(self, table: Mapping[str, Any], name: str, key: str) -> str | None:
        value = table.get(key)
        if value is None or (isinstance(value, str) and value):
            return value
        self.wrong(f"{name}.{key}", f"text is needed, and this is {value!r}")
        return None

    def flag(self, table: Mapping[str, Any], name: str, key: str) -> bool | None:
        value = table.get(key)
        if value is None or isinstance(value, bool):
            return value
        self.wrong(f"{name}.{key}", f"true or false is needed, and this is {value!r}")
        return None

    def price(self, fleet: Mapping[str, Any]) -> float | None:
        value = fleet.get("price_per_core_hour")
        if value is None:
            return None
        if isinstance(value, (int, float)) and not isinstance(value, bool) and 0 <= value < math.inf:
            return float(value)
        self.wrong("fleet.price_per_core_hour", f"a number that is not negative is needed, and this is {value!r}")
        return None

    def time_s(self, fleet: Mapping[str, Any], key: str) -> float | None:
        text = self.text(fleet, "fleet", key)
        if text is None:
            return None
        try:
            return _native.time_s(key, text)
        except dogdays.DogdaysError as e:
            self.wrong(f"fleet.{key}", str(e))
            return None

    def starts(self, fleet: Mapping[str, Any]) -> str:
        self.time_s(fleet, "starts")
        return str(fleet.get("starts", "1 h"))

    def definitions(self, found: dict[str, Any], kind: str) -> dict[str, Definition]:
        names = found.get(kind, {})
        if not isinstance(names, dict) or not all(isinstance(each, dict) for each in names.values()):
            self.wrong(kind, f'a table a name is needed, as in [{kind}."north hall"]')
            return {}
        made = {}
        for name, table in names.items():
            place = f"{kind}.{name}"
            own = {key: value for key, value in table.items() if key in _BY_KIND[kind] and not isinstance(value, dict)}
            rest = dict(flat({key: value for key, value in table.items() if key not in own}))
            for key in rest:
                if "." not in key:
                    told = near(key, _BY_KIND[kind]) if _BY_KIND[kind] else "keys of a run file are known here"
                    self.wrong(f"{place}.{key}", f'{told}; keys of a run file have a dot, as in "room.altitude"')
            made[name] = Definition(
                settings=rest,
                run=self.text(own, place, "run"),
                weather=self.files(own["weather"], f"{place}.weather") if "weather" in own else None,
                time_zone=self.text(own, place, "time_zone"),
            )
        return made

    def files(self, value: Any, key: str) -> tuple[str, ...]:
        """Weather files by name or pattern, in the order of their names."""
        each = value if isinstance(value, list) else [value]
        found: list[str] = []
        if not each:
            self.wrong(key, "there is nothing in it")
        for name in each:
            if not isinstance(name, str) or not name:
                self.wrong(key, f"names of files are needed, and this is {name!r}")
            elif any(mark in name for mark in "*?["):
                if Path(name).is_absolute():
                    self.wrong(key, f"{name}: a pattern begins in the plan's folder")
                    continue
                matches = sorted(path.relative_to(self.folder).as_posix() for path in self.folder.glob(name))
                if not matches:
                    self.wrong(key, f"no file fits {name}")
                found += matches
            else:
                found.append(name)
        return tuple(found)

    def each(self, found: dict[str, Any], name: str) -> Iterator[tuple[str, dict[str, Any]]]:
        tables = found.get(name, [])
        if not isinstance(tables, list) or not all(isinstance(each, dict) for each in tables):
            self.wrong(name, f"write [[{name}]], with two brackets")
            return
        for k, table in enumerate(tables, start=1):
            yield f"{name}[{k}]", table

    def tables(self, found: dict[str, Any]) -> Iterator[Table]:
        for place, table in self.each(found, "table"):
            rest = dict(flat(table))
            name = rest.pop("file", None)
            if not isinstance(name, str):
                self.wrong(f"{place}.file", "the name of a CSV or Parquet file is needed")
                continue
            if not name.lower().endswith((".csv", ".parquet")):
                self.wrong(f"{place}.file", f"{name} is no .csv and no .parquet file")
            elif not (self.folder / name).is_file():
                self.wrong(f"{place}.file", f"there is no file {name}")
            for key, value in rest.items():
                self.axis(place, key, value)
            yield Table(self.folder / name, place, rest)

    def products(
        self, found: dict[str, Any], defined: dict[str, dict[str, Definition]]
    ) -> Iterator[Product]:
        for place, table in self.each(found, "product"):
            axes: dict[str, list[Any]] = {}
            for key, value in flat(table):
                each = value if isinstance(value, list) else [value]
                if key in KINDS and value == "*":
                    each = list(defined[key])
                if key == "weather":
                    each = list(self.files(value, f"{place}.weather"))
                if not each:
                    self.wrong(f"{place}.{key}", "there is nothing in it")
                for item in each:
                    self.axis(place, key, item)
                axes[key] = each
            if not axes:
                self.wrong(place, "there is nothing in it")
            yield Product(place, axes)

    def axis(self, place: str, key: str, value: Any) -> None:
        if key not in AXES and "." not in key:
            told = near(key, [*AXES, "file"] if place.startswith("table") else AXES)
            self.wrong(f"{place}.{key}", f'{told}; keys of a run file have a dot, as in "room.altitude"')
        elif key == "least_flow" and not isinstance(value, bool):
            self.wrong(f"{place}.{key}", f"true or false is needed, and this is {value!r}")
        elif key in AXES and key not in ("least_flow", "year") and not isinstance(value, str):
            self.wrong(f"{place}.{key}", f"text is needed, and this is {value!r}")


def flat(table: Mapping[str, Any], above: str = "") -> Iterator[tuple[str, Any]]:
    """Keys with dots of tables in tables."""
    for key, value in table.items():
        if isinstance(value, Mapping):
            yield from flat(value, f"{above}{key}.")
        else:
            yield f"{above}{key}", value
