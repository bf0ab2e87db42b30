"""Temperatures over time, as NumPy arrays."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from . import _native
from .given import seconds

if TYPE_CHECKING:
    import pandas


@dataclass(frozen=True, eq=False, repr=False)
class Trajectory(Mapping[str, NDArray[np.float64]]):
    """A temperature in °C for every place of the machine and every time.

    Behaves as a mapping from column names (those of `dogdays check --csv`, such as `filament_drive_gear_degC` and
    `air_top_degC`) to arrays. Each array is a view of `values_degC`, which holds one row a name.
    """

    #: Time from the start of each step, s.
    elapsed_s: NDArray[np.float64]
    #: One row a name, °C.
    values_degC: NDArray[np.float64]
    #: The names of the rows.
    names: tuple[str, ...]
    #: Local time of the start.
    start: np.datetime64
    _places: dict[str, int] = field(repr=False, default_factory=dict)

    @classmethod
    def of(cls, course: _native.Course, every: str | dt.timedelta, start: str) -> Trajectory:
        """Reads a course at steps of `every`, such as "10 min"."""
        names, elapsed_s, values_degC = course.table(seconds("every", every))
        places = {name: row for row, name in enumerate(names)}
        return cls(elapsed_s, values_degC, tuple(names), np.datetime64(start, "s"), places)

    def __getitem__(self, name: str) -> NDArray[np.float64]:
        row: NDArray[np.float64] = self.values_degC[self._places[name]]
        return row

    def __iter__(self) -> Iterator[str]:
        return iter(self.names)

    def __len__(self) -> int:
        return len(self.names)

    # A mapping compares its values, and arrays don't say yes or no.
    __eq__ = object.__eq__
    __hash__ = object.__hash__

    def __repr__(self) -> str:
        return f"<Trajectory of {len(self)} columns, {len(self.elapsed_s)} times from {self.start}>"

    @property
    def elapsed_h(self) -> NDArray[np.float64]:
        """Time from the start of each step, h."""
        hours: NDArray[np.float64] = self.elapsed_s / 3600.0
        return hours

    @property
    def time(self) -> NDArray[np.datetime64]:
        """Local time of each step, to the second."""
        whole = np.round(self.elapsed_s).astype("timedelta64[s]")
        return np.asarray(self.start + whole)

    def to_pandas(self) -> pandas.DataFrame:
        """A data frame with the local time as index; needs pandas."""
        import pandas

        columns: dict[str, Any] = {name: self[name] for name in self.names}
        return pandas.DataFrame(columns, index=pandas.DatetimeIndex(self.time, name="time"))
