"""The JavaScript of the widgets fits the types that their Python sends: checked by the TypeScript that Deno brings."""

from __future__ import annotations

import json
import os
import pkgutil
import re
import subprocess
from importlib import import_module
from pathlib import Path
from typing import Any

import anywidget
from deno import find_deno_bin

import kit.widgets

WIDGETS = Path(kit.widgets.__file__).parent
PAGES = WIDGETS.parent / "pages" / "templates" / "pages.js"
#: What an editor reads too.
OPTIONS = WIDGETS / "jsconfig.json"
TYPES = WIDGETS / "views.d.ts"


def modules() -> dict[str, str]:
    """What a browser is sent: the script of each widget, joined from its files, and that of the pages of lessons."""
    for found in pkgutil.walk_packages(kit.widgets.__path__, "kit.widgets."):
        import_module(found.name)
    ours = [
        each
        for each in below(anywidget.AnyWidget)
        if each.__module__.startswith("kit.") and isinstance(vars(each).get("_esm"), str)
    ]
    scripts = {each.__name__: str(each._esm) for each in ours} | {"pages": PAGES.read_text(encoding="utf-8")}
    return {name: script for name, script in scripts.items() if script.startswith("// @ts-check")}


def below(kind: Any) -> list[Any]:
    """Every class that is made from this one."""
    return [each for child in kind.__subclasses__() for each in (child, *below(child))]


def checked(folder: Path, scripts: dict[str, str]) -> str:
    """What the type check says about these scripts; nothing where all is well."""
    options = json.loads(OPTIONS.read_text(encoding="utf-8"))["compilerOptions"]
    (folder / "deno.json").write_text(json.dumps({"compilerOptions": options | {"types": ["./views.d.ts"]}}))
    (folder / "views.d.ts").write_text(TYPES.read_text(encoding="utf-8"), encoding="utf-8")
    for name, script in scripts.items():
        (folder / f"{name}.js").write_text(script, encoding="utf-8")
    done = subprocess.run(
        [find_deno_bin(), "check", "--quiet", "--no-remote", *(f"{name}.js" for name in scripts)],
        cwd=folder,
        env={**os.environ, "NO_COLOR": "1", "DENO_DIR": str(folder / "deno"), "DENO_NO_UPDATE_CHECK": "1"},
        capture_output=True,
        text=True,
        check=False,
    )
    return "" if done.returncode == 0 else done.stdout + done.stderr


def test_the_types_fit(tmp_path: Path) -> None:
    scripts = modules()
    assert len(scripts) >= 3
    assert checked(tmp_path, scripts) == ""


def test_a_wrong_type_would_be_found(tmp_path: Path) -> None:
    script = "/** @param {FormulaView} view */\nexport default (view) => view.titel.length + view.phases.at(0).name;\n"
    said = checked(tmp_path, {"wrong": script})
    assert re.findall(r"TS\d+", said) == ["TS2551", "TS2532"], said


def test_every_script_of_the_kit_asks_to_be_checked() -> None:
    scripts = sorted(WIDGETS.parent.rglob("*.js"))
    assert scripts
    assert [path for path in scripts if not path.read_text(encoding="utf-8").startswith("// @ts-check\n")] == []
    sent = "\n".join(modules().values())
    assert [path for path in scripts if path.read_text(encoding="utf-8") not in sent] == []
