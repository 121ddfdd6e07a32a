"""How long the kit takes: ``python tests/benchmarks/run.py``. It prints measurements beside their bars.

A bar is what the design asks for on an ordinary laptop. Nothing here fails when it is missed: two busy cores
make times meaningless as tests, so a person reads the table.
"""

from __future__ import annotations

import argparse
import statistics
import subprocess
import sys
import time
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

ROOT = Path(__file__).resolve().parent.parent.parent
sys.path.insert(0, str(ROOT))

from kit.bench.balance import Balance  # noqa: E402
from kit.bench.premix import premixes  # noqa: E402
from kit.bench.weighing import weigh  # noqa: E402
from kit.demos import demo  # noqa: E402
from kit.formula.checks import check  # noqa: E402
from kit.formula.expansion import Materials, expand  # noqa: E402
from kit.formula.model import Formula, Line, Phase, Rule  # noqa: E402
from kit.layers.density import layers_of  # noqa: E402
from kit.layers.window import window  # noqa: E402
from kit.library.library import Library  # noqa: E402
from kit.library.table import limits  # noqa: E402

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from kit.bench.order import Arrangement

#: From a hand on the slider to the words and numbers of both drawn widgets, 95th percentile. [ms]
SLIDER_BAR = 15.0
#: 100 000 batches of 20 lines drawn and looked at, as a multiple of drawing their random numbers alone.
MONTE_CARLO_BAR = 3.0
#: A thousand users over 200 doses.
SHAKING_BAR = "at most 1000 ms"
#: A thousand products of three batches, as a multiple of the speed of statsmodels one by one.
ESTIMATES_BAR = "at least 50"
#: All papers of one formula, without printing them into PDFs. [ms]
PAPERS_BAR = 500.0
#: Every limit, rule of the trade and usual range about a formula of 30 lines.
CHECK_BAR = "median at most 2 ms"
#: The density of each layer of a formula of 30 lines at one temperature, with what it rests on.
DENSITIES_BAR = "median at most 1 ms"
#: Twenty of 500 blends of five parts, and the triangle of a trial drawn anew.
DESIGN_BAR, TRIANGLE_BAR = "at most 1000 ms", "at most 30 ms"
#: ``import kit`` as a part of ``import pandas``.
IMPORT_BAR = 0.25

COLD = """
from kit.bench.weighing import weigh
from kit.demos import demo
from kit.formula.checks import check
from kit.formula.expansion import Materials, expand
from kit.layers.bottle import bundled_bottles, stand
from kit.layers.density import layers_of
from kit.layers.window import window
from kit.library.library import Library
from kit.library.table import limits
formula = demo()
materials = Materials.of(formula, Library.bundled())
check(formula, materials, limits()), expand(formula, materials), weigh(formula, "250 g")
window(formula, materials, limits())
stand(layers_of(formula, materials), bundled_bottles()["round 100 mL"], 80)
"""


@dataclass(frozen=True)
class Measured:
    """One row of the table. [ms, or as the name says]"""

    name: str
    median: float
    p95: float
    bar: str = ""

    def __str__(self) -> str:
        return f"{self.name:<58} {self.median:>9.2f} {self.p95:>9.2f}   {self.bar}".rstrip()


def long_formula(lines: int) -> Formula:
    """A two-layer formula of so many lines, from the bundled library."""
    library = list(Library.bundled())
    oil = [found.inci for found in library if found.phase == "oil" and not found.composition][: lines // 3]
    names = [found.inci for found in library if found.phase == "water" and found.inci != "Aqua"]
    preservatives = ("Sodium Benzoate", "Potassium Sorbate")
    others = [name for name in names if name not in preservatives][: lines - len(oil) - 3]
    water = [Line("Aqua", "q.s.", "fill"), *(Line(name, "0.2", "level") for name in preservatives)]
    water += [Line(name, "0.5", "share") for name in others]
    oils = [Line(oil[0], "12", "fill"), *(Line(name, "0.6", "share") for name in oil[1:])]
    phases = (Phase("Water layer", "water", tuple(water)), Phase("Oil layer", "oil", tuple(oils)))
    rules = (Rule("Sodium Benzoate", 0.2, 0.5, "water"), Rule(oil[1], high=10, of="oil"))
    return Formula(f"{lines} lines", phases, rules=rules)


def timed(name: str, work: Callable[[int], object], rounds: int, bar: str = "") -> Measured:
    """Median and 95th percentile of so many rounds, after one that warms up."""
    work(0)
    times = []
    for n in range(1, rounds + 1):
        begin = time.perf_counter()
        work(n)
        times.append(1000 * (time.perf_counter() - begin))
    return Measured(name, statistics.median(times), sorted(times)[min(int(0.95 * rounds), rounds - 1)], bar)


def slider_steps(rounds: int) -> list[Measured]:
    """One step of the slider: the bench moves, and both drawn widgets get their new words and numbers."""
    from kit.widgets.bench import Bench
    from kit.widgets.views import formula_view, ratio_picture

    short, long = Bench(long_formula(20)), Bench(long_formula(30))

    def by_mass(n: int) -> object:
        short.move_oil(10 + n % 40 / 2)
        return formula_view(short), ratio_picture(short, n)

    def by_height(n: int) -> object:
        long.move_oil_height(20 + n % 40 / 2)
        return formula_view(long), ratio_picture(long, n)

    bar = f"p95 at most {SLIDER_BAR:g} ms"
    return [
        timed("slider step, 20 lines", by_mass, rounds, bar),
        timed("slider step by the height that is seen, 30 lines", by_height, rounds, bar),
    ]


def blending(rounds: int) -> list[Measured]:
    """A D-optimal choice, the triangle of a trial, and the best blend under two goals."""
    import numpy as np

    from kit.blends.desirability import best_blend
    from kit.blends.exchange import d_optimal
    from kit.blends.trial_file import demo_trial
    from kit.figures.mixture import triangle_picture
    from kit.figures.triangle_cut import Cut

    spots = [tuple(point) for point in np.random.default_rng(3).dirichlet([1.0] * 5, 500) * 100]
    trial = demo_trial()
    fits = [trial.fit(name, "quadratic") for name in trial.scores]
    goals = [trial.goals[name] for name in trial.scores]
    cut = Cut(trial.region, (0, 1, 2), trial.region.middle)
    bottles = [(bottle.code, bottle.point) for bottle in trial.bottles]

    def triangle(_: int) -> object:
        return triangle_picture(cut, scores=lambda points: fits[0].predict(points)[0], what="slip", bottles=bottles)

    def best(seed: int) -> object:
        return best_blend(trial.region, fits, goals, seed=seed)

    few = min(rounds, 20)
    return [
        timed("20 of 500 blends of five parts, D-optimal", lambda n: d_optimal(spots, 20, seed=n), few, DESIGN_BAR),
        timed("the triangle of a trial, drawn anew", triangle, few, TRIANGLE_BAR),
        timed(
            "the best blend under two goals, 400 worlds", lambda n: best_blend(trial.region, fits, goals, seed=n), few
        ),
    ]


def weighing(rounds: int) -> list[Measured]:
    """The weighing panel at a hand on its slider, and the Monte Carlo engine against its own random numbers."""
    import numpy as np

    from kit.bench.uncertainty import CHUNK, simulate, weighing_uncertainty
    from kit.widgets.bench import Bench
    from kit.widgets.weighing_panel import WeighingPanel

    bench = Bench(long_formula(20))
    bench.balance = balance = Balance(0.01, 600, repeatability=0.01, linearity=0.02)
    panel = WeighingPanel(bench)
    batch, draws = weigh(bench.formula, "500 g", balance), 100_000
    found = [
        timed(
            "weighing panel, one step, 20 lines",
            lambda n: setattr(panel.mass, "value", 100 + n % 1800),
            rounds,
            f"p95 at most {SLIDER_BAR:g} ms",
        ),
        timed("uncertainty by propagation, 20 lines", lambda _: weighing_uncertainty(batch), rounds),
    ]
    ways: tuple[tuple[Arrangement, int], ...] = (("separate", 40), ("one vessel", 21))
    for arrangement, readings in ways:
        generator = np.random.default_rng(1)

        def numbers_alone(_: int, generator: np.random.Generator = generator, readings: int = readings) -> None:
            for start in range(0, draws, CHUNK):
                size = (readings, min(CHUNK, draws - start))
                generator.random(size), generator.random(size), generator.standard_normal(size)

        def whole(_: int, generator: np.random.Generator = generator, way: Arrangement = arrangement) -> None:
            simulate(batch, generator, way, draws=draws)

        alone = timed(f"their random numbers alone, {arrangement}", numbers_alone, max(rounds // 20, 5))
        drawn = timed(f"100 000 batches drawn, {arrangement}", whole, max(rounds // 20, 5))
        ratio = (drawn.median / alone.median, drawn.p95 / alone.median)
        name = f"the one as a multiple of the other, {arrangement} (times 1)"
        found += [alone, drawn, Measured(name, *ratio, f"at most {MONTE_CARLO_BAR:g}")]
    return found


def asking(rounds: int) -> list[Measured]:
    """The panels that answer the bench's questions, at a hand on one of their controls."""
    from kit.widgets.bench import Bench
    from kit.widgets.dilution_panel import DilutionPanel
    from kit.widgets.ph_panel import PhPanel

    ph, thin = PhPanel(Bench(demo()), [(0, 5.9), (0.5, 5.42), (1, 4.95), (2, 4.35)]), DilutionPanel(Bench())
    ph.model.type(curve="yes")
    thin.form.type(how="have", unit="v/v", dissolved="Alcohol")
    trace = Line("Aqua", "q.s.", "fill"), Line("Allantoin", "0.001")
    batch = weigh(Formula("Mist", (Phase("Water", "water", trace),)), "100 g", Balance(0.01, 500))
    bar = f"p95 at most {SLIDER_BAR:g} ms"
    return [
        timed("pH panel with its curve", lambda n: ph.form.type(target=f"{4 + n % 100 / 50}"), rounds, bar),
        timed("dilution panel", lambda n: thin.form.type(wanted=f"{5 + n % 90 / 10}"), rounds, bar),
        timed("a chain of premixes", lambda _: premixes(batch), rounds, bar),
    ]


def shaking(rounds: int) -> list[Measured]:
    """A thousand bottles used up dose by dose, and the separation panel at a hand on its slider."""
    from kit.layers.dosing import USERS, Pump, draw_delays, use_with_delays
    from kit.widgets.bench import Bench
    from kit.widgets.separation_panel import SeparationPanel

    panel = SeparationPanel(Bench(long_formula(20)))
    shaken = panel.choices.product(panel.bench).ways[0]
    _, most, _ = panel.at.inputs["at"].slide or (0, 1, 0)
    pump, delays = Pump(2.0, shaken.volume / 220), draw_delays(USERS[1], 200, 1000)

    def used_up(_: int) -> object:
        return use_with_delays(shaken, pump, USERS[1], delays)

    def step(n: int) -> None:
        panel.at.type(at=repr(most * (n % 100) / 100))

    return [
        timed("200 doses from 1,000 bottles, every drop size", used_up, max(rounds // 20, 3), SHAKING_BAR),
        timed("separation panel, one step of its time", step, rounds),
    ]


def sweeping(rounds: int) -> list[Measured]:
    """Many ratios of a 20-line formula at once, against a loop of quantities, a frame each, and bare NumPy.

    The loop and the frames work out the lines and their sum only, so the sweep is held against them without rules.
    """
    import numpy as np
    import pandas as pd

    from kit.formula.requirements import requirements
    from kit.layers.ratio import RatioPath
    from kit.layers.sweep import sweep
    from kit.units import quantity

    formula = long_formula(20)
    path = RatioPath.of(formula)
    required = requirements(formula, Materials.of(formula, Library.bundled()), limits())
    oil = np.linspace(0, path.most, 5_000)
    base, slope = np.array(path.base), np.array(path.slope)
    weights, bounds = np.array([rule.weights for rule in required]), np.array([rule.bound for rule in required])
    quantities = [(quantity(b, "percent"), quantity(s, "1")) for b, s in zip(path.base, path.slope, strict=True)]

    def bare(_: int) -> object:
        percents = np.outer(oil, slope) + base
        return bounds - percents @ weights.T, percents.sum(axis=1)

    def with_quantities(n: int) -> object:
        ratio = quantity(float(n % 100), "percent")
        return sum((b + s * ratio for b, s in quantities), start=quantity(0.0, "percent"))

    def with_a_frame(n: int) -> object:
        frame = pd.DataFrame({"base": path.base, "slope": path.slope})
        frame["percent"] = frame["base"] + frame["slope"] * (n % 100)
        return frame["percent"].sum()

    few = max(rounds // 10, 5)
    many = timed("sweep of 5,000 ratios, lines and rules", lambda _: sweep(path, oil, required), few)
    lines = timed("sweep of 5,000 ratios, lines and sums", lambda _: sweep(path, oil).percents.sum(axis=1), few)
    plain = timed("the bare product and sums on the same arrays", bare, few)
    loop, frames = (
        timed("one ratio as a loop of quantities", with_quantities, few),
        timed("one as a frame", with_a_frame, few),
    )
    return [
        many,
        lines,
        plain,
        Measured(
            "the one as a multiple of the other (times 1)",
            many.median / plain.median,
            many.p95 / plain.median,
            "at most 2",
        ),
        loop,
        frames,
        *(
            Measured(f"ratios in the time of {name} (times 1)", *2 * (row.median * oil.size / lines.median,), bar)
            for name, row, bar in (("the loop", loop, "at least 5000"), ("the frame", frames, "at least 500"))
        ),
    ]


def estimating(rounds: int) -> list[Measured]:
    """Shelf lives of a thousand products of three batches at once, against statsmodels one by one."""
    from tests.benchmarks.shelf_lives import products, with_arrays, with_statsmodels

    days, values = products(1000)
    few = slice(0, 10)
    many = timed("1,000 shelf lives of three batches", lambda _: with_arrays(days, values), max(rounds // 10, 5))
    judge = timed(
        "10 shelf lives by statsmodels", lambda _: with_statsmodels(days[few], values[few]), max(rounds // 40, 3)
    )
    times = 100 * judge.median / many.median
    name = "shelf lives in the time of one by statsmodels (times 1)"
    return [many, judge, Measured(name, times, times, ESTIMATES_BAR)]


def calculations(rounds: int) -> list[Measured]:
    """Each calculation of a formula of 30 lines, which is new in every round so that nothing is remembered."""
    start, library = long_formula(30), Library.bundled()

    def fresh(n: int) -> tuple[Formula, Materials]:
        formula = replace(start, note=str(n))
        return formula, Materials.of(formula, library)

    def on_fresh(work: Callable[[Formula, Materials], object]) -> Callable[[int], object]:
        return lambda n: work(*fresh(n))

    return [
        timed("check, 30 lines", on_fresh(lambda f, m: check(f, m, limits())), rounds, CHECK_BAR),
        timed("window, 30 lines", on_fresh(lambda f, m: window(f, m, limits())), rounds),
        timed("weigh, 30 lines", on_fresh(lambda f, _: weigh(f, "500 g").findings), rounds),
        timed("expand, 30 lines", on_fresh(expand), rounds),
        timed("densities of all layers, 30 lines", on_fresh(layers_of), rounds, DENSITIES_BAR),
        timed("every paper, 30 lines", every_paper, max(rounds // 10, 3), f"at most {PAPERS_BAR:g} ms"),
    ]


def every_paper(n: int) -> int:
    """Each paper of a formula of 30 lines with a stock and a version before it, made out anew; how long they are."""
    from kit.bench.dilution import make_stock
    from kit.bench.price_list import demo_prices
    from kit.papers.registry import make_paper, specs
    from kit.product.product import Product

    stock = make_stock("Citric Acid 20 % stock", "Citric Acid", 20)
    formula = replace(long_formula(30), note=str(n), version=2, materials=(stock,), steps=("Stir until clear.",) * 12)
    product = Product(replace(formula, earlier=(long_formula(29),)), prices=demo_prices())
    return sum(len(make_paper(name, product).html) for name, spec in specs().items() if spec.about == "product")


def fresh_interpreter(code: str) -> Callable[[int], object]:
    """Run code in an interpreter of its own."""
    return lambda _: subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=True, capture_output=True)


def starts(rounds: int) -> list[Measured]:
    """Imports and the first formula in fresh interpreters, less the start of Python itself."""
    bare = timed("python itself", fresh_interpreter("pass"), rounds)
    found = [
        timed(name, fresh_interpreter(code), rounds)
        for name, code in (
            ("import kit", "import kit"),
            ("import pandas", "import pandas"),
            ("demo opened and computed, cold", COLD),
        )
    ]
    kit, pandas, cold = (replace(row, median=row.median - bare.median, p95=row.p95 - bare.median) for row in found)
    part = Measured(
        "import kit as a part of import pandas (times 1)",
        kit.median / pandas.median,
        kit.p95 / pandas.median,
        f"at most {IMPORT_BAR:g}",
    )
    return [bare, kit, pandas, part, cold]


def main(arguments: Sequence[str]) -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(prog="tests/benchmarks/run.py", description="How long the kit takes.")
    parser.add_argument("--rounds", type=int, default=400, help="of each calculation")
    parser.add_argument("--starts", type=int, default=11, help="of each fresh interpreter")
    asked = parser.parse_args(arguments)
    print(f"{'what':<58} {'median ms':>9} {'p95 ms':>9}   bar")
    rows = [*slider_steps(asked.rounds), *weighing(asked.rounds), *asking(asked.rounds), *shaking(asked.rounds)]
    rows += [*sweeping(asked.rounds), *estimating(asked.rounds), *blending(asked.rounds)]
    rows += [*calculations(asked.rounds), *starts(asked.starts)]
    print("\n".join(map(str, rows)))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
