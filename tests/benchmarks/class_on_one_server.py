"""A class on one computer: ``python tests/benchmarks/class_on_one_server.py [--students 20] [--lesson 02_...]``.

Kernel after kernel is started as a server starts them, and runs a lesson. What they hold together is counted in
proportion: memory that several share (the code of libraries) is split among them, so that the sum is what they take
of the computer. A straight line through it says what each further student takes; beyond what was started it is an
extrapolation and says so. The server itself, and the browsers, which are the students' own, come on top. Linux only.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

ROOT = Path(__file__).resolve().parent.parent.parent
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))

import numpy as np  # noqa: E402
from jupyter_client.manager import start_new_kernel  # noqa: E402

from kit.workspace import lay  # noqa: E402

if TYPE_CHECKING:
    from collections.abc import Sequence

PATIENCE = 120  # for one cell [s]
CLASSES = (30, 100, 200)


def run_lesson(client: Any, notebook: Path) -> None:
    """Run the cells of a notebook in a kernel, as Run All Cells does."""
    content: Any = json.loads(notebook.read_text(encoding="utf-8"))
    for cell in content["cells"]:
        if cell["cell_type"] == "code":
            answer = client.execute_interactive("".join(cell["source"]), timeout=PATIENCE, output_hook=lambda _: None)
            if answer["content"]["status"] != "ok":
                raise RuntimeError(answer["content"])


def in_proportion(process: int) -> float:
    """What a process holds of the computer's memory, shared parts split among those that share them. [MB]"""
    rows = (Path("/proc") / str(process) / "smaps_rollup").read_text(encoding="ascii").splitlines()
    return next(int(row.split()[1]) / 1024 for row in rows if row.startswith("Pss:"))


def main(arguments: Sequence[str]) -> None:
    """Start them one after the other, and print what they hold at each step."""
    parser = argparse.ArgumentParser(prog="tests/benchmarks/class_on_one_server.py", description="Memory of a class.")
    parser.add_argument("--students", type=int, default=20, help="how many kernels are started")
    parser.add_argument("--lesson", default="02_two_layer_products")
    asked = parser.parse_args(arguments)
    kernels: list[tuple[Any, Any]] = []
    seen: list[tuple[int, float]] = []
    with tempfile.TemporaryDirectory() as folder:
        laid = lay(Path(folder) / "class").folder
        print(f"{'students':>8} {'all kernels, MB':>16}")
        try:
            for student in range(1, asked.students + 1):
                manager, client = start_new_kernel(cwd=str(laid))
                kernels.append((manager, client))
                run_lesson(client, laid / f"{asked.lesson}.ipynb")
                if student in (1, 2, 5) or student % 10 == 0 or student == asked.students:
                    held = sum(in_proportion(one.provisioner.process.pid) for one, _ in kernels)
                    seen.append((student, held))
                    print(f"{student:>8} {held:>16.0f}", flush=True)
        finally:
            for manager, client in kernels:
                client.stop_channels()
                manager.shutdown_kernel(now=True)
    sizes, held_by = np.array([n for n, _ in seen], float), np.array([held for _, held in seen])
    each, common = np.polyfit(sizes, held_by, 1) if len(seen) > 1 else (held_by[0], 0.0)
    print(f"\nEach further student takes {each:.0f} MB, beside {common:.0f} MB that all share.")
    for size in CLASSES:
        beyond = "" if size <= asked.students else ", an extrapolation"
        print(f"{size} students: {(common + each * size) / 1000:.1f} GB{beyond}")


if __name__ == "__main__":
    main(sys.argv[1:])
