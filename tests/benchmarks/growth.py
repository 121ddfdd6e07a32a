"""How the kit grows with what it is given: ``python tests/benchmarks/growth.py``. Each size beside the one before.

The last column is the power of the size by which the time grew since the row before: 1 is in step, 2 with its square.
A list of what is due is read off a log with all readings in ONE study. Nothing fails here; a person reads the table.
"""

from __future__ import annotations

import argparse
import math
import sys
import tempfile
import tracemalloc
from dataclasses import replace
from datetime import timedelta
from functools import partial
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path.insert(0, str(ROOT))

import numpy as np  # noqa: E402

from kit.formula.checks import check  # noqa: E402
from kit.formula.expansion import Materials, expand  # noqa: E402
from kit.formula.model import Formula, Line, Phase  # noqa: E402
from kit.formula.requirements import requirements  # noqa: E402
from kit.label.declaration import declaration  # noqa: E402
from kit.layers.density import layers_of  # noqa: E402
from kit.layers.ratio import RatioPath  # noqa: E402
from kit.layers.sweep import sweep_in_pieces  # noqa: E402
from kit.library.ingredient import Stock  # noqa: E402
from kit.library.library import Library  # noqa: E402
from kit.library.table import limits  # noqa: E402
from kit.stability.log.store import StabilityLog  # noqa: E402
from tests.benchmarks.run import long_formula, timed  # noqa: E402
from tests.benchmarks.stability_log import ATTRIBUTES, CONDITIONS, DAY, POINTS, filled, long_plan  # noqa: E402

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

Sizes = tuple[int, ...]
#: Readings of one batch of the long plan.
EACH = CONDITIONS * POINTS * ATTRIBUTES


def grown(name: str, sizes: Sizes, rounds: int, make: Callable[[int], Callable[[int], object]]) -> Iterator[str]:
    """A row for each size: median and 95th percentile, and the power of growth since the row before."""
    before: tuple[int, float] | None = None
    for size in sizes:
        row = timed(f"{name}, {size:,}", make(size), rounds)
        power = math.log(row.median / before[1]) / math.log(size / before[0]) if before else math.nan
        before = size, row.median
        yield f"{row!s:<78}" + ("" if math.isnan(power) else f"   {power:5.2f}")


def checking(lines: int) -> Callable[[int], object]:
    """All limits, rules and usual ranges; a new formula each time, for answers are remembered."""
    formula = long_formula(lines)

    def work(n: int) -> object:
        fresh = replace(formula, title=f"{lines} lines, {n}")
        return check(fresh, Materials.of(fresh, Library.bundled()), limits())

    return work


def nested(deep: int) -> Formula:
    """A stock made with a stock made with a stock …, each nine tenths of the one below and a tenth of water."""
    stocks = [Stock("Stock 0", {"Glycerin": 40.0, "Aqua": 60.0})]
    for n in range(1, deep):
        stocks.append(Stock(f"Stock {n}", {stocks[-1].name: 90.0, "Aqua": 10.0}))
    lines = (Line("Aqua", "q.s.", "fill"), Line(stocks[-1].name, "40"))
    return Formula(f"{deep} deep", (Phase("Water layer", "water", lines),), materials=tuple(stocks))


def unfolding(deep: int) -> Callable[[int], object]:
    """Down to what is declared, the densities of the layers, and the order on the label."""
    formula = nested(deep)

    def work(n: int) -> object:
        fresh = replace(formula, title=f"{deep} deep, {n}")
        materials = Materials.of(fresh, Library.bundled())
        return expand(fresh, materials), layers_of(fresh, materials), declaration(fresh, materials)

    return work


def looking_through(variants: int) -> Callable[[int], object]:
    """A formula of twenty lines at so many ratios with every rule, a piece at a time: how many are allowed."""
    formula = long_formula(20)
    path = RatioPath.of(formula)
    required = requirements(formula, Materials.of(formula, Library.bundled()), limits())
    oil = np.linspace(0, path.most, variants)
    return lambda _: sum(int(piece.allowed.sum()) for piece in sweep_in_pieces(path, oil, required))


def most_memory(work: Callable[[int], object]) -> float:
    """What it has in hand at most, beside what was there before. [MB]"""
    tracemalloc.start()
    work(0)
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return most / 1e6


def due_rows(sizes: Sizes, rounds: int) -> Iterator[str]:
    """What is due in one study of so many readings, and one series of it."""
    with tempfile.TemporaryDirectory(prefix="shakewell-growth-") as folder:

        def log_of(readings: int) -> tuple[StabilityLog, int]:
            log = StabilityLog.open(Path(folder) / f"{readings}.log.db")
            if not log.studies():
                study = log.start_study("One", long_plan(), [f"B{n}" for n in range(max(1, readings // EACH))], DAY)
                log._backend.write(partial(filled, study=study))
            return log, log.studies()[0].id

        def counted(readings: int) -> Callable[[int], object]:
            log, study = log_of(readings)

            def work(_: int) -> object:
                log._pulls.clear()  # as in a log that was just opened
                return log.due(study, DAY + timedelta(days=200))

            return work

        def floor(readings: int) -> Callable[[int], object]:
            log, study = log_of(readings)
            asked = (
                "SELECT batch, condition, time_point, group_concat(attribute), max(observed_on) FROM observations "
                f"WHERE study_id = {study} GROUP BY batch, condition, time_point"
            )

            def work(_: int) -> object:
                with log._backend.reading() as connection:
                    return connection.connection.cursor().execute(asked).fetchall()

            return work

        def due(readings: int) -> Callable[[int], object]:
            log, study = log_of(readings)
            point = log.study(study).plan.time_points[0].label
            log.due(study, DAY)
            used = count(2)

            def work(_: int) -> object:
                log.record(study, "B0", "place 1", point, "a3", "6", DAY, replicate=next(used))
                return log.due(study, DAY + timedelta(days=200))

            return work

        def series(readings: int) -> Callable[[int], object]:
            log, study = log_of(readings)
            return lambda _: log.current(study, condition="place 1", attribute="a3")

        yield from grown("what is due, in a log just opened, readings", sizes, rounds, counted)
        yield from grown("  its floor, SQLite alone reading the rows, readings", sizes, rounds, floor)
        yield from grown("one reading saved and what is due then, readings", sizes, rounds, due)
        yield from grown("one attribute in one place of one study, readings", sizes, rounds, series)


def main(arguments: Sequence[str]) -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(prog="tests/benchmarks/growth.py", description="How the kit grows.")
    parser.add_argument("--rounds", type=int, default=15, help="of each row")
    parser.add_argument("--most", type=int, default=10**7, help="the most variants; readings go to a tenth of it")
    asked = parser.parse_args(arguments)
    tens = tuple(10**n for n in range(2, 8) if 10**n <= asked.most)
    print(f"{'what':<58} {'median ms':>9} {'p95 ms':>9}   power")
    for row in grown("a check, lines", (10, 20, 50, 100, 200), asked.rounds, checking):
        print(row, flush=True)
    for row in grown("a stock of stocks, deep", (1, 5, 10, 25, 50), asked.rounds, unfolding):
        print(row, flush=True)
    for row in grown("variants in pieces", tens, min(asked.rounds, 3), looking_through):
        print(row, flush=True)
    least, most = (most_memory(looking_through(size)) for size in (10**5, asked.most))
    print(f"memory of the variants in pieces: {least:.0f} MB at 100,000, {most:.0f} MB at {asked.most:,}")
    for row in due_rows(tuple(10 * ten for ten in tens if 10 * ten <= asked.most // 10), asked.rounds):
        print(row, flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
