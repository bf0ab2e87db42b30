"""Parts on disk, the summary and the picture."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest

pytest.importorskip("pyarrow", reason='the fleet needs pyarrow: install "dogdays[fleet]"')

import pyarrow.parquet as pq

import dogdays
from dogdays.fleet import parts
from dogdays.fleet.summary import Summary


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
    # Another letter in a page of data, which reads well: only the page's checksum knows.
    assert whole.index(b"North") < whole.index(b"settings")
    path.write_bytes(whole.replace(b"North", b"Worth", 1))
    assert pq.read_table(path)["site"][0].as_py() == "Worth"
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
