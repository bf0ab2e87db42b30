"""How the package behaves: settings, errors, arrays, pickles, threads."""

from __future__ import annotations

import dataclasses
import datetime as dt
import json
import os
import pickle
import signal
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
        (lambda _: dogdays.Run.from_dict({"part": {"mass": float("nan")}}), "part.mass: nan"),
        (lambda _: dogdays.Weather.read(["a.csv"], fill="guess"), "guess"),
        (lambda _: dogdays.set_threads(0), "at least 1"),
        (lambda run: run.check(samples=-1), "samples: -1 is out of range"),
        (lambda run: run.check(samples=2**64), "samples"),
        (lambda run: run.check(samples="many"), "samples: 'many' is no whole number"),
        (lambda run: run.compare(seed=-1), "seed: -1"),
        (lambda run: run.season("x.csv", starts=3600), "starts: 3600 has no unit"),
        (lambda run: run.season("x.csv", at=3), "at: 3 is no moment"),
        (lambda run: run.season(b"x.csv"), "weather: bytes"),
        (lambda run: run.calibrate(readings=[3]), "readings: 3 is no text"),
        (lambda run: run.calibrate(others=["run.toml"]), "others: 'run.toml' is no run"),
        (lambda run: run.with_settings(None), "settings: NoneType"),
        (lambda run: run.with_settings({3: "45 degC"}), "settings: 3"),
        (lambda run: run.with_settings({"job.bed": float("nan")}), "job.bed: nan is no value"),
        (lambda run: run.with_settings({"job.bed": 2**70}), "job.bed: .* is too large"),
        (lambda run: run.with_settings({"job.bedd": None}), "job.bedd"),
        (lambda _: dogdays.Run("demo-data/run.toml"), "Run.from_file"),
        (lambda _: dogdays.Run.from_text("\ud800"), "text"),
        (lambda _: dogdays.Run.from_dict({"run": {"name": {1, 2}}}), "run.name: set has no place"),
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


def test_threads_may_be_set_at_any_time() -> None:
    found = []
    for threads in (1, 2):
        dogdays.set_threads(threads)
        found.append(dogdays.Run.demo().check(samples=8, remedies=False))
    assert found[0] == found[1], "how many threads compute changes nothing"


@pytest.mark.skipif(not hasattr(os, "fork"), reason="this system has no fork")
def test_a_forked_process_computes_too() -> None:
    # The parent has computed, and its threads do not come along.
    code = """
import multiprocessing, dogdays
run = dogdays.Run.demo()
mine = run.check(samples=4, remedies=False)
def job(bed):
    return run.with_settings({"job.bed": f"{bed} degC"}).check(samples=4, remedies=False)
if __name__ == "__main__":
    with multiprocessing.get_context("fork").Pool(2) as pool:
        assert pool.map(job, [60, 60, 60]) == [mine] * 3
"""
    subprocess.run([sys.executable, "-c", code], check=True, timeout=120)


@pytest.mark.skipif(sys.platform == "win32", reason="interrupts are signals here")
@pytest.mark.parametrize(
    "call",
    ["run.check(samples=65536)", "run.season(SUMMER, starts='1 min')", "run.season(SUMMER, starts='1 min', progress=print)"],
)
def test_an_interrupt_ends_a_long_call(demo_data: Path, call: str) -> None:
    code = f"import dogdays\nSUMMER = {str(demo_data / 'summer.csv')!r}\nrun = dogdays.Run.demo()\nprint('begun', flush=True)\n{call}"
    process = subprocess.Popen(
        [sys.executable, "-c", code], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    assert process.stdout.readline() == "begun\n"
    time.sleep(2.0)
    assert process.poll() is None, "it was over before it could be interrupted"
    process.send_signal(signal.SIGINT)
    _, told = process.communicate(timeout=60)
    assert process.returncode != 0 and "KeyboardInterrupt" in told


def test_tables_and_lists_can_be_set() -> None:
    run = dogdays.Run.demo()
    by_table = run.with_settings({"room": {"temperature": "31 degC"}})
    assert by_table.check(samples=None, remedies=False).to_dict() == run.with_settings(
        {"room": None, "room.temperature": "31 degC"}
    ).check(samples=None, remedies=False).to_dict()
    failing = run.with_settings({"failure": [{"kind": "power cut", "at": "Wed 14:00", "until": "Wed 16:00"}]})
    assert [failure.kind for failure in failing.check(samples=None, remedies=False).failures] == ["power cut"]
    for wrong in ({"job.bed": {"max": "45 degC"}}, {"require.margin": {"margin": "0 K"}}):
        with pytest.raises(dogdays.DogdaysError):
            run.with_settings(wrong)


def test_a_run_that_holds_by_chance_says_so() -> None:
    run = dogdays.Run.demo().with_settings({"room": None, "room.temperature": "28 degC"})
    found = run.check(remedies=False)
    assert found.verdict == "holds" and found.chance_softens > found.required_chance
    assert found.surely_holds is False and "soften" in found.answer
    assert run.check(samples=None, remedies=False).surely_holds is None
    other = run.with_settings({"material.name": "petg", "room.temperature": "18 degC"}).check(remedies=False)
    assert other.verdict == "holds" and other.surely_holds is True
    assert other.chance_softens is not None and other.chance_softens <= other.required_chance


def test_moments_and_lengths_of_time_as_python_has_them(demo_data: Path) -> None:
    run = dogdays.Run.from_dict({**SMALL, "run": {"start": np.datetime64("2026-07-13T07:00"), "duration": dt.timedelta(hours=6)}})
    assert run.duration_h == 6.0 and run.start.hour == 7
    found = run.check(samples=None, remedies=False)
    assert len(found.trajectory(dt.timedelta(hours=1)).elapsed_s) == 7
    by_text = dogdays.Run.demo().season(demo_data / "summer.csv", starts="24 h")
    assert dogdays.Run.demo().season(demo_data / "summer.csv", starts=dt.timedelta(days=1)) == by_text


def test_weather_is_sent_by_its_files(demo_data: Path) -> None:
    weather = dogdays.Weather.read(demo_data / "summer.csv")
    again = pickle.loads(pickle.dumps(weather))
    assert again.names == weather.names == ["summer"]


def test_files_are_found_from_the_current_folder(demo_data: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(demo_data)
    text = (demo_data / "run.toml").read_text(encoding="utf-8")
    here = dogdays.Run.from_text(text)
    monkeypatch.undo()
    assert pickle.loads(pickle.dumps(here)).check(samples=None) == here.check(samples=None)
    assert dogdays.Run.from_text(text, folder=demo_data).check(samples=None) == here.check(samples=None)


def test_what_is_shown_is_short(demo_data: Path) -> None:
    season = dogdays.Run.demo().season(demo_data / "summer.csv", starts="24 h")
    assert len(repr(season)) < 500 and "starts=95" in repr(season)
    found = dogdays.Run.demo().check(samples=None)
    assert len(repr(found)) < 3000 and "verdict='softens'" in repr(found)
    assert len(repr(found.trajectory())) < 200


def test_version() -> None:
    manifest = (Path(__file__).parents[1] / "Cargo.toml").read_text(encoding="utf-8")
    assert f'version = "{dogdays.__version__}"' in manifest
    assert repr(dogdays.Run.demo()).startswith("<Run 'Pump housing")
