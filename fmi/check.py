"""Tries units made by dogdays-fmu with FMPy: valid, as near to `dogdays check --csv` as its decimals, well-mannered.

    check.py DOGDAYS DOGDAYS-FMU ROOT WORK
"""

import csv
import json
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
from fmpy import extract, read_model_description, simulate_fmu
from fmpy.fmi3 import FMU3Slave, fmi3Error, fmi3LogMessageCallback
from fmpy.validation import validate_fmu

# The table has three decimals; what is asked of the unit is 0.02 K.
ALLOWED_K = 0.001
# Steps, s, and what a unit with an input may be off the run as a whole, K. The input is held over a step while the
# weather moves, up to 0.15 K in half of ten minutes, and thin outside faces follow it.
ALLOWED_WITH_INPUT_K = {60.0: 0.02, 300.0: 0.02, 600.0: 0.05}


def table(dogdays, run, every):
    """The rows of `check --csv`, K and hours."""
    out = run.with_suffix(".csv.out")
    done = subprocess.run(
        [dogdays, "--quiet", "check", run.name, "--no-band", "--force", "--csv", out, "--every", every],
        cwd=run.parent, stdout=subprocess.DEVNULL,
    )
    assert done.returncode in (0, 10, 20), done.returncode
    with open(out, encoding="utf-8", newline="") as file:
        header, *rows = csv.reader(file)
    columns = {}
    for k, name in enumerate(header):
        if name.endswith("_moving_degC"):
            continue
        if name.startswith("filament_"):
            columns["filament." + name[len("filament_") : -len("_degC")]] = k
        elif name.endswith("_degC"):
            columns["temperature." + name[: -len("_degC")]] = k
    return {n: np.array([float(r[k]) for r in rows]) + 273.15 for n, k in columns.items()}


def made(maker, run, fmu):
    subprocess.run([maker, run, fmu], check=True, stderr=subprocess.DEVNULL)
    problems = validate_fmu(str(fmu))
    assert not problems, problems
    return read_model_description(str(fmu))


def worst(result, rows):
    """Largest difference of any station and node at any row, K."""
    names = [n for n in result.dtype.names if n in rows]
    assert len(names) == len(rows), sorted(set(rows) - set(names))
    assert all(len(rows[n]) == len(result) for n in names), (len(result), len(rows[names[0]]))
    return max((float(np.max(np.abs(result[n] - rows[n]))), n) for n in names)


class Unit(FMU3Slave):
    """A unit by hand, its log kept."""

    def __init__(self, folder, description, said):
        super().__init__(
            guid=description.guid, unzipDirectory=str(folder), modelIdentifier=description.coSimulation.modelIdentifier,
            instanceName="unit",
        )
        self.said = said
        self.references = {v.name: v.valueReference for v in description.modelVariables}
        self.log = fmi3LogMessageCallback(lambda e, status, category, words: said.append((status, words.decode())))

    def begin(self):
        self.instantiate(logMessage=self.log)
        return self

    def start(self):
        self.enterInitializationMode(startTime=0.0)
        self.exitInitializationMode()

    def get(self, *names):
        return self.getFloat64([self.references[n] for n in names])

    def step(self, at, length):
        return self.doStep(currentCommunicationPoint=at, communicationStepSize=length)


def refused(said, call, words):
    """The call ends in an error that the log explains."""
    said.clear()
    try:
        call()
    except Exception:
        pass
    else:
        raise AssertionError(f"no error, though {words}")
    assert said and said[-1][0] == fmi3Error and words in said[-1][1], said


def manners(fmu, description, work):
    """Two units in one process, reset, steps past the end, wrong calls, wrong resources."""
    folder = Path(extract(str(fmu), unzipdir=str(work / "unit")))
    said = []
    one, two = (Unit(folder, description, said).begin() for _ in range(2))
    one.start()
    two.setBoolean([two.references["use_room_temperature"]], [True])
    two.setFloat64([two.references["room_temperature"]], [290.0])
    two.start()
    gear = "filament.drive_gear"
    for k in range(60):
        one.step(60.0 * k, 60.0)
        two.step(60.0 * k, 60.0)
    (warm,), (cool,) = one.get(gear), two.get(gear)
    assert warm > cool + 5.0, (warm, cool)
    # One that runs alone is not disturbed by the other; after a reset it is as new.
    one.reset()
    one.start()
    one.step(0.0, 3600.0)
    assert one.get(gear)[0] == warm
    limit, margin, least, heat = one.get("limit.drive_gear", "margin.drive_gear", "least_margin", "heat_to_room")
    assert abs(limit - margin - warm) < 1e-9 and least <= margin and 20.0 < heat < 700.0, (limit, margin, least, heat)
    refused(said, lambda: one.step(3600.0, 1e7), "the run lasts from 0 to 435600 s")
    refused(said, lambda: one.step(0.0, 60.0), "does not follow on 3600 s")
    refused(said, lambda: one.setFloat64([one.references["room_temperature"]], [31.0]), "must be from 150 to 500 K")
    refused(said, lambda: one.setFloat64([one.references[gear]], [300.0]), "is no input")
    refused(said, lambda: one.getFloat64([10_000]), "no variable with the value reference 10000")
    refused(said, lambda: one.enterInitializationMode(startTime=0.0), "out of turn")
    refused(said, lambda: one.getFMUState(), "is not offered")
    # After errors it goes on.
    one.step(3600.0, 60.0)
    for unit in (one, two):
        unit.terminate()
        unit.fmi3FreeInstance(unit.component)
    run = folder / "resources" / "run.toml"
    good = run.read_text(encoding="utf-8")
    for wrong, words in [
        (good.replace('"121 h"', '"121"'), "121"),
        (good.replace('name = "bench-220"', 'name = "no-such-machine"'), "no-such-machine"),
        (good.replace('name = "bench-220"', 'name = "bench-220"\nair_layers = 3'), "make the unit anew"),
    ]:
        assert wrong != good
        run.write_text(wrong, encoding="utf-8")
        refused(said, lambda: Unit(folder, description, said).begin(), words)
    run.unlink()
    refused(said, lambda: Unit(folder, description, said).begin(), "run.toml")


def with_input(fmu, rows, every_s):
    """The run's own weather through the input, at each step's middle: near the run as a whole."""
    times = np.arange(0.0, 48.0 * 3600.0 + 1.0, every_s)
    room = np.interp(times + 0.5 * every_s, np.arange(len(rows["temperature.room"])) * 600.0, rows["temperature.room"])
    room[0] = rows["temperature.room"][0]
    signal = np.array(list(zip(times, room)), dtype=[("time", float), ("room_temperature", float)])
    result = simulate_fmu(
        str(fmu), stop_time=float(times[-1]), step_size=every_s, output_interval=every_s, input=signal,
        start_values={"use_room_temperature": True, "room_temperature": room[0]},
        # The spool hangs in the room: it shows the input itself, half a step early.
        output=[n for n in rows if n not in ("filament.spool", "temperature.room")],
    )
    share = int(round(600.0 / every_s)) if every_s <= 600.0 else 1
    apart = {}
    for name in result.dtype.names[1:]:
        ours = result[name][::share]
        difference = np.abs(ours - rows[name][: len(ours)])
        # The input begins with a step as well: the first hours settle.
        apart[name] = float(np.max(difference[12:]))
    name = max(apart, key=apart.get)
    return apart[name], name


def heat(dogdays, fmu, run):
    """What the unit gives to the room, added up over the run, is what the run's own audit says has left, J."""
    said = subprocess.run(
        [dogdays, "--quiet", "check", run.name, "--no-band", "--json"], cwd=run.parent, capture_output=True, text=True
    )
    left = sum(json.loads(said.stdout)["heat"]["out_J"].values())
    result = simulate_fmu(str(fmu), step_size=60.0, output_interval=60.0, output=["heat_to_room"])
    given = float(np.trapezoid(result["heat_to_room"], result["time"]))
    return given / left - 1.0


def other_runs(dogdays, maker, runs, work):
    """A thermostat and a schedule through every arrangement; a room as a building, with one machine and with others."""
    for file in ("switched.toml", "warm-room.toml", "beside/shared-room.toml"):
        run = work / Path(file).name
        shutil.copy(runs / file, run)
        if "shared" in file:
            shutil.copy(runs / "beside" / "shared-room-third.toml", work)
        fmu = run.with_suffix(".fmu")
        description = made(maker, run, fmu)
        rows = table(dogdays, run, "10 min")
        outputs = [v.name for v in description.modelVariables if v.causality == "output"]
        result = simulate_fmu(str(fmu), step_size=600.0, output_interval=600.0, output=outputs)
        far, name = worst(result, rows)
        print(f"{run.stem}: {far:.4f} K from the table, {name}")
        assert far < ALLOWED_K
    # Machines that answer the same weather can't be given another one.
    said = []
    folder = Path(extract(str(fmu), unzipdir=str(work / "shared")))
    unit = Unit(folder, description, said).begin()
    unit.setBoolean([unit.references["use_outdoors_temperature"]], [True])
    refused(said, unit.start, "beside other runs")
    unit.fmi3FreeInstance(unit.component)


def main():
    dogdays, maker, root, work = (Path(p).resolve() for p in sys.argv[1:])
    run = work / "run.toml"
    shutil.copy(root / "demo-data" / "run.toml", run)
    shutil.copy(root / "demo-data" / "weather.csv", work)
    fmu = work / "demo.fmu"
    description = made(maker, run, fmu)
    outputs = [v.name for v in description.modelVariables if v.causality == "output"]
    rows = {}
    for every_s in (60.0, 600.0):
        rows = table(dogdays, run, f"{every_s / 60.0:.0f} min")
        result = simulate_fmu(str(fmu), step_size=every_s, output_interval=every_s, output=outputs)
        far, name = worst(result, rows)
        print(f"121 h in steps of {every_s:.0f} s: {far:.4f} K from the table, {name}; {len(rows)} columns, {len(result)} rows")
        assert far < ALLOWED_K
    for every_s, allowed in ALLOWED_WITH_INPUT_K.items():
        far, name = with_input(fmu, rows, every_s)
        print(f"48 h of the same weather through the input in steps of {every_s:.0f} s: {far:.4f} K, {name}")
        assert far < allowed
    off = heat(dogdays, fmu, run)
    print(f"heat given to the room over 121 h: {off:.1e} from the audit")
    assert abs(off) < 1e-5
    other_runs(dogdays, maker, root / "tests" / "evidence" / "second" / "runs", work)
    manners(fmu, description, work)
    print("two units, reset, steps past the end, wrong calls and wrong resources: as they should be")
    # A file outside the run file's folder can't go along.
    (work / "inner").mkdir()
    (work / "inner" / "run.toml").write_text(run.read_text().replace('"weather.csv"', '"../weather.csv"'))
    bad = subprocess.run([maker, work / "inner" / "run.toml", work / "bad.fmu"], capture_output=True, text=True)
    assert bad.returncode == 2 and "outside the run file's folder" in bad.stderr, bad.stderr
    assert not (work / "bad.fmu").exists()


if __name__ == "__main__":
    main()
