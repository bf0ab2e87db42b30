"""How the package behaves: settings, errors, arrays, pickles, threads."""

from __future__ import annotations

import dataclasses
import datetime as dt
import json
import pickle
import subprocess
import sys
import threading
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import dogdays

SMALL: dict[str, Any] = {
    "run": {"start": dt.datetime(2026, 7, 13, 7, 0), "duration": "6 h"},
    "machine": {"name": "bench-60"},
    "material": {"name": "petg"},
    "part": {"mass": "120 g"},
    "room": {"temperature": "24 degC"},
}


def test_a_dictionary_is_a_run_file() -> None:
    text = """
        run = { start = "2026-07-13 07:00", duration = "6 h" }
        machine.name = "bench-60"
        material.name = "petg"
        part.mass = "120 g"
        room.temperature = "24 degC"
    """
    by_text = dogdays.Run.from_text(text)
    by_dict = dogdays.Run.from_dict(SMALL)
    assert by_dict.start == dt.datetime(2026, 7, 13, 7, 0)
    assert by_dict.duration_h == 6.0
    assert by_dict.machine == "bench-60" and by_dict.material == "petg"
    assert by_dict.check(samples=None).to_dict() == by_text.check(samples=None).to_dict()


def test_numpy_scalars_and_missing_values_are_taken() -> None:
    run = {**SMALL, "requirements": None, "run": {**SMALL["run"], "name": np.str_("six hours")}}
    assert dogdays.Run.from_dict(run).name == "six hours"


def test_settings_make_another_run() -> None:
    run = dogdays.Run.from_dict(SMALL)
    warmer = run.with_settings({"room.temperature": "34 degC", "run.name": "a \"hot\" day"})
    assert warmer.name == 'a "hot" day'
    cool, hot = run.check(samples=None), warmer.check(samples=None)
    # The hotend and the bed keep their setpoints: the filament near them warms by less than the room.
    assert 5.0 < hot.peak.filament_degC - cool.peak.filament_degC < 10.0
    assert run.check(samples=None) == cool, "the run itself has not changed"
    assert warmer.with_settings({"room.temperature": "24 degC"}).check(samples=None).margin_K == cool.margin_K


def test_settings_of_the_demo_keep_its_weather() -> None:
    run = dogdays.Run.demo().with_settings({"material.name": "abs"})
    assert run.material == "abs"
    assert run.check(samples=None).peak.limit_degC > dogdays.Run.demo().check(samples=None).peak.limit_degC


def test_an_error_is_one_type_with_the_programs_words(tmp_path: Path) -> None:
    path = tmp_path / "run.toml"
    path.write_text('[machine]\nname = "bench-6O"\n[room]\ntemperatur = "24 degC"\n', encoding="utf-8")
    with pytest.raises(dogdays.DogdaysError) as told:
        dogdays.Run.from_file(path)
    assert isinstance(told.value, ValueError)
    text = str(told.value)
    assert "temperatur" in text and "bench-60" in text and "run.toml:4" in text
    problems = dogdays.problems(told.value)
    by_line = {problem.line: problem for problem in problems}
    assert by_line[4].file == str(path) and by_line[4].column == 1
    assert "did you mean `temperature`" in f"{by_line[4].message} {by_line[4].help}"
    assert "\x1b" not in text


def test_errors_are_the_programs_to_the_letter(program: Any, tmp_path: Path) -> None:
    path = tmp_path / "run.toml"
    path.write_text('[machine]\nname = "bench-60"\n', encoding="utf-8")
    done = subprocess.run([program.path, "check", str(path)], capture_output=True, check=False, text=True, encoding="utf-8")
    assert done.returncode == 2
    with pytest.raises(dogdays.DogdaysError) as told:
        dogdays.Run.from_file(path)
    assert done.stderr.strip() == str(told.value).strip()


@pytest.mark.parametrize(
    ("ask", "words"),
    [
        (lambda run: run.check(samples=1), "samples"),
        (lambda run: run.check(samples=None, sensitivity=True), "sensitivity"),
        (lambda run: run.size_fan(["axial-81"]), "axial-8"),
        (lambda run: run.season(), "no series"),
        (lambda run: run.season([]), "no weather"),
        (lambda run: run.season("no-such.csv"), "no-such.csv"),
        (lambda run: run.season("no-such.csv", starts="soon"), "soon"),
        (lambda run: run.calibrate(), "nothing to fit"),
        (lambda run: run.calibrate(readings=["feder motor = 49 degC at 3 h"]), "feder"),
        (lambda run: run.check(samples=None).trajectory("0 min"), "every"),
        (lambda run: run.with_settings({"part.mas": "1 kg"}), "did you mean `mass`"),
        (lambda run: run.with_settings({"part.mass": "heavy"}), "heavy"),
        (lambda run: run.with_settings({"part.mass": object()}), "object"),
        (lambda _: dogdays.catalogue("plb"), "pl"),
        (lambda _: dogdays.Run.from_file("no-such.toml"), "no such file"),
        (lambda _: dogdays.Run.from_text(""), "empty"),
        (lambda _: dogdays.Run.from_dict({"part": {"mass": float("nan")}}), "the run"),
        (lambda _: dogdays.Weather.read(["a.csv"], fill="guess"), "guess"),
        (lambda _: dogdays.set_threads(0), "at least 1"),
    ],
)
def test_what_can_not_be_asked_is_told(ask: Any, words: str) -> None:
    run = dogdays.Run.from_dict(SMALL)
    with pytest.raises(dogdays.DogdaysError, match=words):
        ask(run)


def test_what_progress_raises_comes_back(demo_data: Path) -> None:
    def stop(done: int, of: int) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        dogdays.Run.from_file(demo_data / "run.toml").season(
            demo_data / "summer.csv", starts="24 h", progress=stop
        )


def test_a_moment_with_a_zone_is_refused() -> None:
    moment = dt.datetime(2026, 7, 13, tzinfo=dt.timezone.utc)
    with pytest.raises(dogdays.DogdaysError, match="local time"):
        dogdays.Run.demo().season(at=moment)


def test_arrays_are_views_of_one() -> None:
    found = dogdays.Run.from_dict(SMALL).check(samples=None).trajectory("30 min")
    assert found.values_degC.shape == (len(found), len(found.elapsed_s))
    assert all(np.shares_memory(found[name], found.values_degC) for name in found)
    assert found.elapsed_h.tolist() == [k / 2 for k in range(13)]
    assert found.time[-1] == np.datetime64("2026-07-13T13:00:00")
    assert found["air_top_degC"].flags["C_CONTIGUOUS"]
    assert 24.0 <= found["air_top_degC"].min() < found["air_top_degC"].max() < 120.0


def test_the_peak_lies_on_the_trajectory() -> None:
    found = dogdays.Run.from_dict(SMALL).check(samples=None)
    courses = found.trajectory("1 min")
    name = f"filament_{found.peak.station.replace(' ', '_')}_degC"
    assert courses[name].max() == pytest.approx(found.peak.filament_degC, abs=0.01)


def test_pandas_if_it_is_there() -> None:
    pandas = pytest.importorskip("pandas")
    frame = dogdays.Run.from_dict(SMALL).check(samples=None).trajectory("1 h").to_pandas()
    assert frame.index.name == "time" and len(frame) == 7
    assert frame.index[0] == pandas.Timestamp("2026-07-13 07:00")


def test_pandas_is_not_imported_unasked() -> None:
    code = "import sys, dogdays; dogdays.Run.demo(); assert 'pandas' not in sys.modules and 'dask' not in sys.modules"
    subprocess.run([sys.executable, "-c", code], check=True)


@pytest.mark.parametrize("protocol", range(pickle.HIGHEST_PROTOCOL + 1))
def test_pickles(demo_data: Path, protocol: int) -> None:
    for run in (
        dogdays.Run.from_dict(SMALL),
        dogdays.Run.demo().with_settings({"part.mass": "1 kg"}),
        dogdays.Run.from_file(demo_data / "run.toml"),
    ):
        again = pickle.loads(pickle.dumps(run, protocol))
        assert again == run and hash(again) == hash(run) and again.name == run.name
    found = dogdays.Run.from_dict(SMALL).check(samples=None)
    again = pickle.loads(pickle.dumps(found, protocol))
    assert again == found
    with pytest.raises(dogdays.DogdaysError, match="trajectory"):
        again.trajectory()


def test_results_are_plain_and_frozen() -> None:
    found = dogdays.Run.from_dict(SMALL).check(samples=None)
    assert dataclasses.is_dataclass(found)
    with pytest.raises(dataclasses.FrozenInstanceError):
        found.margin_K = 99.0  # type: ignore[misc]
    assert json.loads(found.to_json()) == json.loads(found.to_json(indent=2)) == found.to_dict()


def test_a_result_of_another_version_is_not_half_read() -> None:
    told = dogdays.Run.from_dict(SMALL).check(samples=None).to_dict()
    with pytest.raises(ValueError, match="knows no `margin_F`"):
        dogdays.Check.from_dict({**told, "margin_F": 1.0})
    told.pop("margin_K")
    with pytest.raises(ValueError, match="there is no `margin_K`"):
        dogdays.Check.from_dict(told)


def test_the_interpreter_goes_on_meanwhile() -> None:
    run = dogdays.Run.demo()
    ticks: list[float] = []
    begun = threading.Event()

    def work() -> None:
        begun.set()
        run.check(samples=256, remedies=False)

    worker = threading.Thread(target=work)
    worker.start()
    begun.wait()
    while worker.is_alive():
        ticks.append(time.monotonic())
        time.sleep(0.001)
    # Had the call held the lock, this loop would not have turned until it returned.
    assert len(ticks) > 20, len(ticks)


def test_threads_are_set_before_anything_runs() -> None:
    code = """
import dogdays
dogdays.set_threads(1)
dogdays.Run.demo().check(samples=4, remedies=False)
try:
    dogdays.set_threads(2)
except dogdays.DogdaysError as e:
    assert "before the first call" in str(e)
else:
    raise SystemExit("taken")
"""
    subprocess.run([sys.executable, "-c", code], check=True)


def test_version() -> None:
    manifest = (Path(__file__).parents[1] / "Cargo.toml").read_text(encoding="utf-8")
    assert f'version = "{dogdays.__version__}"' in manifest
    assert repr(dogdays.Run.demo()).startswith("<Run 'Pump housing")
