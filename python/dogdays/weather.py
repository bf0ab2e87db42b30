"""Weather files."""

from __future__ import annotations

import os
from collections.abc import Iterable

from . import _native


class Weather:
    """Weather series, read once and used for many seasons."""

    __slots__ = ("_native",)

    def __init__(self, native: _native.Weather) -> None:
        self._native = native

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
        each = [paths] if isinstance(paths, (str, os.PathLike)) else list(paths)
        return cls(_native.Weather.read(each, fill, fill_up_to, time_zone, wrap))

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
