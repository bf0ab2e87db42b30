"""From the parts to one row a machine, material and arrangement of a site, and to one row a site. Parts are read one
after the other; failed seasons are counted and named, and count as nothing else."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

from . import parts

_READ = [
    *("site", "machine", "material", "arrangement", "variant", "run", "year", "weather", "status", "message"),
    *("starts", "holds", "worst_margin_K", "forced_cooling_needed", "least_flow_m3_per_h"),
]
#: Rows that are printed, and messages of failed seasons.
SHOWN_ROWS = 40
SHOWN_FAILURES = 10


@dataclass
class Row:
    """One machine, material and arrangement at a site, over all its weather years."""

    site: str
    machine: str
    material: str
    arrangement: str
    variant: str
    run: str
    #: Seasons computed and failed; there is one a weather file.
    years: int = 0
    failed: int = 0
    starts: int = 0
    holds: int = 0
    #: Years with a start that does not hold.
    years_forced_cooling: int = 0
    worst_margin_K: float | None = None
    worst_year: str = ""
    #: The most that any year asks for; none: not asked, or no flow is enough in a year.
    least_flow_m3_per_h: float | None = None

    @property
    def safe_share(self) -> float | None:
        """Share of starts that hold; none if nothing was computed."""
        return self.holds / self.starts if self.starts else None


@dataclass
class Site:
    """All that was computed for a site."""

    name: str
    rows: list[Row] = field(default_factory=list)

    @property
    def safe_share(self) -> float | None:
        """Share of starts that hold, over everything; none if nothing was computed."""
        starts = sum(row.starts for row in self.rows)
        return sum(row.holds for row in self.rows) / starts if starts else None

    @property
    def failed(self) -> int:
        """Seasons that could not be computed."""
        return sum(row.failed for row in self.rows)

    @property
    def needs_forced_cooling(self) -> int:
        """In how many rows a year has a start that does not hold."""
        return sum(row.years_forced_cooling > 0 for row in self.rows)


@dataclass(frozen=True)
class Failure:
    """One of the seasons that could not be computed."""

    what: str
    message: str


@dataclass(frozen=True)
class Summary:
    """What a fleet found. Rows are sorted by site, machine, material and arrangement."""

    plan: str
    rows: list[Row]
    #: The first few, in the order of the parts.
    failures: list[Failure]
    seasons: int
    failed: int

    @classmethod
    def of(cls, plan: str, folder: Path, names: Iterable[str]) -> Summary:
        """Reads these parts in a folder."""
        rows: dict[tuple[str, ...], Row] = {}
        failures: list[Failure] = []
        seasons = failed = 0
        for name in names:
            for each in parts.load(folder, name, _READ).to_pylist():
                key = tuple(each[column] for column in _READ[:6])
                row = rows.get(key)
                if row is None:
                    row = rows[key] = Row(*key)
                seasons += 1
                if each["status"] == "computed":
                    _add(row, each)
                    continue
                failed += 1
                row.failed += 1
                if len(failures) < SHOWN_FAILURES:
                    failures.append(Failure(", ".join(filter(None, (*key[:5], each["year"]))), each["message"]))
        return cls(plan, [rows[key] for key in sorted(rows)], failures, seasons, failed)

    def sites(self) -> list[Site]:
        """One a site, the least safe first; sites of which nothing was computed last."""
        found: dict[str, Site] = {}
        for row in self.rows:
            found.setdefault(row.site, Site(row.site)).rows.append(row)
        return sorted(found.values(), key=lambda s: (2.0 if s.safe_share is None else s.safe_share, s.name))

    def csv(self) -> str:
        """All rows as CSV (RFC 4180), units in the header."""
        out = io.StringIO()
        writer = csv.writer(out, lineterminator="\r\n")
        writer.writerow(
            [
                *("site", "machine", "material", "arrangement", "variant", "run", "years", "years_failed", "starts"),
                *("safe_share", "years_forced_cooling", "worst_margin_K", "worst_year", "least_flow_m3_per_h"),
            ]
        )
        for row in self.rows:
            writer.writerow(
                [
                    *(row.site, row.machine, row.material, row.arrangement, row.variant, row.run, row.years, row.failed),
                    *(row.starts, row.safe_share, row.years_forced_cooling, row.worst_margin_K, row.worst_year),
                    row.least_flow_m3_per_h,
                ]
            )
        return out.getvalue()

    def text(self) -> str:
        """What people read: the rows with the smallest share of safe starts, and what failed."""
        computed = self.seasons - self.failed
        lines = [f"{self.plan}: {computed:,} seasons computed" + (f", {self.failed:,} failed" if self.failed else "")]
        known = [row for row in self.rows if row.years]
        known.sort(key=lambda row: (row.safe_share or 0.0, row.worst_margin_K or 0.0))
        if known:
            cooled = sum(row.years_forced_cooling > 0 for row in known)
            lines.append(f"{cooled:,} of {len(known):,} machines, materials and arrangements need forced cooling in some year")
            lines.append("a start is safe by the best estimate with the margin asked for; `dogdays check` of one says how surely")
            lines += ["", *_table(known[:SHOWN_ROWS])]
            if len(known) > SHOWN_ROWS:
                lines.append(f"... and {len(known) - SHOWN_ROWS:,} more that are safer: summary.csv has all")
        if self.failures:
            lines += ["", f"{self.failed:,} seasons failed and are not in these figures:"]
            for failure in self.failures:
                first = next(iter(failure.message.splitlines()), "")
                lines.append(f"  {failure.what}: {first}")
            if self.failed > len(self.failures):
                lines.append(f"  ... and {self.failed - len(self.failures):,} more: rows with status = failed in parts/")
        return "\n".join(lines) + "\n"


def _add(row: Row, season: dict[str, object]) -> None:
    row.years += 1
    starts, holds, margin_K = season["starts"], season["holds"], season["worst_margin_K"]
    assert isinstance(starts, int) and isinstance(holds, int)
    row.starts += starts
    row.holds += holds
    row.years_forced_cooling += bool(season["forced_cooling_needed"])
    year = str(season["year"])
    if isinstance(margin_K, float):
        # Of equal years the first by name: parts have no order that means anything.
        if row.worst_margin_K is None or (margin_K, year) < (row.worst_margin_K, row.worst_year):
            row.worst_margin_K, row.worst_year = margin_K, year
    flow = season["least_flow_m3_per_h"]
    if isinstance(flow, float):
        row.least_flow_m3_per_h = max(flow, row.least_flow_m3_per_h or 0.0)


_HEAD = ("site", "machine", "material", "arrangement", "years", "safe starts", "forced cooling", "worst margin", "in")


def _table(rows: list[Row]) -> list[str]:
    cells = [_HEAD]
    for row in rows:
        arrangement = row.arrangement + (f" ({row.variant})" if row.variant else "")
        margin = "" if row.worst_margin_K is None else f"{row.worst_margin_K:+.1f} K".replace("-", "\N{MINUS SIGN}")
        cooling = f"{row.years_forced_cooling} of {row.years} years" if row.years_forced_cooling else "no"
        years = f"{row.years}" + (f" + {row.failed} failed" if row.failed else "")
        share = f"{_percent(row.safe_share or 0.0)}"
        cells.append((row.site, row.machine, row.material, arrangement, years, share, cooling, margin, row.worst_year))
    widths = [max(len(line[k]) for line in cells) for k in range(len(_HEAD))]
    is_number = {4, 5, 7}
    return [
        "  ".join(
            text.rjust(width) if k in is_number else text.ljust(width)
            for k, (text, width) in enumerate(zip(line, widths, strict=True))
        ).rstrip()
        for line in cells
    ]


def _percent(share: float) -> str:
    """All and none only where it is all and none."""
    if 0.0 < share < 0.001:
        return "< 0.1 %"
    if 0.999 < share < 1.0:
        return "> 99.9 %"
    return f"{100 * share:.1f} %"
