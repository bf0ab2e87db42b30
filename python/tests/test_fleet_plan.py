"""Plans, cases, identities and partitions, without any worker."""

from __future__ import annotations

import csv
import importlib.util
import io
import json
import math
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

pytest.importorskip("pyarrow", reason='the fleet needs pyarrow: install "dogdays[fleet]"')

import pyarrow as pa
import pyarrow.parquet as pq
from fleet_help import PLAN, RUN, SEASONS, write_plan, write_weather

import dogdays
from dogdays.fleet import Fleet, Plan, PlanError, parts
from dogdays.fleet.cases import Case, cases
from dogdays.fleet.identity import Contents
from dogdays.fleet.partitions import partitions
from dogdays.fleet.worker import Files, row


@pytest.mark.parametrize(
    ("before", "after", "place", "told"),
    [
        ("starts", "strats", "`fleet.strats`", "did you mean `starts`?"),
        ("[site.North]", "[sit.North]", "`sit`", "did you mean `site`?"),
        ("weather = ", "wether = ", "`site.North.wether`", "did you mean `weather`?"),
        ("material = ", "materail = ", "`product[1].materail`", "did you mean `material`?"),
        ('"8 h"', '"8"', "`fleet.starts`", "the unit is missing"),
        ('"8 h"', "8", "`fleet.starts`", "text is needed"),
        ("north-*.csv", "nort-*.csv", "`site.North.weather`", "no file fits nort-*.csv"),
        ('"north-*.csv"', "[]", "`site.North.weather`", "nothing in it"),
        ("[[product]]", "[product]", "`product`", "[[product]]"),
        ('"2 s"', '"3 day"', "`fleet.partition`", "a day is the longest"),
        ("[fleet]", "[fleet]\nprice_per_core_hour = -1", "`fleet.price_per_core_hour`", "negative"),
        ("[fleet]", '[fleet]\nmodels = "nowhere"', "`fleet.models`", "no folder nowhere"),
        ("[fleet]", "[fleet]\nleast_flow = 1", "`fleet.least_flow`", "true or false"),
        ("[[product]]", '[[table]]\nfile = "none.csv"\n[[product]]', "`table[1].file`", "no file none.csv"),
        ("[fleet]", "[fleet", "", "plan.toml"),
    ],
)
def test_a_wrong_plan_says_where_and_what(tmp_path: Path, before: str, after: str, place: str, told: str) -> None:
    assert before in PLAN
    path = write_plan(tmp_path, PLAN.replace(before, after, 1))
    with pytest.raises(PlanError) as raised:
        Plan.read(path)
    assert str(path) in str(raised.value)
    assert place in str(raised.value)
    assert told in str(raised.value)


def test_all_mistakes_are_told_at_once(tmp_path: Path) -> None:
    path = write_plan(tmp_path, PLAN.replace("starts", "strats").replace("material", "materail"))
    with pytest.raises(PlanError) as raised:
        Plan.read(path)
    assert len(raised.value.problems) == 2


def test_a_plan_of_nothing_is_wrong(tmp_path: Path) -> None:
    with pytest.raises(PlanError, match="nothing to compute"):
        Plan.read(write_plan(tmp_path, '[fleet]\nrun = "run.toml"\n'))


def _table_plan(folder: Path, table: str, more: str = "") -> Plan:
    (folder / "cases.csv").write_text(table, encoding="utf-8")
    return Plan.read(
        write_plan(folder, f'[fleet]\nrun = "run.toml"\n{more}\n[[table]]\nfile = "cases.csv"\nmaterial = "pla"\n')
    )


@pytest.mark.parametrize(
    ("table", "told"),
    [
        ("sight,machine\nNorth,bench-60\n", "column `sight`: did you mean `site`?"),
        ("site,site\nNorth,North\n", "two columns `site`"),
        ("site,machine\nNorth,bench-60\nNorth\n", ":3: 1 cells in a row, and the header has 2 columns"),
        ("site,least_flow\nNorth,yes\n", ":2: `least_flow`: true or false"),
        ("", "no header"),
    ],
)
def test_a_wrong_table_says_where_and_what(tmp_path: Path, table: str, told: str) -> None:
    plan = _table_plan(tmp_path, table)
    with pytest.raises(PlanError) as raised:
        list(cases(plan))
    assert "cases.csv" in str(raised.value)
    assert told in str(raised.value)


def test_a_row_is_a_season_a_year_of_its_site(tmp_path: Path) -> None:
    more = '[site.North]\nweather = "north-*.csv"\nroom.altitude = "300 m"\n[machine."hall 3"]\nmachine.name = "bench-220"\n'
    table = "site,machine,material,room.above_outdoors,least_flow\nNorth,hall 3,,2 K,true\nNorth,bench-60,petg,,\n"
    found = list(cases(_table_plan(tmp_path, table, more)))
    assert [(case.machine, case.material, case.year, case.weather) for case in found] == [
        ("hall 3", "pla", "2024", "north-2024.csv"),
        ("hall 3", "pla", "2025", "north-2025.csv"),
        ("bench-60", "petg", "2024", "north-2024.csv"),
        ("bench-60", "petg", "2025", "north-2025.csv"),
    ]
    assert found[0].settings == {
        "room.altitude": "300 m",
        "machine.name": "bench-220",
        "material.name": "pla",
        "room.above_outdoors": "2 K",
    }
    assert (found[0].least_flow, found[0].variant, found[0].starts) == (True, "room.above_outdoors = 2 K", "1 h")
    assert (found[2].least_flow, found[2].variant) == (False, "")


def test_csv_and_parquet_tables_are_the_same_cases(tmp_path: Path) -> None:
    text = "site,machine,weather,room.above_outdoors,require.must_stay_closed\nA,bench-60,north-2024.csv,2 K,true\nB,bench-220,south-2024.csv,,false\n"
    by_csv = list(cases(_table_plan(tmp_path, text)))
    each = list(csv.DictReader(io.StringIO(text)))
    for line in each:
        line["room.above_outdoors"] = line["room.above_outdoors"] or None  # type: ignore[assignment]
        line["year"] = 2024.0  # type: ignore[assignment]
        line["room.altitude"] = math.nan  # type: ignore[assignment]
        line["require.must_stay_closed"] = line["require.must_stay_closed"] == "true"  # type: ignore[assignment]
    pq.write_table(pa.Table.from_pylist(each), tmp_path / "cases.parquet")
    plan = (tmp_path / "plan.toml").read_text().replace("cases.csv", "cases.parquet")
    (tmp_path / "plan.toml").write_text(plan)
    by_parquet = list(cases(Plan.read(tmp_path / "plan.toml")))
    assert [case.settings["require.must_stay_closed"] for case in by_csv] == [True, False]
    assert by_parquet == by_csv


def _names(plan: Path) -> list[str]:
    fleet = Fleet.of(Plan.read(plan), keep=False)
    return [work.identity for work, _ in fleet.work()]


def test_identities_are_the_same_in_every_process(tmp_path: Path) -> None:
    plan = write_plan(tmp_path)
    code = (
        "import sys; from pathlib import Path; from dogdays.fleet import Fleet, Plan\n"
        "print(*[w.identity for w, _ in Fleet.of(Plan.read(Path(sys.argv[1])), keep=False).work()])"
    )
    for seed in ("1", "2"):
        env = {**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": os.pathsep.join(sys.path)}
        done = subprocess.run([sys.executable, "-c", code, str(plan)], env=env, capture_output=True, text=True, check=True)
        assert done.stdout.split() == _names(plan)


@pytest.mark.parametrize("what", ["run.toml", "north-2024.csv", "models", "starts", "label", "version"])
def test_another_content_is_another_identity(tmp_path: Path, what: str, monkeypatch: pytest.MonkeyPatch) -> None:
    plan = write_plan(tmp_path)
    fan = tmp_path / "my-models" / "fans" / "house.toml"
    fan.parent.mkdir(parents=True)
    bundled = dogdays.catalogue("axial-80")[0]
    assert bundled
    source = Path(__file__).parents[2] / "models" / "fans" / "axial-80.toml"
    fan.write_text(source.read_text(encoding="utf-8"), encoding="utf-8")
    before = set(_names(plan))
    assert before == set(_names(plan))
    if what == "run.toml":
        (tmp_path / what).write_text((tmp_path / what).read_text() + "# a word\n")
    elif what == "north-2024.csv":
        write_weather(tmp_path / what, 20.5)
    elif what == "models":
        fan.write_text(fan.read_text(encoding="utf-8") + "# a word\n", encoding="utf-8")
    elif what == "starts":
        plan.write_text(plan.read_text().replace('"8 h"', '"6 h"'))
    elif what == "label":
        plan.write_text(plan.read_text().replace("North", "Nord"))
    else:
        monkeypatch.setattr(dogdays, "__version__", "99.0.0")
    after = set(_names(plan))
    # What has nothing to do with the change stays.
    assert len(before & after) == (6 if what == "north-2024.csv" else 4 if what == "label" else 0)


def test_partitions_hold_every_case_once_and_as_much_as_asked(tmp_path: Path) -> None:
    plan = Plan.read(write_plan(tmp_path))
    contents = Contents(plan.folder)
    each = list(partitions(plan, cases(plan), lambda case: 3.0 if case.machine == "bench-60" else 1.0, 4.0, contents))
    names = [name for part in each for name, _ in part.cases]
    assert len(set(names)) == len(names) == SEASONS
    # Of each file two of 3 s fill one; what is left of two files, 2 s each, fills another.
    assert [len(part.cases) for part in each] == [2, 2, 2, 2, 4, 4]
    assert all(len({case.weather for _, case in part.cases}) == 1 for part in each[:4])


def test_measured_costs_are_kept_so_that_partitions_stay(tmp_path: Path) -> None:
    plan = write_plan(tmp_path, PLAN.replace('case_cost = "1 s"\n', "").replace('partition = "2 s"\n', ""))
    first = Fleet.of(Plan.read(plan))
    (kind,) = first.survey.sizes
    assert first.survey.sizes[kind][0] == SEASONS
    costs = tmp_path / "results" / "costs.json"
    kept = json.loads(costs.read_text())["seconds_per_byte_of_weather"]
    assert 0 < kept[kind] * first.survey.sizes[kind][1] < 60
    # Ten times as much: fewer seasons in a partition, and nothing is measured again.
    costs.write_text(costs.read_text().replace(str(kept[kind]), str(0.3 / (first.survey.sizes[kind][1] / SEASONS))))
    second = Fleet.of(Plan.read(plan))
    assert second.costs.all_s(second.survey) == pytest.approx(SEASONS * 0.3)
    assert second.costs.partition_s(second.survey) == 1.0
    assert [len(work.cases) for work, _ in second.work()] == [4] * 4
    assert [len(work.cases) for work, _ in Fleet.of(Plan.read(plan), tmp_path / "other", keep=False).work()] == [SEASONS]


def test_a_million_rows_are_planned_without_holding_them(tmp_path: Path) -> None:
    write_plan(tmp_path)
    with (tmp_path / "cases.csv").open("w") as file:
        file.write("site,machine,weather,room.above_outdoors\n")
        for k in range(1_000_000):
            file.write(f"S{k % 40},bench-60,north-{2024 + k % 2}.csv,{k} mK\n")
    plan = Plan.read(_a_table(tmp_path))
    taken = 0

    def counted() -> Iterator[Case]:
        nonlocal taken
        for case in cases(plan):
            taken += 1
            yield case

    first = next(partitions(plan, counted(), lambda case: 1.0, 60.0, Contents(plan.folder)))
    assert len(first.cases) == 60
    assert taken < 200
    code = (
        "import itertools, resource, sys; from pathlib import Path; from dogdays.fleet import Fleet, Plan\n"
        "from dogdays.fleet.cases import cases\n"
        "plan = Plan.read(Path(sys.argv[1])); peak = lambda: resource.getrusage(resource.RUSAGE_SELF).ru_maxrss\n"
        "sum(1 for _ in itertools.islice(cases(plan), 1000)); before = peak()\n"
        "fleet = Fleet.of(plan, keep=False); sum(1 for _ in itertools.islice(fleet.work(), 1000))\n"
        "print(fleet.survey.seasons, peak() - before)"
    )
    pytest.importorskip("resource", reason="memory is measured on POSIX only")
    env = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
    done = subprocess.run([sys.executable, "-c", code, str(plan.file)], env=env, capture_output=True, text=True, check=True)
    seasons, more_kB = map(int, done.stdout.split())
    assert seasons == 1_000_000
    # Held, a case is some 800 bytes: 800 MB.
    assert more_kB < 60_000


def _a_table(folder: Path) -> Path:
    path = folder / "plan.toml"
    path.write_text('[fleet]\nrun = "run.toml"\ncase_cost = "1 s"\n[[table]]\nfile = "cases.csv"\n')
    return path


def _row(plan: Plan, case: Case) -> dict[str, object]:
    from dogdays.fleet.costs import work_of

    return row("id", case, Files(work_of(plan, (("id", case),), "id", plan.results, Contents(plan.folder, plan.models))))


def test_a_row_is_what_a_season_finds(tmp_path: Path) -> None:
    plan = Plan.read(write_plan(tmp_path, PLAN.replace("[fleet]", "[fleet]\nleast_flow = true")))
    verdicts = set()
    for case in list(cases(plan))[::3]:
        found = _row(plan, case)
        season = dogdays.Run.from_file(tmp_path / "run.toml").with_settings(case.settings)
        same = season.season(tmp_path / str(case.weather), starts="8 h", least_flow=True, arrangements=False)
        assert isinstance(same, dogdays.Season) and same.least_flow is not None
        assert (found["starts"], found["holds"], found["tight"]) == (same.starts, same.holds, same.tight)
        assert (found["softens"], found["cannot_run"]) == (same.softens, same.cannot_run)
        assert found["worst_margin_K"] == same.margins_K().min()
        assert found["safe_share"] == same.holds / same.starts
        assert found["forced_cooling_needed"] == (same.holds < same.starts)
        assert found["least_flow_m3_per_h"] == same.least_flow.least_flow_m3_per_h
        verdicts.add(found["forced_cooling_needed"])
    assert verdicts == {True, False}


def test_a_row_is_what_the_program_finds(tmp_path: Path, program: object) -> None:
    plan = Plan.read(write_plan(tmp_path))
    case = next(case for case in cases(plan) if (case.site, case.machine, case.material) == ("South", "bench-60", "pla"))
    found = _row(plan, case)
    assert callable(program)
    same = program("season", tmp_path / "run.toml", "--weather", tmp_path / str(case.weather), "--starts", "8 h")
    for count in ("starts", "holds", "tight", "softens", "cannot_run"):
        assert found[count] == same[count]
    assert found["worst_margin_K"] == min(start["margin_K"] for start in same["starts_table"])


def test_the_manifest_is_the_last_word(tmp_path: Path) -> None:
    fleet = Fleet.of(Plan.read(write_plan(tmp_path)))

    def stop(receipt: parts.Receipt, cost_s: float, is_new: bool) -> None:
        if fleet.tally.computed == 3:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        fleet.run(workers=0, told=stop)
    manifest = tmp_path / "results" / "manifest.json"
    assert not manifest.exists()
    fleet = Fleet.of(Plan.read(tmp_path / "plan.toml"))
    fleet.run(workers=0)
    assert (fleet.tally.kept, fleet.tally.computed) == (3, 5)
    told = json.loads(manifest.read_text())
    assert (told["seasons"], told["failed"], len(told["parts"])) == (SEASONS, 0, 8)
    assert all((tmp_path / "results" / part["file"]).exists() for part in told["parts"])


def test_the_plan_of_the_readme_is_a_plan(tmp_path: Path) -> None:
    (text,) = re.findall(r"```toml\n(.*?)```", (Path(__file__).parents[1] / "README.md").read_text(encoding="utf-8"), re.S)
    (tmp_path / "house-models").mkdir()
    (tmp_path / "weather").mkdir()
    for year in (2024, 2025):
        write_weather(tmp_path / "weather" / f"orvelsby-{year}.csv", 20.0)
    (tmp_path / "cases.csv").write_text("site,machine\nOrvelsby,bench-60\n")
    (tmp_path / "plan.toml").write_text(text, encoding="utf-8")
    for name in ("housing.toml", "third.toml"):
        (tmp_path / name).write_text(RUN, encoding="utf-8")
    plan = Plan.read(tmp_path / "plan.toml")
    each = list(cases(plan))
    # 2 years of the one site; 1 machine, 2 materials, 2 arrangements, 2 rooms; and a row.
    assert len(each) == 2 * (1 * 2 * 2 * 2) + 2
    assert {case.run for case in each} == {"housing.toml", "third.toml"}
    assert {case.year for case in each} == {"2024", "2025"}
    assert all(_row(plan, case)["status"] == "computed" for case in each[:3])


def test_the_example_is_a_plan_and_its_weather_follows_its_rule() -> None:
    example = Path(__file__).parents[1] / "examples" / "fleet"
    fleet = Fleet.of(Plan.read(example / "fleet.toml"), example / "none", keep=False)
    assert (fleet.survey.seasons, fleet.survey.weathers) == (72, 9)
    spec = importlib.util.spec_from_file_location("make_weather", example / "make_weather.py")
    assert spec is not None and spec.loader is not None
    made = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(made)
    # 27 June 2024, 15:00: 21 + 3 cos((2.625 - 25) / 60) + 5 + 2.5 sin(9.625 / 9.7), angles in turns.
    assert made.temperature_degC(21.0, 5.0, 2024, 63) == pytest.approx(21 - 2.0934 + 5 - 0.1214, abs=1e-3)
    line = (example / "weather" / "orvelsby-2024.csv").read_text().splitlines()[22]
    assert line == "2024-06-27T15:00,23.8"
