"""Rates of one attribute in every condition that has a temperature, ready for Arrhenius' equation."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from kit.errors import EntryError
from kit.findings import Finding
from kit.stability.arrhenius import FEWEST_TEMPERATURES, Arrhenius, arrhenius
from kit.stability.kinetics import rate
from kit.stability.series import series_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kit.stability.attribute import Attribute
    from kit.stability.kinetics import Order, Rate
    from kit.stability.study import Observation, Study


@dataclass(frozen=True, slots=True)
class Rates:
    """How fast one attribute changes at each temperature.

    Attributes
    ----------
    rates
        Coldest first; above 0 in the direction in which the warmest goes.
    rises
        True where that direction is up.
    unit
        Of the rates, in words.
    fit
        Arrhenius' equation through them, or None where ``findings`` say why not.
    """

    rates: tuple[Rate, ...]
    rises: bool
    unit: str
    fit: Arrhenius | None
    findings: tuple[Finding, ...]


def rates_of(
    study: Study, observations: Iterable[Observation], attribute: Attribute, order: Order = "zero"
) -> Rates | None:
    """The rates of an attribute, or None where fewer than three dark conditions have a temperature of their own.

    Light does what warmth does not, so bottles in light are left out.

    Parameters
    ----------
    order
        "zero", or "first" for what falls by a share of what is left. A colour difference is taken in zero order.

    Raises
    ------
    EntryError
        A temperature with too few readings, or one of 0 or less in first order.
    """
    rows = list(observations)
    order = "zero" if attribute.kind == "colour" else order
    kept = [(c.temperature, c.key) for c in study.plan.conditions if c.temperature is not None and c.light == "dark"]
    found = [(t, many) for t, key in sorted(kept) if (many := series_of(study, rows, key, attribute.key))]
    if len({t for t, _ in found}) < FEWEST_TEMPERATURES:
        return None
    rates = [rate(many, t, order) for t, many in found]
    rises = rates[-1].k < 0
    if rises:
        rates = [replace(one, k=-one.k) for one in rates]
    unit = "CIEDE2000 units" if attribute.kind == "colour" else attribute.unit or attribute.label
    words = f"{unit} per day" if order == "zero" else "share per day"
    try:
        fit = arrhenius(rates)
    except EntryError as error:
        return Rates(tuple(rates), rises, words, None, (Finding("caution", str(error)),))
    return Rates(tuple(rates), rises, words, fit, fit.findings)
