"""What the READMEs show runs."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize("name", ["README.md", "python/README.md"])
def test_every_python_block_runs(
    name: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    blocks = re.findall(r"```python\n(.*?)```", (ROOT / name).read_text(encoding="utf-8"), re.S)
    assert blocks
    monkeypatch.chdir(ROOT)
    for block in blocks:
        exec(compile(block, name, "exec"), {})
    assert capsys.readouterr().out
