"""What Python is told equals what the program prints: every key, every digit."""

from __future__ import annotations

import csv
import datetime as dt
import json
import shutil
import subprocess
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import dogdays

RUNS = ["run.toml", "workshop.toml", "failures.toml", "cable-clips.toml"]


@pytest.mark.parametrize("name", RUNS)
def test_check(program: Any, demo_data: Path, name: str) -> None:
    found = dogdays.Run.from_file(demo_data / name).check(samples=32, seed=2)
    told = program("check", demo_data / name, "--samples", "32", "--seed", "2")
    assert found.to_dict() == told
    assert dogdays.Check.from_dict(told) == found


KINDS: dict[str, dict[str, str]] = {
    "thermostat": {
        "arrangement.kind": "extracting",
        "arrangement.flow": "30 m3/h",
        "arrangement.thermostat.on_above": "40 degC",
        "arrangement.thermostat.off_below": "37 degC",
        "system.fan_power": "8 W",
        "system.price_per_kWh": "0.3",
    },
    "spools and hours": {"spool.mass": "1 kg", "shop.hours": "8:00-17:00"},
    "too weak a bed": {"machine.bed.max_power": "30 W"},
    "lid off": {"arrangement.kind": "lid off"},
    "another material": {"material.name": "abs"},
}


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_run(program: Any, demo_data: Path, tmp_path: Path, kind: str) -> None:
    # Weather and models are found from the folder; a number is written as a number.
    settings = {key: float(text) if text == "0.3" else text for key, text in KINDS[kind].items()}
    run = dogdays.Run.from_file(demo_data / "run.toml").with_settings(settings)
    path = tmp_path / "run.toml"
    path.write_text(run.text, encoding="utf-8")
    shutil.copy(demo_data / "weather.csv", tmp_path)
    assert run.check(samples=None, remedies=True).to_dict() == program("check", path, "--no-band", "--remedies")
    assert run.size_fan(["axial-80"], samples=None).to_dict() == program("size-fan", path, "--fan", "axial-80", "--no-band")


def test_check_without_a_band_and_with_all_remedies(program: Any, demo_data: Path) -> None:
    path = demo_data / "cable-clips.toml"
    found = dogdays.Run.from_file(path).check(samples=None, remedies=True, explain=True)
    assert found.to_dict() == program("check", path, "--no-band", "--remedies", "--explain")
    assert found.margin is None and "margin" not in found.to_dict()


def test_check_says_what_matters(program: Any, demo_data: Path) -> None:
    path = demo_data / "run.toml"
    found = dogdays.Run.from_file(path).check(samples=8, remedies=False, sensitivity=True)
    told = program("check", path, "--samples", "8", "--sensitivity")
    # This run softens, and the program names remedies then whether it is asked to or not.
    told.pop("remedies")
    assert found.to_dict() == told


def test_the_demo_is_the_programs(program: Any) -> None:
    assert dogdays.Run.demo().check(samples=None).to_dict() == program("check", "--no-band")


@pytest.mark.parametrize("name", ["run.toml", "workshop.toml"])
def test_compare(program: Any, demo_data: Path, name: str) -> None:
    found = dogdays.Run.from_file(demo_data / name).compare(samples=16)
    assert found.to_dict() == program("compare", demo_data / name, "--samples", "16")


def test_size_fan(program: Any, demo_data: Path) -> None:
    run = dogdays.Run.from_file(demo_data / "run.toml")
    found = run.size_fan(["axial-80", "blower-97"], samples=None)
    told = program(
        "size-fan", demo_data / "run.toml", "--fan", "axial-80", "--fan", "blower-97", "--no-band"
    )
    assert found.to_dict() == told
    assert [fan.fan for fan in found.fans] == [fan["fan"] for fan in told["fans"]]


def test_size_fan_where_none_is_needed(program: Any, demo_data: Path) -> None:
    path = demo_data / "cable-clips.toml"
    found = dogdays.Run.from_file(path).size_fan(samples=None)
    assert found.to_dict() == program("size-fan", path, "--no-band")


def test_season(program: Any, demo_data: Path) -> None:
    run = dogdays.Run.from_file(demo_data / "run.toml")
    asked = ["--starts", "6 h", "--from", "2026-08-30 16:00", "--least-flow"]
    told = program("season", demo_data / "run.toml", "--weather", demo_data / "summer.csv", *asked)
    calls: list[tuple[int, int]] = []
    found = run.season(
        demo_data / "summer.csv",
        starts="6 h",
        at="2026-08-30 16:00",
        least_flow=True,
        progress=lambda done, of: calls.append((done, of)),
    )
    assert isinstance(found, dogdays.Season)
    assert found.to_dict() == told
    assert max(calls) == (found.starts, found.starts)
    assert found.margins_K().shape == (found.starts,)
    assert found.start_times()[1] - found.start_times()[0] == np.timedelta64(6, "h")


def test_years(program: Any, demo_data: Path) -> None:
    files = [demo_data / "summer.csv", demo_data / "weather.csv"]
    found = dogdays.Run.from_file(demo_data / "run.toml").season(files, starts="12 h")
    assert isinstance(found, dogdays.Years)
    told = program(
        "season", demo_data / "run.toml", "--weather", *files, "--starts", "12 h"
    )
    assert found.to_dict() == told


def test_calibrate(program: Any, demo_data: Path, tmp_path: Path) -> None:
    run = dogdays.Run.from_file(demo_data / "run.toml")
    log = demo_data / "first-day.csv"
    machine = tmp_path / "mine.toml"
    told = program("calibrate", demo_data / "run.toml", "--log", log, "--write", machine)
    found = run.calibrate(log)
    assert found.to_dict() == told
    assert found.machine_file == machine.read_text(encoding="utf-8")
    assert any("first-day.csv" in note for note in found.notes)


def test_a_log_that_counts_from_its_begin(program: Any, demo_data: Path, tmp_path: Path) -> None:
    rows = (demo_data / "first-day.csv").read_text(encoding="utf-8").splitlines()
    rows = [f"{5 * k}," + row.split(",", 1)[1] for k, row in enumerate(rows, -1)]
    log = tmp_path / "counted.csv"
    log.write_text("\n".join([rows[0].replace("-5,", "Elapsed (min),"), *rows[1:]]), encoding="utf-8")
    run = dogdays.Run.from_file(demo_data / "run.toml")
    begins = dt.datetime(2026, 7, 13, 7)
    found = run.calibrate(log, log_begins=begins, parameters="coefficients.feeder_heat")
    path, key = demo_data / "run.toml", "coefficients.feeder_heat"
    told = program("calibrate", path, "--log", log, "--log-begins", "0 h", "--parameter", key)
    assert found.to_dict() == told
    with pytest.raises(dogdays.DogdaysError, match="nothing says when that was"):
        run.calibrate(log)
    with pytest.raises(dogdays.DogdaysError, match="log_begins: 3 is no moment"):
        run.calibrate(log, log_begins=3)  # type: ignore[arg-type]


def test_readings(program: Any, demo_data: Path) -> None:
    readings = ["feeder motor = 57 degC at Wed 17:00", "air top = 49 degC at Wed 17:00 within 1.5 K"]
    found = dogdays.Run.from_file(demo_data / "run.toml").calibrate(readings=readings)
    options = [word for reading in readings for word in ("--reading", reading)]
    assert found.to_dict() == program("calibrate", demo_data / "run.toml", *options)


def test_catalogue(program: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert dogdays.catalogue() == program("catalogue")["entries"]
    assert dogdays.catalogue("pla") == program("catalogue", "pla")["entries"]


def test_catalogue_with_models_of_ones_own(
    program: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    machines = Path("my-models", "machines")
    machines.mkdir(parents=True)
    text = subprocess.run(
        [program.path, "catalogue", "bench-60", "--file"], capture_output=True, check=True
    ).stdout
    (machines / "mine.toml").write_bytes(text)
    assert "mine" in [entry["name"] for entry in dogdays.catalogue()]
    assert dogdays.catalogue() == program("catalogue")["entries"]
    assert dogdays.catalogue("mine") == program("catalogue", "mine")["entries"]
    (machines / "begun.toml").touch()
    with pytest.warns(UserWarning, match="begun"):
        left = dogdays.catalogue()
    assert left == program("catalogue")["entries"]
    Path("my-models").rename("elsewhere")
    assert "mine" not in [entry["name"] for entry in dogdays.catalogue()]
    with pytest.warns(UserWarning, match="begun"):
        assert dogdays.catalogue(models="elsewhere") == left


def test_trajectory_and_network(program: Any, demo_data: Path, tmp_path: Path) -> None:
    path = demo_data / "run.toml"
    table, network = tmp_path / "run.csv", tmp_path / "net.json"
    command = [program.path, "check", path, "--no-band", "--every", "1 h"]
    command += ["--csv", table, "--export-network", network]
    done = subprocess.run(command, capture_output=True, check=False)
    assert done.returncode == 20, done.stderr
    run = dogdays.Run.from_file(path)
    assert run.network() == json.loads(network.read_text(encoding="utf-8"))
    found = run.check(samples=None, remedies=False).trajectory("1 h")
    with table.open(newline="", encoding="utf-8") as file:
        header, *rows = csv.reader(file)
    assert header[2:] == list(found)
    assert [row[0] for row in rows] == [str(t) for t in found.time]
    told = np.array([[float(cell) for cell in row[2:]] for row in rows]).T
    # The program writes three digits.
    np.testing.assert_allclose(found.values_degC, told, rtol=0, atol=0.000501)
