"""The notebooks that pages are made of: the kit's own, run now, or a lecturer's, as they were saved.

Only the kit's own notebooks are run. Of a folder that somebody named nothing is run: what a notebook showed when it was
saved is taken, and what it never showed is said.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kit.errors import EntryError, StoreError
from kit.launcher import sockets_fit, write_kernel
from kit.resources import resource_folder
from kit.workspace import lay

if TYPE_CHECKING:
    from collections.abc import Callable

#: Cells of this tag show a panel or a picture; their outputs are not stored in the kit's own notebooks.
PICTURE = "nbval-ignore-output"
#: So many notebooks are run side by side: a kernel takes 0.2 GB.
SIDE_BY_SIDE = 2
#: What colours a text on a terminal (ECMA-48, control sequences).
TERMINAL = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]")
#: The most that is read of a notebook. [bytes]
MOST_BYTES = 60_000_000


def own_notebooks(say: Callable[[str], object]) -> dict[str, Any]:
    """Every notebook of the kit, run from top to bottom in a fresh folder; some seconds for each.

    Parameters
    ----------
    say
        Is handed the name of each notebook when it has run.

    Returns
    -------
    Name without its ending → notebook (nbformat 4).

    Raises
    ------
    StoreError
        One of them stopped.
    """
    paths = sorted(resource_folder("notebooks").glob("*.ipynb"))

    def work(path: Path) -> Any:
        notebook = run_notebook(path)
        say(path.stem)
        return notebook

    with ThreadPoolExecutor(min(SIDE_BY_SIDE, os.cpu_count() or 1)) as pool:
        return dict(zip((path.stem for path in paths), pool.map(work, paths), strict=True))


def saved_notebooks(folder: Path) -> dict[str, Any]:
    """The notebooks of a folder as they were saved; nothing is run.

    Raises
    ------
    EntryError
        There is no such folder, or no notebook in it.
    StoreError
        One cannot be read.
    """
    paths = sorted(folder.glob("*.ipynb")) if folder.is_dir() else []
    if not paths:
        msg = f"There is no notebook (.ipynb) in {str(folder)!r}. Name the folder with your lessons."
        raise EntryError(msg)
    return {path.stem: read_notebook(path) for path in paths}


def read_notebook(path: Path) -> Any:
    """A notebook as it was saved, of whatever version.

    Raises
    ------
    StoreError
        It cannot be read.
    """
    import nbformat

    try:
        if path.stat().st_size > MOST_BYTES:
            msg = f"{path.name} is larger than {MOST_BYTES // 1_000_000} MB. Clear its outputs, run and save it anew."
            raise StoreError(msg)
        return nbformat.read(path, as_version=4)  # type: ignore[no-untyped-call]
    except StoreError:
        raise
    except (OSError, RecursionError) as error:
        msg = f"{path.name} cannot be read: {getattr(error, 'strerror', '') or 'it is damaged'}."
        raise StoreError(msg) from error
    except Exception as error:  # nbformat raises many kinds for a file that is no notebook
        msg = f"{path.name} cannot be read as a notebook: it is damaged or of another kind. Save it anew."
        raise StoreError(msg) from error


def not_run(notebook: Any) -> int:
    """How many cells that show a panel or a picture were not run before the notebook was saved."""
    return sum(
        cell.cell_type == "code" and not cell.outputs and PICTURE in cell.metadata.get("tags", ())
        for cell in notebook.cells
    )


def run_notebook(path: Path) -> Any:
    """A notebook, run from top to bottom in a fresh folder with the demo beside it.

    Raises
    ------
    StoreError
        It cannot be read, or it stopped.
    """
    from jupyter_client.kernelspec import KernelSpecManager
    from nbclient import NotebookClient
    from nbclient.exceptions import CellExecutionError, DeadKernelError

    notebook = read_notebook(path)
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        lay(folder)
        kernels = folder / ".kernels"
        write_kernel(kernels)
        client = NotebookClient(notebook, kernel_name="python3", timeout=None, record_timing=False)
        manager = client.create_kernel_manager()
        manager.kernel_spec_manager = KernelSpecManager(kernel_dirs=[str(kernels)])
        manager.connection_file = str(kernels / "kernel.json")
        if sys.platform.startswith("linux") and sockets_fit(kernels):
            manager.transport = "ipc"
        client.resources = {"metadata": {"path": str(folder)}}
        try:
            client.execute(stderr=subprocess.DEVNULL)
        except (CellExecutionError, DeadKernelError) as error:
            last = TERMINAL.sub("", str(error)).strip().splitlines()[-1:]
            msg = f"{path.stem} stopped and was not made into a page. {' '.join(last)}"
            raise StoreError(msg) from error
    return notebook
