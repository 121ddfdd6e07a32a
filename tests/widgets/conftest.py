"""Every test of this room works in a folder of its own, as a notebook does."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from kit.widgets.bench import Bench
from tests.widgets.hands import two_layers

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def bench() -> Bench:
    return Bench(two_layers())
