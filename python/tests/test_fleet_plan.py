"""Plans, cases, identities, partitions, parts and the summary, without any worker."""

from __future__ import annotations

import csv
import io
import json
import os
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

pytest.importorskip("pyarrow", reason='the fleet needs pyarrow: install "dogdays[fleet]"')

import pyarrow as pa
import pyarrow.parquet as pq
from fleet_help import PLAN, SEASONS, write_plan, write_weather

import dogdays
from dogdays.fleet import Fleet, Plan, PlanError, parts
from dogdays.fleet.cases import Case, cases
from dogdays.fleet.identity import Contents
from dogdays.fleet.partitions import partitions
from dogdays.fleet.summary import Summary
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
    same = program("season", tmp_path / "run.toml", "--weather", tmp_path / str(case.weather), "--every", "8 h")
    for count in ("starts", "holds", "tight", "softens", "cannot_run"):
        assert found[count] == same[count]
    assert found["worst_margin_K"] == min(start["margin_K"] for start in same["starts_table"])


def _part(folder: Path) -> tuple[str, Path]:
    rows = [{"identity": "a", "site": "North", "status": "computed", "starts": 3, "holds": 2, "seconds": 0.5}] * 2
    receipt = parts.write(folder, "abc", [*rows, {"identity": "b", "status": "failed", "message": "why"}])
    assert (receipt.rows, receipt.failed, receipt.seconds) == (3, 1, 1.0)
    return "abc", parts.path_of(folder, "abc")


def test_a_part_is_trusted_only_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    name, path = _part(tmp_path)
    assert list(tmp_path.iterdir()) == [path]
    assert parts.read(path, name, 3) is not None
    assert parts.read(path, "abd", 3) is None
    assert parts.read(path, name, 2) is None
    assert parts.read(tmp_path / "none.parquet", name) is None
    whole = path.read_bytes()
    for end in range(0, len(whole), 97):
        path.write_bytes(whole[:end])
        assert parts.read(path, name, 3) is None
    # One bit in the first page of data, which a footer knows nothing of.
    at = whole.index(b"\x28\xb5\x2f\xfd") + 12
    path.write_bytes(whole[:at] + bytes([whole[at] ^ 1]) + whole[at + 1 :])
    assert parts.read(path, name, 3) is None
    path.write_bytes(whole)
    assert parts.read(path, name, 3) is not None
    monkeypatch.setattr(dogdays, "__version__", "99.0.0")
    assert parts.read(path, name, 3) is None


def test_nothing_half_written_stays(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*arguments: object, **more: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(pq, "write_table", full)
    with pytest.raises(OSError, match="No space"):
        _part(tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_the_summary_counts_by_hand(tmp_path: Path) -> None:
    def season(year: str, holds: int, margin_K: float, **more: object) -> dict[str, object]:
        base = {"identity": year, "site": "North", "machine": "m", "material": "pla", "arrangement": "closed"}
        base |= {"variant": "", "run": "run.toml", "year": year, "status": "computed", "starts": 10, "holds": holds}
        return {**base, "worst_margin_K": margin_K, "forced_cooling_needed": holds < 10, "seconds": 1.0, **more}

    parts.write(tmp_path, "a", [season("2023", 10, 4.0), season("2024", 7, -1.5, least_flow_m3_per_h=20.0)])
    parts.write(tmp_path, "b", [season("2025", 9, -1.5), {**season("2026", 0, 0.0), "status": "failed", "message": "no\nsuch"}])
    found = Summary.of("a plan", tmp_path, ["b", "a"])
    (row,) = found.rows
    assert (row.years, row.failed, row.years_forced_cooling, row.starts, row.holds) == (3, 1, 2, 30, 26)
    assert (row.worst_margin_K, row.worst_year, row.least_flow_m3_per_h) == (-1.5, "2024", 20.0)
    (line,) = csv.DictReader(io.StringIO(found.csv()))
    assert (line["years"], line["years_failed"], line["years_forced_cooling"]) == ("3", "1", "2")
    assert float(line["safe_share"]) == 26 / 30
    text = found.text()
    assert "3 seasons computed, 1 failed" in text
    assert "1 of 1 machines, materials and arrangements need forced cooling in some year" in text
    assert "86.7 %  2 of 3 years" in text
    assert "North, m, pla, closed, 2026: no\n" in text


def test_the_picture_names_sites_and_what_failed(tmp_path: Path) -> None:
    pytest.importorskip("matplotlib", reason='pictures need matplotlib: install "dogdays[fleet]"')
    from dogdays.fleet.picture import MOST_SITES, draw
    from dogdays.fleet.summary import Row

    rows = [Row(f"Site {k}", "m", "pla", "closed", "", "r", 3, 0, 100, k) for k in range(MOST_SITES + 9)]
    rows.append(Row("Broken", "m", "pla", "closed", "", "r", 0, 3))
    summary = Summary("a plan", rows, [], 3 * len(rows), 3)
    assert [site.name for site in summary.sites()[:2]] == ["Site 0", "Site 1"]
    assert summary.sites()[-1].name == "Broken"
    for name in ("a.svg", "b.svg", "c.png"):
        draw(summary, tmp_path / name)
    assert (tmp_path / "a.svg").read_bytes() == (tmp_path / "b.svg").read_bytes()
    assert (tmp_path / "c.png").stat().st_size > 10_000
    # Text is drawn as shapes; matplotlib keeps it in comments.
    told = (tmp_path / "a.svg").read_text()
    assert f"the {MOST_SITES} least safe of {len(rows)} sites" in told
    assert "3 more failed" in told
    assert "<!-- Site 0 -->" in told and "<!-- Broken -->" not in told


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
