"""The same variants in a spreadsheet: ``python tests/benchmarks/spreadsheet.py``, where LibreOffice is installed.

A formula of twenty lines at so many ratios, each line of each variant by a formula of cells, as a maker would fill a
sheet; LibreOffice recalculates it without a window. The kit does the same by :func:`kit.layers.sweep.sweep`. Both must
come to the same percents and allow the same ratios: the sheet is a judge as well as a rival. (Debian has it in
``libreoffice-calc-nogui``.)
"""

from __future__ import annotations

import argparse
import csv
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path.insert(0, str(ROOT))

import numpy as np  # noqa: E402
from openpyxl import Workbook  # noqa: E402
from openpyxl.utils import get_column_letter  # noqa: E402

from kit.formula.expansion import Materials  # noqa: E402
from kit.formula.requirements import requirements  # noqa: E402
from kit.layers.ratio import RatioPath  # noqa: E402
from kit.layers.sweep import sweep  # noqa: E402
from kit.library.library import Library  # noqa: E402
from tests.benchmarks.run import long_formula  # noqa: E402

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from kit.formula.model import Formula

#: Percents of both may differ by so much: a sheet is written out with ten digits. [% w/w]
ALIKE = 1e-7
FIRST_ROW = 3


def main(arguments: Sequence[str] | None = None) -> int:
    """Print both times; return 1 where the two come to something else."""
    parser = argparse.ArgumentParser(description="Recalculate the same variants in a spreadsheet.")
    parser.add_argument("--variants", type=int, default=10_000)
    parser.add_argument("--rounds", type=int, default=3)
    asked = parser.parse_args(arguments)
    program = shutil.which("soffice") or shutil.which("localc")
    if program is None:
        print("No spreadsheet: install LibreOffice Calc (Debian: libreoffice-calc-nogui). Nothing was compared.")
        return 0
    formula = long_formula(20)
    path = RatioPath.of(formula)
    oil = np.linspace(1.0, path.most - 1.0, asked.variants)
    required = requirements(formula, Materials.of(formula, Library.bundled()), ())  # the rules alone
    with tempfile.TemporaryDirectory(prefix="shakewell-sheet-") as folder:
        book, one = Path(folder) / "variants.xlsx", Path(folder) / "one.xlsx"
        write(formula, oil, book)
        write(formula, oil[:1], one)
        starts = statistics.median(recalculated(program, one)[0] for _ in range(asked.rounds))
        wholes = [recalculated(program, book) for _ in range(asked.rounds)]
    in_sheet, (percents, allowed) = statistics.median(each[0] for each in wholes) - starts, wholes[0][1]
    times = []
    for _ in range(asked.rounds):
        begin = time.perf_counter()
        found = sweep(path, oil, required)
        kit_allowed = found.allowed.sum()
        times.append(time.perf_counter() - begin)
    here = statistics.median(times)
    apart = float(np.abs(found.percents - percents).max())
    print(f"{asked.variants} variants of {percents.shape[1]} lines, median of {asked.rounds} rounds")
    print(f"in the sheet, opened, recalculated and written: {in_sheet:8.3f} s, after {starts:.2f} s to start")
    print(f"in the kit:                                     {here:8.4f} s, {in_sheet / here:.0f} times as quick")
    print(f"the percents differ by {apart:.1e} at the most; allowed: {allowed} and {kit_allowed} ratios")
    return 0 if apart <= ALIKE and allowed == kit_allowed else 1


def write(formula: Formula, oil: NDArray[np.float64], file: Path) -> None:
    """A sheet with a row for each ratio: its oil layer, each line as a formula of cells, and whether the rules hold."""
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    lines = [(formula.phases[p].kind, line, percent or 0.0) for p, _, line, percent in formula.each_line()]
    last = get_column_letter(len(lines) + 1)
    columns = {kind: [n for n, (k, *_) in enumerate(lines, start=2) if k == kind] for kind in ("water", "oil")}

    def cells_of(kind: str, row: int, left_out: int = 0) -> str:
        ends = columns[kind][left_out], columns[kind][-1]
        return ":".join(f"{get_column_letter(n)}{row}" for n in ends)

    sheet.append(["oil layer, %", *(line.material for _, line, _ in lines), "allowed"])
    sheet.append([sum(x for kind, _, x in lines if kind == "oil"), *(x for *_, x in lines)])  # as it was typed
    for row, of in enumerate(oil, start=FIRST_ROW):
        cells: list[object] = [float(of)]
        for n, (kind, line, _) in enumerate(lines, start=2):
            letter, size = get_column_letter(n), f"$A{row}" if kind == "oil" else f"(100-$A{row})"
            if line.hold == "level":
                cells.append(f"={letter}$2")
            elif line.hold == "share":
                cells.append(f"={letter}$2/SUM({cells_of(kind, 2)})*{size}")
            else:  # the first line of its layer fills it
                cells.append(f"={size}-SUM({cells_of(kind, row, 1)})")
        held = [f"MIN(B{row}:{last}{row})>=0"]
        for rule in formula.rules:
            column = next(n for n, (_, line, _) in enumerate(lines, start=2) if line.material == rule.material)
            part = f"{get_column_letter(column)}{row}/SUM({cells_of(rule.of, row)})*100"
            held += [f"{part}{sign}{end}" for sign, end in ((">=", rule.low), ("<=", rule.high)) if end is not None]
        sheet.append([*cells, f"=IF(AND({','.join(held)}),1,0)"])
    book.save(file)


def recalculated(program: str, file: Path) -> tuple[float, tuple[NDArray[np.float64], int]]:
    """Open, recalculate and write a sheet; how long that took, its percents, and how many rows are allowed. [s]"""
    profile = file.parent / "profile"
    command = [program, f"-env:UserInstallation={profile.as_uri()}", "--headless", "--convert-to", "csv"]
    begin = time.perf_counter()
    subprocess.run([*command, "--outdir", str(file.parent), str(file)], check=True, capture_output=True)
    took = time.perf_counter() - begin
    with file.with_suffix(".csv").open(newline="", encoding="utf-8") as opened:
        rows = list(csv.reader(opened))[FIRST_ROW - 1 :]
    table = np.array([[float(cell) for cell in row] for row in rows])
    return took, (table[:, 1:-1], int(table[:, -1].sum()))


if __name__ == "__main__":
    sys.exit(main())
