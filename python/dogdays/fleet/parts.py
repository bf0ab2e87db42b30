"""Results on disk: a Parquet file a partition, written whole and once, and trusted only after it was opened.

A part is written beside its place under a name that no data set reads, closed, read again, and then renamed. Two workers
that compute the same partition write the same rows, and the later one replaces the earlier.
"""

from __future__ import annotations

import json
import os
import secrets
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pyarrow as pa
import pyarrow.parquet as pq

import dogdays

from . import identity

_KEY = b"dogdays"
TEMPORARY = ".tmp-"
_MARK = ".mark"

#: Columns of a part. Counts are of starts; text of times is local, ISO 8601. What a failed case has none of is null.
COLUMNS = pa.schema(
    [
        ("identity", pa.string()),
        ("site", pa.string()),
        ("machine", pa.string()),
        ("material", pa.string()),
        ("arrangement", pa.string()),
        ("year", pa.string()),
        ("variant", pa.string()),
        ("run", pa.string()),
        ("weather", pa.string()),
        ("starts_every", pa.string()),
        ("settings", pa.string()),
        ("status", pa.string()),
        ("message", pa.string()),
        ("starts", pa.int64()),
        ("holds", pa.int64()),
        ("tight", pa.int64()),
        ("softens", pa.int64()),
        ("cannot_run", pa.int64()),
        ("safe_share", pa.float64()),
        ("worst_margin_K", pa.float64()),
        ("worst_start", pa.string()),
        ("worst_peak_at", pa.string()),
        ("worst_peak_degC", pa.float64()),
        ("forced_cooling_needed", pa.bool_()),
        ("least_flow_m3_per_h", pa.float64()),
        ("seconds", pa.float64()),
    ]
)


@dataclass(frozen=True)
class Receipt:
    """What is known of a part that was written: its rows, and how many of them failed."""

    identity: str
    rows: int
    failed: int
    #: Time that its seasons took, s.
    seconds: float


def path_of(folder: Path, name: str) -> Path:
    """Where the part of that identity stands."""
    return folder / f"{name}.parquet"


def write(folder: Path, name: str, rows: Iterable[Mapping[str, Any]]) -> Receipt:
    """Writes a part, whole or not at all, in a folder that is there. Raises `OSError` where that is not possible."""
    table = pa.Table.from_pylist([dict(row) for row in rows], schema=COLUMNS)
    failed = sum(status != "computed" for status in table["status"].to_pylist())
    seconds = sum(s for s in table["seconds"].to_pylist() if s is not None)
    receipt = Receipt(name, table.num_rows, failed, seconds)
    about = {
        "identity": name,
        "rows": receipt.rows,
        "failed": failed,
        "seconds": seconds,
        "schema": identity.SCHEMA,
        "version": dogdays.__version__,
    }
    table = table.replace_schema_metadata({_KEY: json.dumps(about, sort_keys=True).encode()})
    temporary = folder / f"{TEMPORARY}{secrets.token_hex(8)}"
    try:
        with temporary.open("xb") as file:
            pq.write_table(table, file, compression="zstd", write_page_checksum=True)
            file.flush()
            os.fsync(file.fileno())
        if read(temporary, name) != receipt:
            raise OSError(f"{temporary}: what was written reads otherwise; is the disk full or broken?")
        os.replace(temporary, path_of(folder, name))
    finally:
        temporary.unlink(missing_ok=True)
    return receipt


def read(path: Path, name: str, rows: int | None = None) -> Receipt | None:
    """The receipt of a part if it is whole, of that identity, of this version and of as many rows; else none.

    All of it is read: that a file is there, or is as long as it should be, proves nothing.
    """
    try:
        with pq.ParquetFile(path, page_checksum_verification=True) as file:
            about = json.loads((file.schema_arrow.metadata or {})[_KEY])
            table = file.read()
        receipt = Receipt(about["identity"], about["rows"], about["failed"], about["seconds"])
    except (OSError, pa.ArrowException, KeyError, TypeError, ValueError):
        return None
    is_sound = (
        receipt.identity == name
        and about["version"] == dogdays.__version__
        and about["schema"] == identity.SCHEMA
        and table.schema.equals(COLUMNS)
        and table.num_rows == receipt.rows
        and (rows is None or receipt.rows == rows)
    )
    return receipt if is_sound else None


def load(folder: Path, name: str, columns: list[str] | None = None) -> pa.Table:
    """The rows of a part that is known to be whole."""
    return pq.read_table(path_of(folder, name), columns=columns, partitioning=None)


def mark(folder: Path) -> str:
    """Makes the folder of parts with a mark of its own, by which a worker knows that it sees the same one."""
    folder.mkdir(parents=True, exist_ok=True)
    file = folder / _MARK
    if not file.exists():
        write_text(file, secrets.token_hex(16))
    return file.read_text(encoding="utf-8")


def has_mark(folder: Path, mark: str) -> bool:
    """Whether this is the folder with that mark."""
    try:
        return (folder / _MARK).read_text(encoding="utf-8") == mark
    except OSError:
        return False


def clear_temporary(folder: Path) -> None:
    """Takes away what workers that died have left."""
    for path in folder.glob(f"{TEMPORARY}*"):
        path.unlink(missing_ok=True)


def write_text(path: Path, text: str) -> None:
    """Writes a text file, whole or not at all."""
    path.parent.mkdir(parents=True, exist_ok=True)
    temporary = path.with_name(f"{TEMPORARY}{secrets.token_hex(8)}")
    try:
        temporary.write_text(text, encoding="utf-8")
        os.replace(temporary, path)
    finally:
        temporary.unlink(missing_ok=True)
