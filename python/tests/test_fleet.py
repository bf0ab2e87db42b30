"""A fleet on two worker processes of this computer: what dies, breaks, stops and goes on."""

from __future__ import annotations

import contextlib
import json
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

pytest.importorskip("pyarrow", reason='the fleet needs pyarrow: install "dogdays[fleet]"')
pytest.importorskip("distributed", reason='the fleet needs dask and distributed: install "dogdays[fleet]"')

import fleet_help
from fleet_help import PARTITIONS, PLAN, SEASONS, begun, rows, write_plan, write_weather

from dogdays.fleet import Fleet, FleetError, Plan, parts

#: More and smaller partitions, one season each, so that there is time to break something.
SLOW = PLAN.replace('"2 s"', '"1 s"')


def _fleet(plan: Path, results: str = "results") -> Fleet:
    return Fleet.of(Plan.read(plan), plan.parent / results)


@pytest.fixture(scope="module")
def serial(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], list[dict[str, Any]]]:
    """Rows of a plan as computed one after the other in this process, without Dask."""
    known: dict[str, list[dict[str, Any]]] = {}

    def of(plan: str) -> list[dict[str, Any]]:
        if plan not in known:
            folder = tmp_path_factory.mktemp("serial")
            _fleet(write_plan(folder, plan)).run(workers=0)
            known[plan] = rows(folder / "results")
            assert len(known[plan]) == SEASONS
        return known[plan]

    return of


@pytest.fixture(autouse=True)
def no_process_stays() -> Iterator[None]:
    """Each test takes its processes with it."""
    psutil = pytest.importorskip("psutil")
    before = {child.pid for child in psutil.Process().children(recursive=True)}
    yield
    end = time.monotonic() + 10
    while time.monotonic() < end:
        left = [child for child in psutil.Process().children(recursive=True) if child.pid not in before]
        # The process by which Python's multiprocessing keeps count of its resources ends with this one.
        left = [child for child in left if "resource_tracker" not in " ".join(_command(child))]
        if not left:
            return
        time.sleep(0.1)
    pytest.fail(f"processes stay: {left}")


def _command(process: Any) -> list[str]:
    with contextlib.suppress(Exception):
        found: list[str] = process.cmdline()
        return found
    return []


def test_workers_find_what_one_process_finds(tmp_path: Path, serial: Callable[[str], Any]) -> None:
    fleet = _fleet(write_plan(tmp_path))
    fleet.run(workers=2)
    assert (fleet.tally.computed, fleet.seasons_done, fleet.seasons_failed) == (PARTITIONS, SEASONS, 0)
    assert rows(fleet.results) == serial(PLAN)
    assert not list((fleet.results / "parts").glob(f"{parts.TEMPORARY}*"))


def test_a_killed_worker_loses_nothing_and_doubles_nothing(tmp_path: Path, serial: Callable[[str], Any]) -> None:
    fleet = _fleet(write_plan(tmp_path, SLOW))
    killed: list[str] = []

    def kill(receipt: parts.Receipt, cost_s: float, is_new: bool) -> None:
        # One that is in the middle of a partition: it began, and there is no part of it.
        for pid, name in reversed(begun(fleet.results)):
            if not killed and pid != os.getpid() and not parts.path_of(fleet.results / "parts", name).exists():
                os.kill(pid, signal.SIGKILL)
                killed.append(name)

    fleet.run(workers=2, told=kill, task=fleet_help.slow)
    assert killed
    times = [name for _, name in begun(fleet.results)]
    # It was begun again, and by another process.
    assert times.count(killed[0]) >= 2
    assert len({pid for pid, name in begun(fleet.results) if name == killed[0]}) >= 2
    assert fleet.seasons_failed == 0
    assert rows(fleet.results) == serial(SLOW)


def test_what_was_interrupted_goes_on(tmp_path: Path, serial: Callable[[str], Any]) -> None:
    plan = write_plan(tmp_path, SLOW)
    first = _fleet(plan)

    def stop(receipt: parts.Receipt, cost_s: float, is_new: bool) -> None:
        if first.tally.computed == 4:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        first.run(workers=2, told=stop, task=fleet_help.slow)
    there = {path.stem for path in (first.results / "parts").glob("*.parquet")}
    assert 4 <= len(there) < SEASONS
    (first.results / "begun.log").unlink()
    second = _fleet(plan)
    second.run(workers=2, task=fleet_help.slow)
    assert second.tally.kept == len(there)
    again = [name for _, name in begun(second.results)]
    assert len(again) == len(set(again)) == SEASONS - len(there)
    assert not there & set(again)
    assert rows(second.results) == serial(SLOW)
    third = _fleet(plan)
    third.run(workers=2, task=fleet_help.too_full)
    assert (third.tally.kept, third.tally.computed) == (SEASONS, 0)


def test_a_part_that_is_not_whole_is_computed_again(tmp_path: Path, serial: Callable[[str], Any]) -> None:
    plan = write_plan(tmp_path)
    first = _fleet(plan)
    first.run(workers=0)
    short, other, gone, *rest = (parts.path_of(first.results / "parts", name) for name in first.names())
    short.write_bytes(short.read_bytes()[:-20])
    other.write_bytes(rest[0].read_bytes())
    gone.unlink()
    second = _fleet(plan)
    second.run(workers=0)
    assert (second.tally.kept, second.tally.computed) == (PARTITIONS - 3, 3)
    assert rows(second.results) == serial(PLAN)


def test_a_partition_that_kills_its_workers_fails_and_the_rest_is_computed(tmp_path: Path) -> None:
    import dask

    plan = write_plan(tmp_path)
    fleet = _fleet(plan)
    with dask.config.set({"distributed.scheduler.allowed-failures": 1}):
        fleet.run(workers=2, task=fleet_help.dies)
    failed = [row for row in rows(fleet.results) if row["status"] == "failed"]
    assert len(failed) == fleet.seasons_failed >= 4
    assert {row["weather"] for row in failed} >= {"north-2024.csv"}
    # Dask counts a death against all that the worker held; what it did not hold is computed.
    assert len(failed) < SEASONS
    assert all("died" in row["message"] and "--retry-failed" in row["message"] for row in failed)
    again = _fleet(plan)
    again.run(workers=0)
    assert again.tally.computed == 0
    again = _fleet(plan)
    again.run(workers=0, retry_failed=True)
    assert again.tally.computed == len(failed) / 2
    assert again.seasons_failed == 0


def test_a_place_that_can_not_be_written_ends_the_fleet(tmp_path: Path) -> None:
    with pytest.raises(FleetError, match="No space left on device"):
        _fleet(write_plan(tmp_path)).run(workers=1, task=fleet_help.too_full)


def _command_line(*arguments: object, **more: Any) -> subprocess.Popen[str]:
    env = {**os.environ, "PYTHONPATH": os.pathsep.join(path for path in sys.path if path)}
    command = [sys.executable, "-m", "dogdays.fleet", *map(str, arguments)]
    return subprocess.Popen(
        command, env=env, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True, **more
    )


def _run(*arguments: object) -> tuple[int, str, str]:
    with _command_line(*arguments) as process:
        try:
            out, err = process.communicate(timeout=90)
        except BaseException:
            process.kill()
            raise
    return process.returncode, out, err


def test_bad_input_is_a_row_and_the_rest_is_computed(tmp_path: Path) -> None:
    plan = write_plan(
        tmp_path,
        PLAN.replace('"bench-220"]', '"bench-61"]')
        + '[[product]]\nsite = "Nort"\nmaterial = "pla"\n'
        + '[[product]]\nsite = "North"\nroom.abve_outdoors = "2 K"\n'
        + '[[product]]\nsite = "North"\nrun = "no-run.toml"\n',
    )
    (tmp_path / "north-2024.csv").write_text("time,temperature_degC\n2026-07-01T00:00,warm\n")
    (tmp_path / "south-2024.csv").unlink()
    plan.write_text(plan.read_text().replace('"south-*.csv"', '["south-2024.csv", "south-2025.csv"]'))
    code, out, err = _run(plan, "--workers", "0")
    assert code == 3, err
    found = rows(tmp_path / "results")
    computed = {(row["weather"], row["machine"]) for row in found if row["status"] == "computed"}
    assert computed == {("north-2025.csv", "bench-60"), ("south-2025.csv", "bench-60")}
    why = {(row["weather"], row["machine"], row["run"]): row["message"] for row in found if row["status"] == "failed"}
    assert 'no machine "bench-61"' in why["north-2025.csv", "bench-61", "run.toml"]
    assert "warm" in why["north-2024.csv", "bench-60", "run.toml"]
    assert "no such file" in why["south-2024.csv", "bench-60", "run.toml"]
    assert "did you mean `North`?" in why[None, "", "run.toml"]
    assert "abve_outdoors" in why["north-2025.csv", "", "run.toml"]
    assert "no-run.toml" in why["north-2025.csv", "", "no-run.toml"]
    assert f"4 seasons computed, {len(found) - 4} failed" in out
    assert 'no machine "bench-61"' in out
    manifest = json.loads((tmp_path / "results" / "manifest.json").read_text())
    assert (manifest["seasons"], manifest["failed"]) == (len(found), len(found) - 4)
    assert {path.name for path in (tmp_path / "results").iterdir()} >= {"summary.csv", "summary.txt"}


def test_what_changed_since_it_was_planned_fails_with_a_word(tmp_path: Path) -> None:
    fleet = _fleet(write_plan(tmp_path))
    todo = list(fleet.work())
    write_weather(tmp_path / "north-2024.csv", 25.0)
    from dogdays.fleet.worker import compute

    parts.mark(fleet.results / "parts")
    for work, _ in todo:
        compute(work)
    failed = [row for row in rows(fleet.results) if row["status"] == "failed"]
    assert {row["weather"] for row in failed} == {"north-2024.csv"}
    assert len(failed) == 4
    assert all("its content differs" in row["message"] for row in failed)


def test_a_worker_that_sees_another_folder_or_has_another_version_computes_nothing(tmp_path: Path) -> None:
    import dataclasses

    from dogdays.fleet.worker import compute

    fleet = _fleet(write_plan(tmp_path))
    works: list[Any] = []

    def kept(work: Any) -> parts.Receipt:
        works.append(work)
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        fleet.run(workers=0, task=kept)
    with pytest.raises(FleetError, match="does not see the results"):
        compute(dataclasses.replace(works[0], parts=tmp_path))
    with pytest.raises(FleetError, match="install the same version everywhere"):
        compute(dataclasses.replace(works[0], version="99.0.0"))
    assert compute(works[0]).rows == len(works[0].cases)


def test_a_wrong_plan_and_a_dry_run_compute_nothing(tmp_path: Path) -> None:
    plan = write_plan(tmp_path, PLAN.replace("starts", "strats"))
    code, out, err = _run(plan)
    assert (code, out) == (2, "")
    assert "did you mean `starts`?" in err
    plan.write_text(PLAN.replace("[fleet]", "[fleet]\nprice_per_core_hour = 900"))
    code, out, err = _run(plan, "--dry-run")
    assert (code, err) == (0, "")
    assert f"{SEASONS} seasons in {PARTITIONS} partitions, 4 weather files" in out
    # 16 s of one core.
    assert "at 900 a core hour: 4.00" in out
    assert not (tmp_path / "results").exists()


def _free_port() -> int:
    with socket.socket() as held:
        held.bind(("127.0.0.1", 0))
        port: int = held.getsockname()[1]
        return port


def test_no_scheduler_is_told_soon(tmp_path: Path) -> None:
    plan = write_plan(tmp_path)
    address = f"tcp://127.0.0.1:{_free_port()}"
    begun_s = time.monotonic()
    code, out, err = _run(plan, "--scheduler", address)
    assert (code, out) == (1, "")
    assert f"no scheduler answers at {address}" in err
    assert f"0 of {SEASONS} seasons are in" in err
    assert "Traceback" not in err
    assert time.monotonic() - begun_s < 25


def _wait_for_parts(results: Path, count: int, process: subprocess.Popen[str]) -> None:
    end = time.monotonic() + 60
    while len(list((results / "parts").glob("*.parquet"))) < count:
        assert process.poll() is None, process.communicate()
        assert time.monotonic() < end
        time.sleep(0.02)


#: Enough seasons that something can happen meanwhile.
LONG = SLOW.replace('material = ["pla", "petg"]', "material = [" + '"pla", "petg", "abs", "asa", "pp", ' * 4 + "]").replace(
    '"8 h"', '"1 h"'
)
LONG += '"room.above_outdoors" = ["0 K", "1 K", "2 K", "3 K", "4 K"]\n'


@pytest.mark.parametrize("sent", [signal.SIGINT, signal.SIGTERM])
def test_ctrl_c_keeps_what_is_done(tmp_path: Path, sent: signal.Signals) -> None:
    plan = write_plan(tmp_path, LONG)
    with _command_line(plan, "--workers", "2") as process:
        _wait_for_parts(tmp_path / "results", 3, process)
        # As a terminal does: to the whole group. A service manager tells one.
        if sent == signal.SIGINT:
            os.killpg(process.pid, sent)
        else:
            os.kill(process.pid, sent)
        out, err = process.communicate(timeout=60)
    assert (process.returncode, out) == (1, ""), err
    assert "interrupted" in err
    assert "the same command goes on from there" in err
    assert "Traceback" not in err
    done = len(list((tmp_path / "results" / "parts").glob("*.parquet")))
    fleet = _fleet(plan)
    assert fleet.survey.seasons == 800
    todo = sum(1 for _ in fleet.work())
    assert fleet.tally.kept + todo > done >= 3
    # All that is there is whole.
    assert fleet.tally.kept == done
    assert not (tmp_path / "results" / "manifest.json").exists()


def test_a_scheduler_that_goes_away_leaves_what_is_done(tmp_path: Path) -> None:
    plan = write_plan(tmp_path, LONG)
    address = f"127.0.0.1:{_free_port()}"
    env = {**os.environ, "PYTHONPATH": os.pathsep.join(path for path in sys.path if path)}
    dask = [sys.executable, "-m", "distributed.cli.dask_scheduler", "--host", address.split(":")[0]]
    dask += ["--port", address.split(":")[1], "--no-dashboard", "--no-jupyter"]
    work = [sys.executable, "-m", "distributed.cli.dask_worker", f"tcp://{address}", "--no-dashboard", "--no-nanny"]
    work += ["--host", "127.0.0.1", "--nthreads", "1", "--local-directory", str(tmp_path), "--death-timeout", "20"]
    quiet: dict[str, Any] = {"env": env, "stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    with subprocess.Popen(dask, **quiet) as scheduler, subprocess.Popen(work, **quiet) as worker:
        try:
            with _command_line(plan, "--scheduler", f"tcp://{address}") as process:
                _wait_for_parts(tmp_path / "results", 3, process)
                scheduler.kill()
                gone_s = time.monotonic()
                out, err = process.communicate(timeout=60)
        finally:
            scheduler.kill()
            worker.terminate()
    assert (process.returncode, out) == (1, ""), err
    assert time.monotonic() - gone_s < 25
    assert "the scheduler went away" in err
    assert "the same command goes on from there" in err
    assert "Traceback" not in err
    fleet = _fleet(plan)
    todo = sum(1 for _ in fleet.work())
    assert fleet.tally.kept >= 3
    assert todo > 0


def test_progress_is_for_terminals() -> None:
    import io

    from dogdays.fleet.progress import Progress, duration

    class Terminal(io.StringIO):
        def isatty(self) -> bool:
            return True

    receipt = parts.Receipt("a", 10, 0, 1.0)
    for out, is_seen in ((io.StringIO(), False), (Terminal(), True)):
        progress = Progress(30, out)
        progress.told(receipt, 1.0, True)
        progress.end()
        assert ("10 of 30 seasons" in out.getvalue()) == is_seen
    assert progress.line(5.0) == "10 of 30 seasons, 2 a second, 10 s left"
    assert (duration(100), duration(7200), duration(200_000)) == ("100 s", "2 h", "2 days")


def test_workers_here_take_one_thread_each_and_are_seen_by_nobody_else() -> None:
    from dogdays.fleet import engine

    psutil = pytest.importorskip("psutil")
    own = psutil.Process()
    before = {c.laddr for c in own.net_connections(kind="inet") if c.status == psutil.CONN_LISTEN}
    with engine.connected(None, 2) as client:
        each = client.scheduler_info()["workers"].values()
        assert [worker["nthreads"] for worker in each] == [1, 1]
        found = [c for p in (own, *own.children(recursive=True)) for c in p.net_connections(kind="inet")]
        listening = {c.laddr for c in found if c.status == psutil.CONN_LISTEN} - before
        assert len(listening) >= 3
        assert {ip for ip, _ in listening} == {"127.0.0.1"}
        assert set(client.run(os.getenv, "RAYON_NUM_THREADS").values()) == {"1"}


def test_no_thread_of_dask_stays(tmp_path: Path) -> None:
    before = {thread.name for thread in threading.enumerate()}
    _fleet(write_plan(tmp_path)).run(workers=1)
    end = time.monotonic() + 5
    while time.monotonic() < end:
        left = [t for t in threading.enumerate() if t.name not in before and not t.daemon]
        if not left:
            return
        time.sleep(0.1)
    pytest.fail(f"threads stay: {left}")
