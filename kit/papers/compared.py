"""Versions of a formula compared in everything that follows from them: lines, substances, findings, cost, label."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING

from kit.bench.cost_across import Cost100, cost_per_100_g
from kit.bench.price_list import PriceList
from kit.errors import CompositionError, RangeError
from kit.formula.checks import check
from kit.formula.compare import ComparedSubstance, LineRow, compare_substances, line_rows
from kit.formula.differences import Differences, FindingChanges, differences, finding_changes
from kit.formula.expansion import Materials
from kit.label.declaration import declaration
from kit.layers.density import layers_of, product_density
from kit.library.table import JURISDICTIONS

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from kit.findings import Finding
    from kit.formula.model import Formula
    from kit.library.library import Library
    from kit.library.limit import Limit

#: More than this cannot be read side by side.
MOST = 5


@dataclass(frozen=True)
class Described:
    """One version and what follows from it.

    Attributes
    ----------
    density
        Of the shaken product, from ideal volumes; None where nothing has a mass. [g/mL]
    cost
        Of the materials of 100 g; None where there is no list of prices or the formula is not complete.
    declared
        Jurisdiction → the names of its list of ingredients, in order.
    """

    name: str
    formula: Formula
    materials: Materials
    findings: tuple[Finding, ...]
    density: float | None
    cost: Cost100 | None
    declared: Mapping[str, tuple[str, ...]]


@dataclass(frozen=True)
class Step:
    """What happened from one version to a later one."""

    before: Described
    after: Described

    @cached_property
    def differences(self) -> Differences:
        """What changed in the formula itself."""
        return differences(self.before.formula, self.after.formula)

    @cached_property
    def findings(self) -> FindingChanges:
        """What that did to the findings."""
        return finding_changes(self.before.findings, self.after.findings)

    def declared(self, place: str) -> tuple[str, ...]:
        """What that did to the list of ingredients of a jurisdiction, one sentence each."""
        return order_changes(self.before.declared[place], self.after.declared[place])

    @property
    def is_empty(self) -> bool:
        """True where nothing changed at all."""
        return not self.differences and not self.findings.gained and not self.findings.lost


@dataclass(frozen=True)
class Comparison:
    """Two or more versions.

    Attributes
    ----------
    currency
        Of the costs; empty without a list of prices.
    problem
        Why the substances cannot be compared, if they cannot.
    """

    versions: tuple[Described, ...]
    currency: str = ""
    rows: tuple[LineRow, ...] = ()
    substances: tuple[ComparedSubstance, ...] = ()
    problem: str = ""
    steps: tuple[Step, ...] = field(default=())

    @cached_property
    def overall(self) -> Step:
        """From the first version to the last."""
        return Step(self.versions[0], self.versions[-1])


def order_changes(before: Sequence[str], after: Sequence[str]) -> tuple[str, ...]:
    """How one list of names became another: what came, went, or stands in another place among the rest.

    Examples
    --------
    >>> order_changes(["Aqua", "Glycerin", "Urea"], ["Aqua", "Urea", "Glycerin"])
    ('Urea now stands before Glycerin.',)
    """
    found = [f"{name} is new, in place {after.index(name) + 1}." for name in after if name not in before]
    found += [f"{name} is no longer there." for name in before if name not in after]
    old, new = ([name for name in names if name in before and name in after] for names in (before, after))
    for n, name in enumerate(new):
        passed = [other for other in new[n + 1 :] if old.index(other) < old.index(name)]
        if passed:
            found.append(f"{name} now stands before {', '.join(passed)}.")
    return tuple(found)


def compared(
    versions: Mapping[str, Formula],
    library: Library,
    limits: Sequence[Limit],
    prices: PriceList | None = None,
    *,
    ph: float | None = None,
) -> Comparison:
    """Compare versions, the oldest first.

    Parameters
    ----------
    versions
        What each is called → the version.
    prices
        For the cost of 100 g; left out without a list.
    ph
        Of the water layer, for a version of which none was measured; None where there is none.

    Raises
    ------
    RangeError
        Fewer than two, or more than five.
    """
    if not 2 <= len(versions) <= MOST:
        count = f"{len(versions)} {'is' if len(versions) == 1 else 'are'} chosen"
        msg = f"Choose from 2 to {MOST} versions to compare; {count}."
        raise RangeError(msg)
    listed = prices or PriceList()
    described = tuple(_described(name, formula, library, limits, listed, ph) for name, formula in versions.items())
    problem = ""
    substances: tuple[ComparedSubstance, ...] = ()
    try:
        substances = tuple(compare_substances([d.formula for d in described], [d.materials for d in described]))
    except CompositionError as error:
        problem = str(error)
    currency = next((d.cost.currency for d in described if d.cost is not None), "")
    steps = tuple(Step(before, after) for before, after in pairwise(described))
    return Comparison(described, currency, line_rows(list(versions.values())), substances, problem, steps)


def _described(
    name: str,
    formula: Formula,
    library: Library,
    limits: Sequence[Limit],
    prices: PriceList,
    ph: float | None,
) -> Described:
    materials = Materials.of(formula, library)
    layers = layers_of(formula, materials)
    return Described(
        name,
        formula,
        materials,
        tuple(check(formula, materials, limits, ph=ph if formula.ph is None else formula.ph)),
        product_density(layers) if layers else None,
        cost_per_100_g(formula, materials, prices),
        {place: declaration(formula, materials, jurisdiction=place).names for place in JURISDICTIONS},
    )
