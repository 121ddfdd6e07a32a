"""Variants side by side: every line, and what follows from it in the bottle."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.errors import KitError, RangeError
from kit.formula.checks import check
from kit.formula.compare import compare
from kit.formula.expansion import Materials, expand
from kit.layers.bottle import stand
from kit.layers.density import layers_of, product_density

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    import pandas as pd

    from kit.findings import Finding
    from kit.formula.model import Formula
    from kit.layers.bottle import Bottle
    from kit.library.library import Library
    from kit.library.limit import Limit

    #: Gives the cost of 100 g, its currency, and whether everything has a price; None where it is not known.
    Costing = Callable[[Formula, Materials], tuple[float, str, bool] | None]

#: More columns than this cannot be read side by side.
MOST = 5


@dataclass(frozen=True, slots=True)
class Column:
    """One formula, as a column of the comparison.

    Attributes
    ----------
    sizes
        Each layer: its name → share of the whole. [% w/w]
    heights
        Each layer: its name → height once parted; empty where the bottle cannot show it. [mm]
    density
        Of the shaken product; None where nothing has a density. [g/mL]
    order
        Its substances in descending order, as a declaration would begin; see the label for the rules below 1 %.
    findings
        Everything to say about it.
    cost
        Of the materials of 100 g, its currency, and whether everything has a price; None where it is not known.
    """

    name: str
    formula: Formula
    sizes: dict[str, float]
    heights: dict[str, float]
    density: float | None
    order: tuple[str, ...]
    findings: tuple[Finding, ...]
    cost: tuple[float, str, bool] | None = None


def side_by_side(
    formulas: Mapping[str, Formula],
    library: Library,
    limits: Sequence[Limit],
    bottle: Bottle,
    fill: float,
    cost: Costing | None = None,
) -> list[Column]:
    """Up to five formulas as columns.

    Parameters
    ----------
    fill
        Product in the bottle. [mL]
    cost
        Tells what the materials of 100 g cost; :func:`kit.bench.cost_across.cost_per_100_g` with a list of prices.

    Raises
    ------
    RangeError
        More than five.
    """
    if len(formulas) > MOST:
        msg = f"{len(formulas)} variants are too many to see side by side. Choose {MOST} or fewer."
        raise RangeError(msg)
    return [_column(name, formula, library, limits, bottle, fill, cost) for name, formula in formulas.items()]


def _column(
    name: str,
    formula: Formula,
    library: Library,
    limits: Sequence[Limit],
    bottle: Bottle,
    fill: float,
    cost: Costing | None,
) -> Column:
    materials = Materials.of(formula, library)
    layers = layers_of(formula, materials)
    try:
        heights = {standing.layer.name: standing.height for standing in stand(layers, bottle, fill)}
    except KitError:
        heights = {}
    return Column(
        name,
        formula,
        {layer.name: layer.percent for layer in layers},
        heights,
        product_density(layers) if layers else None,
        tuple(expand(formula, materials)),
        tuple(check(formula, materials, limits)),
        cost(formula, materials) if cost is not None else None,
    )


def family_table(columns: Sequence[Column]) -> pd.DataFrame:
    """The columns as one DataFrame: lines in % w/w, then layers, heights, density and findings."""
    import pandas as pd

    lines = compare([column.formula for column in columns])
    rows: list[list[object]] = [[line.phase, line.material, "% w/w", *line.percents] for line in lines]
    layers = dict.fromkeys(name for column in columns for name in column.sizes)
    rows += [[name, "whole layer", "% w/w", *(column.sizes.get(name) for column in columns)] for name in layers]
    rows += [[name, "height in the bottle", "mm", *(column.heights.get(name) for column in columns)] for name in layers]
    rows.append(["", "density, shaken", "g/mL", *(column.density for column in columns)])
    costs = [column.cost for column in columns]
    if any(costs):
        unit = next(cost[1] for cost in costs if cost)
        rows.append(["", "materials of 100 g", unit, *(cost[0] if cost else None for cost in costs)])
        if not all(cost[2] for cost in costs if cost):
            rows.append(
                ["", "everything has a price", "", *(("yes" if cost[2] else "no") if cost else None for cost in costs)]
            )
    for severity in ("stop", "caution"):
        counts = [sum(finding.severity == severity for finding in column.findings) for column in columns]
        rows.append(["", f"findings: {severity}", "", *counts])
    return pd.DataFrame(rows, columns=["phase", "line", "unit", *(column.name for column in columns)])
