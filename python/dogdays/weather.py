"""Weather files."""

from __future__ import annotations

import os
from collections.abc import Iterable
from typing import Any

from . import _native, given


class Weather:
    """Weather series, read once and used for many seasons."""

    __slots__ = ("_asked", "_native")

    def __init__(self, native: _native.Weather, asked: tuple[Any, ...]) -> None:
        self._native = native
        self._asked = asked

    @classmethod
    def read(
        cls,
        paths: str | os.PathLike[str] | Iterable[str | os.PathLike[str]],
        *,
        fill: str | None = None,
        fill_up_to: str = "3 h",
        time_zone: str | None = None,
        wrap: bool = False,
    ) -> Weather:
        """Reads a file, several, or the weather files of a folder: CSV, EPW, TMY3, ISD-Lite, spreadsheets.

        A gap is an error unless `fill` names a rule (`"linear"` or `"warmer"`) and it is no longer than `fill_up_to`.
        `time_zone` is the shop's clock for files in UTC or a place's standard time, and `wrap` lets the end of a
        year be followed by its beginning.
        """
        return cls._read(given.paths("weather", paths), fill, fill_up_to, time_zone, wrap)

    @classmethod
    def _read(cls, paths: list[given.Path], *how: Any) -> Weather:
        # Where it is sent to, another folder may be the current one.
        absolute = [os.path.abspath(path) for path in paths]
        return cls(_native.Weather.read(paths, *how), (absolute, *how))

    def __reduce__(self) -> tuple[Any, ...]:
        # The files are read again where it arrives.
        return Weather._read, self._asked

    @property
    def names(self) -> list[str]:
        """The names of the series, in order."""
        return self._native.names()

    @property
    def notes(self) -> list[str]:
        """How files were understood where it is not plain, and which were left out."""
        return self._native.notes

    def __repr__(self) -> str:
        return f"<Weather {', '.join(self.names)}>"
