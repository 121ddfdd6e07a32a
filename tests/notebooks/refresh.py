"""Run the notebooks anew and store what they show: ``python tests/notebooks/refresh.py [NAME ...]``.

For contributors, after a change that alters a stored number. Without names, every notebook is run. Each runs
in a freshly laid folder, as a maker has it; nothing is written back unless all of them ran. Look at what
changed (``git diff notebooks``) before committing it: a stored number is a promise.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Sequence

ROOT = Path(__file__).resolve().parent.parent.parent
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

from kit.pages.running import run_notebook  # noqa: E402
from tests.notebooks.rules import faults, is_picture  # noqa: E402

KERNEL = {"display_name": "Python 3", "language": "python", "name": "python3"}


def refresh(paths: Sequence[Path]) -> None:
    """Run notebooks in a fresh folder each and write them back as they are to be stored."""
    import nbformat

    done = {}
    for path in paths:
        notebook = run_notebook(path)
        _tidy(notebook)
        done[path] = notebook
    for path, notebook in done.items():
        nbformat.write(notebook, path)  # type: ignore[no-untyped-call]


def _tidy(notebook: Any) -> None:
    """Drop what differs from run to run or from computer to computer, and number the cells."""
    notebook.metadata.clear()
    notebook.metadata.update(kernelspec=KERNEL, language_info={"name": "python"})
    code = [cell for cell in notebook.cells if cell.cell_type == "code"]
    for cell in notebook.cells:
        kept = {name: cell.metadata[name] for name in ("jupyter", "tags") if cell.metadata.get(name)}
        cell.metadata.clear()
        cell.metadata.update(kept)
    for number, cell in enumerate(code, start=1):
        cell.execution_count = number
        if is_picture(cell):
            cell.outputs = []
        cell.outputs = _whole_streams(cell.outputs)
        for output in cell.outputs:
            if "execution_count" in output:
                output["execution_count"] = number


def _whole_streams(outputs: list[Any]) -> list[Any]:
    """What was printed in one go, which a busy computer may have sent in pieces."""
    found: list[Any] = []
    for output in outputs:
        if found and output.output_type == found[-1].output_type == "stream" and output.name == found[-1].name:
            found[-1].text += output.text
        else:
            found.append(output)
    return found


def main(names: Sequence[str]) -> int:
    """Refresh the named notebooks, or all; return 1 if one of them then breaks a rule."""
    folder = ROOT / "notebooks"
    paths = [folder / name for name in names] or sorted(folder.rglob("*.ipynb"))
    refresh(paths)
    found = [sentence for path in paths for sentence in faults(path)]
    print("\n".join(found) or f"{len(paths)} notebook{' was' if len(paths) == 1 else 's were'} run and stored.")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
