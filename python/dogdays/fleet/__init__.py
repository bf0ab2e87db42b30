"""Many machines, sites and summers: which of them need forced cooling, for which materials, in how many years?

`python -m dogdays.fleet PLAN.toml` computes one season a case on Dask workers, writes the rows as Parquet, and sums them
up. Anything interrupted is taken up where it was. The plan's format stands in the README of the package.

Needs the extra `fleet`: `pip install "dogdays[fleet]"`.
"""

from __future__ import annotations

try:
    import pyarrow as _  # noqa: F401
except ImportError as e:
    raise ImportError(f'{e}: the fleet needs its own packages: pip install "dogdays[fleet]"') from None

from .failures import FleetError, PlanError
from .plan import Plan
from .whole import Fleet

__all__ = ["Fleet", "FleetError", "Plan", "PlanError"]
