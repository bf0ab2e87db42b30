"""What the tests share. `DOGDAYS` names the program that results are compared with."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
from pathlib import Path
from typing import Any

import pytest

# A job that a script puts into the background ignores Ctrl-C, and so would all that it starts.
signal.signal(signal.SIGINT, signal.default_int_handler)

DEMO = Path(__file__).parents[2] / "demo-data"


@pytest.fixture(scope="session")
def demo_data() -> Path:
    """The folder of the demo."""
    return DEMO


@pytest.fixture(scope="session")
def program() -> Any:
    """The program: arguments in, JSON out."""
    root = Path(__file__).parents[2]
    found = os.environ.get("DOGDAYS") or shutil.which("dogdays")
    built = root / "target" / "release" / "dogdays"
    if found is None and built.exists():
        found = str(built)
    if found is None:
        if os.environ.get("CI"):
            pytest.fail("the program is not there: build it, and set DOGDAYS to its path")
        pytest.skip("the program is not there: build it, or set DOGDAYS to its path")

    def run(*arguments: str | Path) -> Any:
        command = [found, *map(str, arguments), "--json"]
        done = subprocess.run(command, capture_output=True, check=False, text=True, encoding="utf-8")
        assert done.returncode in (0, 10, 20, 30), done.stderr
        return json.loads(done.stdout)

    run.path = found  # type: ignore[attr-defined]
    return run
