"""One line about how far a fleet is, on a terminal."""

from __future__ import annotations

import sys
import time
from typing import TextIO

from .parts import Receipt

_EVERY_S = 0.5


class Progress:
    """Counts seasons and tells of them; says nothing where nobody looks."""

    def __init__(self, seasons: int, out: TextIO | None = None) -> None:
        self._seasons = seasons
        self._out = out or sys.stderr
        self._is_seen = self._out.isatty()
        self._begun = time.monotonic()
        self._told = -_EVERY_S
        self._done = 0
        self._computed = 0
        self._width = 0

    def told(self, receipt: Receipt, cost_s: float, is_new: bool) -> None:
        """One more part is there, computed now or before."""
        self._done += receipt.rows
        self._computed += receipt.rows if is_new else 0
        now = time.monotonic()
        if self._is_seen and now - self._told >= _EVERY_S:
            self._told = now
            self._write(self.line(now - self._begun))

    def line(self, elapsed_s: float) -> str:
        """What is told after so many seconds."""
        line = f"{self._done:,} of {self._seasons:,} seasons"
        if self._computed and elapsed_s > 0:
            rate_per_s = self._computed / elapsed_s
            left_s = (self._seasons - self._done) / rate_per_s
            line += f", {rate_per_s:.3g} a second, {duration(left_s)} left"
        return line

    def end(self) -> None:
        """Takes the line away."""
        if self._width:
            self._write("")
            self._out.write("\r")
            self._out.flush()

    def _write(self, line: str) -> None:
        self._out.write("\r" + line.ljust(self._width))
        self._out.flush()
        self._width = len(line)


def duration(seconds: float) -> str:
    """A time for people: in the largest unit of which there are two or more."""
    for unit, unit_s in (("days", 86_400.0), ("h", 3600.0), ("min", 60.0)):
        if seconds >= 2 * unit_s:
            return f"{seconds / unit_s:,.0f} {unit}"
    return f"{seconds:.0f} s"
