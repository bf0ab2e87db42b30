"""What makes two seasons the same: their inputs by content, and the version that computed them.

An identity is a SHA-256 of JSON with sorted keys. Files stand in it with the hash of what is in them, so that one that was
changed is another one under whatever name. Python's `hash()` has no place here: it differs from process to process.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import dogdays

#: Raised when what a row means changes, so that older parts are computed anew.
SCHEMA = 1

_JSON = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False, default=str)

#: Stands for the content of a file that can't be read.
MISSING = "missing"


def sha256_of_json(fields: dict[str, Any]) -> str:
    """The hash of fields, whatever their order; an empty one counts as not there."""
    full = {key: value for key, value in fields.items() if value or value is False or value == 0}
    return hashlib.sha256(_JSON.encode(full).encode()).hexdigest()


def sha256_of_file(path: Path) -> str:
    """The hash of a file's bytes, or `MISSING`."""
    digest = hashlib.sha256()
    try:
        with path.open("rb") as file:
            while block := file.read(1 << 20):
                digest.update(block)
    except OSError:
        return MISSING
    return digest.hexdigest()


class Contents:
    """Hashes of files in a folder by name, each read once; and of run files with all that they name, models included."""

    def __init__(self, folder: Path, models: Path | None = None) -> None:
        self._folder = folder
        self._models = models
        self._files: dict[str, str] = {}
        self._sizes: dict[str, int] = {}
        self._runs: dict[str, str] = {}

    def file(self, name: str) -> str:
        """The hash of one file."""
        found = self._files.get(name)
        if found is None:
            found = self._files[name] = sha256_of_file(self._folder / name)
        return found

    def size(self, name: str) -> int:
        """How many bytes a file has; 0 if it can't be read."""
        found = self._sizes.get(name)
        if found is None:
            try:
                found = (self._folder / name).stat().st_size
            except OSError:
                found = 0
            self._sizes[name] = found
        return found

    def run(self, name: str) -> str:
        """The hash of a run file, the files that it names and the models that it may choose from.

        Of a run file that can't be read as such only its own bytes count: each of its seasons fails with the reason.
        """
        found = self._runs.get(name)
        if found is None:
            found = self._runs[name] = sha256_of_json(dict(self._parts(name)))
        return found

    def _parts(self, name: str) -> Iterator[tuple[str, str]]:
        yield "", self.file(name)
        path = self._folder / name
        try:
            files = dogdays.Run.from_file(path, models=self._models).files
        except dogdays.DogdaysError:
            return
        for each in {Path(file).resolve() for file in files}:
            yield _named(each, path.parent.resolve(), self._models), self.file(str(each))


def _named(file: Path, folder: Path, models: Path | None) -> str:
    """A file's name as it is on every computer: from the run file's folder or that of the models."""
    for base in (folder, models.resolve() if models else folder):
        if file.is_relative_to(base):
            return file.relative_to(base).as_posix()
    return file.name


def partition(cases: Iterable[str]) -> str:
    """The identity of cases that are computed together, by their own identities in any order."""
    return sha256_of_json({"version": dogdays.__version__, "schema": SCHEMA, "cases": sorted(cases)})
