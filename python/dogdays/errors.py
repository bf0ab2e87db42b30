"""What goes wrong, place by place."""

from __future__ import annotations

from dataclasses import dataclass

from ._native import DogdaysError


@dataclass(frozen=True)
class Problem:
    """One mistake in a file: where it is, what is wrong, and what to write instead."""

    file: str
    line: int | None
    column: int | None
    message: str
    help: str | None


def problems(error: DogdaysError) -> list[Problem]:
    """The mistakes of which an error tells, in the order of the file; none where the cause is no file."""
    return [Problem(*each) for each in getattr(error, "_problems", [])]
