"""What ends a fleet as a whole. What is wrong with one case never does: it becomes a row that says so."""

from __future__ import annotations

import difflib
from collections.abc import Iterable


class PlanError(ValueError):
    """The plan, or a table that it names, can't be understood; `problems` holds each mistake with its place."""

    def __init__(self, problems: Iterable[str]) -> None:
        self.problems = list(problems)
        super().__init__("\n".join(self.problems))


class FleetError(RuntimeError):
    """The fleet can't go on: no scheduler, no place for results, workers with another version. What was written stays."""


def near(word: str, known: Iterable[str]) -> str:
    """What was meant by an unknown word: the nearest known one, or all of them."""
    known = sorted(known)
    close = difflib.get_close_matches(word, known, n=1)
    if close:
        return f"did you mean `{close[0]}`?"
    return "known here: " + (", ".join(f"`{each}`" for each in known) or "none")
