"""What a worker process of this computer does first: Dask imports this module by name."""

from __future__ import annotations

import signal


def dask_setup(worker: object) -> None:
    """A terminal's Ctrl-C goes to workers too; it is the client that ends them, in order and without words."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
