"""A fleet from its plan to its manifest."""

from __future__ import annotations

import hashlib
import itertools
import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import dogdays

from . import engine, parts
from .cases import cases
from .costs import Costs, Survey, measured, work_of
from .failures import FleetError
from .identity import SCHEMA, Contents
from .partitions import partitions
from .plan import Plan
from .worker import Task, Work, compute

MANIFEST = "manifest.json"


@dataclass
class Fleet:
    """A plan that was looked through, and what is done of it. `run` computes what is not there."""

    plan: Plan
    results: Path
    survey: Survey
    costs: Costs
    contents: Contents
    tally: engine.Tally = field(default_factory=engine.Tally)
    _mark: str | None = None

    @classmethod
    def of(cls, plan: Plan, results: Path | None = None, *, keep: bool = True) -> Fleet:
        """Counts the cases, and measures what they cost unless the plan or an earlier time says it.

        `keep` writes measured costs beside the results. Raises `PlanError` if a table can't be understood.
        """
        folder = (results or plan.results).absolute()
        contents = Contents(plan.folder, plan.models)
        survey = Survey.of(cases(plan), contents)
        return cls(plan, folder, survey, measured(plan, survey, folder, contents, keep=keep), contents)

    @property
    def seasons_done(self) -> int:
        """Rows that are there."""
        return sum(receipt.rows for receipt in self.tally.receipts.values())

    @property
    def seasons_failed(self) -> int:
        """Rows that say why they could not be computed."""
        return sum(receipt.failed for receipt in self.tally.receipts.values())

    def work(self, *, retry_failed: bool = False, told: engine.Told | None = None) -> Iterator[tuple[Work, float]]:
        """Partitions that are not there yet and what they cost, one after the other; those that are go to the tally.

        With `retry_failed`, parts in which something failed count as not there.
        """
        folder = self.results / "parts"
        each_s = self.costs.partition_s(self.survey)
        for each in partitions(self.plan, cases(self.plan), self.costs.cost_s, each_s, self.contents):
            if each.identity in self.tally.receipts:
                continue
            found = parts.read(parts.path_of(folder, each.identity), each.identity, len(each.cases))
            if found is None or (retry_failed and found.failed):
                work = work_of(
                    self.plan,
                    each.cases,
                    each.identity,
                    self.results,
                    self.contents,
                    mark=self._mark,
                    anew=found is not None,
                )
                yield work, each.cost_s
            else:
                self.tally.kept += 1
                self.tally.receipts[each.identity] = found
                if told is not None:
                    told(found, each.cost_s, False)

    def run(
        self,
        *,
        scheduler: str | None = None,
        workers: int | None = None,
        retry_failed: bool = False,
        told: engine.Told | None = None,
        task: Task = compute,
        note: Callable[[str], None] = lambda told: None,
    ) -> None:
        """Computes what is not there: on the scheduler at that address, on processes of this computer, or with
        `workers=0` in this process; then writes the manifest.

        Raises `FleetError` if it can't go on, and lets through `KeyboardInterrupt`; what is done stays and is taken up
        by the next run.
        """
        told = told or (lambda receipt, cost_s, is_new: None)
        try:
            self._mark = parts.mark(self.results / "parts")
        except OSError as e:
            raise FleetError(f"{self.results}: {e.strerror or e}") from None
        work = self.work(retry_failed=retry_failed, told=told)
        first = next(work, None)
        todo = itertools.chain([first] if first else [], work)
        if first is None:
            # All is there: no worker is needed.
            pass
        elif workers == 0 and scheduler is None:
            engine.serially(todo, self.tally, told, task)
        else:
            with engine.connected(scheduler, workers) as client:
                if scheduler is not None and not client.nthreads():
                    note(f"the scheduler at {scheduler} has no workers yet; waiting for them")
                engine.on_dask(client, todo, self.tally, told, task)
        parts.clear_temporary(self.results / "parts")
        self._write_manifest()

    def names(self) -> list[str]:
        """The parts of this plan, in a fixed order."""
        return sorted(self.tally.receipts)

    def _write_manifest(self) -> None:
        manifest = {
            "schema": SCHEMA,
            "version": dogdays.__version__,
            "plan": self.plan.name,
            "plan_sha256": hashlib.sha256(self.plan.file.read_bytes()).hexdigest(),
            "seasons": self.seasons_done,
            "failed": self.seasons_failed,
            "parts": [
                {"file": f"parts/{name}.parquet", "rows": receipt.rows, "failed": receipt.failed}
                for name, receipt in sorted(self.tally.receipts.items())
            ],
        }
        parts.write_text(self.results / MANIFEST, json.dumps(manifest, indent=1) + "\n")
