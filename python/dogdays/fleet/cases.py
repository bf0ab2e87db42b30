"""From a plan to its cases, one after the other: a case is a season of one machine, material and arrangement in one weather.

Nothing here holds more than a row, or a group of rows, of a table.
"""

from __future__ import annotations

import csv
import functools
import itertools
import re
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any, NamedTuple

from .failures import PlanError, near
from .identity import SCHEMA, Contents, sha256_of_json
from .plan import AXES, KINDS, Definition, Plan, Product, Table

#: What a name without a definition in the plan stands for.
_NAMED = {"machine": "machine.name", "material": "material.name", "arrangement": "arrangement.kind"}
_NOTHING = Definition()
#: Rows of a Parquet table in memory at once.
_ROWS_AT_ONCE = 4096


class Case(NamedTuple):
    """One season to be computed. Names are empty where the plan gives none."""

    site: str
    machine: str
    material: str
    arrangement: str
    #: What tells this weather from others of the site: what the plan says, or the year in the file's name, or that name.
    year: str
    #: Run file and weather file as the plan has them, from its folder; no weather: the run's own.
    run: str
    weather: str | None
    time_zone: str | None
    starts: str
    least_flow: bool
    #: Keys of the row that belong to no name, as text.
    variant: str
    #: All keys that are set, those behind names included.
    settings: dict[str, Any]
    #: Why it can't be computed, where that is known before.
    problem: str | None

    def identity(self, plan: Plan, contents: Contents) -> str:
        """The hash of everything that this season comes from, apart from the version of the program."""
        inputs = self._asdict()
        inputs["reading"] = plan.reading
        inputs["run_content"] = contents.run(self.run) if self.run else ""
        inputs["weather_content"] = "" if self.weather is None else contents.file(self.weather)
        inputs["schema"] = SCHEMA
        return sha256_of_json(inputs)


def cases(plan: Plan) -> Iterator[Case]:
    """All cases of a plan. Raises `PlanError` where a table can't be understood, when its row's turn comes."""
    for source in plan.sources:
        if isinstance(source, Product):
            yield from _of_product(plan, source)
        else:
            for place, row in _rows(source):
                yield from _of_row(plan, place, {**source.default, **row})


def _of_product(plan: Plan, product: Product) -> Iterator[Case]:
    # Weather outermost: cases that read the same file stand together.
    axes = dict(product.axes)
    places = axes.pop("site", [None])
    named = axes.pop("weather", [None])
    keys = list(axes)
    for site, weather in itertools.product(places, named):
        outer = {key: value for key, value in (("site", site), ("weather", weather)) if value is not None}
        files = _weather(plan, outer.get("site", ""), outer)
        for file in files:
            for values in itertools.product(*axes.values()):
                row = {**outer, **dict(zip(keys, values, strict=True))}
                if file is not None:
                    row["weather"] = file
                yield from _of_row(plan, product.place, row)


def _weather(plan: Plan, site: str, row: Mapping[str, Any]) -> tuple[str | None, ...]:
    if row.get("weather"):
        return (str(row["weather"]),)
    here = plan.defined["site"].get(site, _NOTHING).weather
    return (None,) if here is None else here


def _of_row(plan: Plan, place: str, row: dict[str, Any]) -> Iterator[Case]:
    names = {kind: str(row.get(kind) or "") for kind in KINDS}
    settings: dict[str, Any] = {}
    run = row.get("run")
    time_zone = None
    problem = None
    for kind, name in names.items():
        definition = plan.defined[kind].get(name) if name else _NOTHING
        if definition is None:
            if kind in _NAMED:
                settings[_NAMED[kind]] = name
            elif plan.defined[kind] and not row.get("weather"):
                problem = (
                    f"{place}: the plan has no [{kind}.{name!r}] that could say which weather files are its own; "
                    + near(name, plan.defined[kind])
                )
            continue
        settings.update(definition.settings)
        run = run or definition.run
        time_zone = time_zone or definition.time_zone
    free = {key: value for key, value in row.items() if "." in key and value is not None and value != ""}
    settings.update(free)
    run = run or plan.run
    if not run:
        problem = f"{place}: there is no run file: name one under `run` in this row, a [machine], a [site] or [fleet]"
    least_flow = row.get("least_flow")
    starts = row.get("starts") or plan.starts
    variant = ", ".join(f"{key} = {value}" for key, value in sorted(free.items()))
    for weather in _weather(plan, names["site"], row):
        year = row.get("year")
        if isinstance(year, float) and year.is_integer():
            year = int(year)
        yield Case(
            **names,
            year=_year(weather) if year in (None, "") else str(year),
            run=str(run or ""),
            weather=weather,
            time_zone=time_zone,
            starts=str(starts),
            least_flow=plan.least_flow if least_flow is None else bool(least_flow),
            variant=variant,
            settings=settings,
            problem=problem,
        )


@functools.lru_cache(maxsize=4096)
def _year(weather: str | None) -> str:
    if weather is None:
        return ""
    name = Path(weather).stem
    years = re.findall(r"(?<!\d)\d{4}(?!\d)", name)
    return years[0] if len(years) == 1 else name


def _rows(table: Table) -> Iterator[tuple[str, dict[str, Any]]]:
    """The rows of a table, and where each stands."""
    if table.file.suffix.lower() == ".csv":
        return _csv(table)
    return _parquet(table)


def _csv(table: Table) -> Iterator[tuple[str, dict[str, Any]]]:
    try:
        with table.file.open(encoding="utf-8-sig", newline="") as file:
            reader = csv.reader(file, strict=True)
            header = [name.strip() for name in next(reader, [])]
            _check_columns(table, header)
            for cells in reader:
                if not cells:
                    continue
                place = f"{table.file}:{reader.line_num}"
                if len(cells) != len(header):
                    raise PlanError([f"{place}: {len(cells)} cells in a row, and the header has {len(header)} columns"])
                row = {key: _cell(key, cell.strip(), place) for key, cell in zip(header, cells, strict=True) if cell}
                yield place, row
    except OSError as e:
        raise PlanError([f"{table.file}: {e.strerror or e}"]) from None
    except (csv.Error, UnicodeDecodeError) as e:
        raise PlanError([f"{table.file}: {e}"]) from None


def _cell(key: str, text: str, place: str) -> Any:
    if key == "least_flow":
        if text.lower() not in ("true", "false"):
            raise PlanError([f"{place}: `least_flow`: true or false is needed, and this is {text!r}"])
        return text.lower() == "true"
    if key in AXES:
        return text
    if text in ("true", "false"):
        return text == "true"
    for number in (int, float):
        try:
            return number(text)
        except ValueError:
            pass
    return text


def _parquet(table: Table) -> Iterator[tuple[str, dict[str, Any]]]:
    import pyarrow as pa
    import pyarrow.parquet as pq

    try:
        with pq.ParquetFile(table.file) as file:
            _check_columns(table, file.schema_arrow.names)
            number = 0
            for batch in file.iter_batches(batch_size=_ROWS_AT_ONCE):
                for row in batch.to_pylist():
                    number += 1
                    place = f"{table.file}: row {number}"
                    given = {key: value for key, value in row.items() if not _is_empty(value)}
                    if not isinstance(given.get("least_flow", False), bool):
                        raise PlanError([f"{place}: `least_flow`: true or false is needed"])
                    yield place, given
    except (OSError, pa.ArrowException) as e:
        raise PlanError([f"{table.file}: {e}"]) from None


def _is_empty(value: Any) -> bool:
    # A missing number is often written as one that is none.
    return value is None or value == "" or value != value


def _check_columns(table: Table, header: Iterable[str]) -> None:
    problems = []
    seen: set[str] = set()
    for name in header:
        if name in seen:
            problems.append(f"{table.file}: there are two columns `{name}`")
        elif name not in AXES and "." not in name:
            problems.append(
                f"{table.file}: column `{name}`: {near(name, AXES)} Keys of a run file have a dot, as in `room.altitude`"
            )
        seen.add(name)
    if not seen:
        problems.append(f"{table.file}: there is no header")
    if problems:
        raise PlanError(problems)
