"""Will a days-long run in a closed material-extrusion chamber keep its filament solid in this heat?

    >>> import dogdays
    >>> run = dogdays.Run.demo()
    >>> found = run.check(samples=None)
    >>> found.verdict, round(found.margin_K, 1)
    ('softens', -2.1)

Names end in their units: `margin_K`, `peak.filament_degC`, `flow_m3_per_h`. What a question finds is a dataclass whose
`to_dict()` equals the program's `--json`. Every error of the package is a `DogdaysError`, with the program's messages.
"""

from __future__ import annotations

import json
import os
import warnings
from typing import Any

from . import results
from ._native import DogdaysError, __version__, set_threads
from ._native import catalogue as _catalogue
from .errors import Problem, problems
from .results import Calibration, Check, Comparison, FanSizing, Result, Season, Years
from .run import Run
from .trajectory import Trajectory
from .weather import Weather

__all__ = [
    "Calibration",
    "Check",
    "Comparison",
    "DogdaysError",
    "FanSizing",
    "Problem",
    "Result",
    "Run",
    "Season",
    "Trajectory",
    "Weather",
    "Years",
    "__version__",
    "catalogue",
    "problems",
    "results",
    "set_threads",
]


def catalogue(
    name: str | None = None, *, models: str | os.PathLike[str] | None = None
) -> list[dict[str, Any]]:
    """The machines, materials, panels and fans that are known, or those called `name` with values and sources.

    `models` is a folder of your own entries; without it, `my-models` in the current folder or the folder in the
    platform's usual place for data. What had to be left out of them is warned of. As `dogdays catalogue --json`,
    without its frame.
    """
    text, left_out = _catalogue(name, models)
    for told in left_out:
        warnings.warn(told, stacklevel=2)
    found: list[dict[str, Any]] = json.loads(text)["entries"]
    return found
