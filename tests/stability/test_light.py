"""The room stays light: a plan, a check or what is due needs no database, no arrays and no pictures."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

HEAVY = ("sqlalchemy", "sqlite3", "numpy", "pandas", "plotly", "ipywidgets", "IPython", "jinja2", "pint")
LIGHT = (
    "plan",
    "study",
    "reading",
    "check",
    "schedule",
    "exchange",
    "workbook",
    "photos.files",
    "demo",
)


def test_all_but_the_log_itself_is_light(fresh_python: Callable[..., str]) -> None:
    imports = "\n".join(f"import kit.stability.{module}" for module in LIGHT)
    code = (
        f"{imports}\nimport sys\nkit.stability.plan.plans()\nprint([name for name in {HEAVY} if name in sys.modules])"
    )
    assert fresh_python(code) == "[]"


def test_the_log_brings_the_database_and_no_more(fresh_python: Callable[..., str]) -> None:
    code = f"import sys, kit.stability.log.store\nprint([name for name in {HEAVY} if name in sys.modules])"
    assert fresh_python(code) == "['sqlalchemy', 'sqlite3']"
