"""The command: `python -m dogdays.fleet PLAN.toml`."""

from __future__ import annotations

import argparse
import signal
import sys
from pathlib import Path
from types import FrameType

from . import Fleet, FleetError, Plan, PlanError

#: All computed; anything else went wrong; the plan is wrong; some seasons failed. `dogdays` itself answers with 10, 20
#: and 30 too, which are verdicts about one run: a fleet has none.
OK, ELSE, WRONG_PLAN, SOME_FAILED = 0, 1, 2, 3


def _count(text: str) -> int:
    number = int(text)
    if number < 0:
        raise ValueError
    return number


def _arguments() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m dogdays.fleet",
        description="Computes a season of each case of a plan on Dask workers, and sums up where forced cooling is needed.",
        epilog="Exit codes: 0 all computed, 3 some seasons failed (their rows say why), 2 wrong plan, 1 anything else.",
    )
    parser.add_argument("plan", type=Path, metavar="PLAN.toml", help="what is to be computed")
    parser.add_argument("--results", type=Path, metavar="FOLDER", help="instead of the plan's")
    where = parser.add_mutually_exclusive_group()
    where.add_argument("--scheduler", metavar="ADDRESS", help="a Dask scheduler, as in tcp://10.0.0.5:8786")
    where.add_argument(
        "--workers", type=_count, metavar="N", help="processes on this computer, one a core unless given; 0: no others"
    )
    parser.add_argument("--retry-failed", action="store_true", help="compute parts anew in which something failed")
    parser.add_argument("--dry-run", action="store_true", help="only say how many seasons there are and what they cost")
    return parser


def main(arguments: list[str] | None = None) -> int:
    """Runs the command; the exit code."""
    asked = _arguments().parse_args(arguments)
    signal.signal(signal.SIGTERM, _interrupt)
    try:
        fleet = Fleet.of(Plan.read(asked.plan), asked.results, keep=not asked.dry_run)
        return _estimate(fleet) if asked.dry_run else _run(fleet, asked)
    except PlanError as e:
        return _say(str(e), WRONG_PLAN)
    except (FleetError, OSError) as e:
        return _say(str(e), ELSE)
    except KeyboardInterrupt:
        return _say("interrupted", ELSE)


def _interrupt(number: int, frame: FrameType | None) -> None:
    raise KeyboardInterrupt


def _say(text: str, code: int) -> int:
    print("\n".join(f"error: {line}" for line in text.splitlines()), file=sys.stderr)
    return code


def _run(fleet: Fleet, asked: argparse.Namespace) -> int:
    from .progress import Progress

    progress = Progress(fleet.survey.seasons)
    try:
        fleet.run(
            scheduler=asked.scheduler,
            workers=asked.workers,
            retry_failed=asked.retry_failed,
            told=progress.told,
            note=lambda told: print(f"note: {told}", file=sys.stderr),
        )
    except (FleetError, KeyboardInterrupt) as e:
        progress.end()
        _say(str(e) or "interrupted", ELSE)
        print(
            f"{fleet.seasons_done:,} of {fleet.survey.seasons:,} seasons are in {fleet.results}; "
            "the same command goes on from there",
            file=sys.stderr,
        )
        return ELSE
    progress.end()
    _sum_up(fleet)
    return SOME_FAILED if fleet.seasons_failed else OK


def _sum_up(fleet: Fleet) -> None:
    from .parts import write_text
    from .summary import Summary

    summary = Summary.of(fleet.plan.name, fleet.results / "parts", fleet.names())
    write_text(fleet.results / "summary.csv", summary.csv())
    write_text(fleet.results / "summary.txt", summary.text())
    print(summary.text(), end="")
    try:
        from .picture import draw
    except ImportError as e:
        print(f"note: no picture: {e}", file=sys.stderr)
    else:
        draw(summary, fleet.results / "sites.svg")
    print(f"note: rows, summary and picture are in {fleet.results}", file=sys.stderr)


def _estimate(fleet: Fleet) -> int:
    from .engine import cores
    from .progress import duration

    todo = partitions = 0
    left_s = 0.0
    for work, cost_s in fleet.work():
        partitions += 1
        todo += len(work.cases)
        left_s += cost_s
    all_s = fleet.costs.all_s(fleet.survey)
    here = cores()
    print(f"{fleet.survey.seasons:,} seasons in {partitions + fleet.tally.kept:,} partitions, {fleet.survey.weathers:,} weather files")
    print(f"to compute: {todo:,} seasons in {partitions:,} partitions")
    print(f"about {left_s / 3600:,.2g} core hours ({all_s / 3600:,.2g} in all): {duration(left_s / here)} on the {here} cores of this computer")
    price = fleet.plan.price_per_core_hour
    if price is not None:
        print(f"at {price:g} a core hour: {left_s / 3600 * price:,.2f}")
    return OK


if __name__ == "__main__":
    sys.exit(main())
