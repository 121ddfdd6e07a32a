"""What a form or a log needs brings no arrays; the estimates bring NumPy and SciPy, and nothing that draws."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

LIGHT = (
    "colour_difference", "grades", "kinetics", "q1e", "series", "storage_temperature",
)  # fmt: skip
HEAVY = ("numpy", "scipy", "pandas", "sqlalchemy", "sqlite3", "plotly", "ipywidgets", "IPython", "jinja2", "pint")


def test_the_light_ones(fresh_python: Callable[..., str]) -> None:
    imports = "\n".join(f"import kit.stability.{module}" for module in LIGHT)
    assert fresh_python(f"{imports}\nimport sys\nprint([name for name in {HEAVY} if name in sys.modules])") == "[]"


def test_the_estimates(fresh_python: Callable[..., str]) -> None:
    code = (
        "import sys, kit.stability.shelf_life, kit.stability.arrhenius\n"
        f"print([name for name in {HEAVY} if name in sys.modules])"
    )
    assert fresh_python(code) == "['numpy', 'scipy']"
