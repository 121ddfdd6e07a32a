"""``pytest --nbval notebooks`` from a clone: each lesson runs in a fresh folder, as a maker has it.

So it leaves no file behind, and finds none of an earlier run.
"""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pytest

NOTEBOOKS = Path(__file__).resolve().parent / "notebooks"


def pytest_configure(config: pytest.Config) -> None:
    """Let nbval start the kernel of a shipped notebook in a folder laid for it; any other stays where it is."""
    if not getattr(config.option, "nbval", False):
        return
    import nbval.plugin  # type: ignore[import-untyped]

    from kit.workspace import lay

    class FreshKernel(nbval.plugin.RunningKernel):  # type: ignore[misc]  # nbval has no types
        """A kernel with a folder of its own."""

        def __init__(self, kernel_name: str, cwd: str | None = None, **more: Any) -> None:
            if cwd is not None and Path(cwd).resolve() == NOTEBOOKS:
                self._laid = tempfile.TemporaryDirectory()
                cwd = str(lay(Path(self._laid.name)).folder)
            super().__init__(kernel_name, cwd=cwd, **more)

    nbval.plugin.RunningKernel = FreshKernel
