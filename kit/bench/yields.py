"""What is taken for a batch, what it should give, and between which limits that is nothing to look into."""

from __future__ import annotations

from dataclasses import dataclass

from kit.errors import RangeError

#: How far a yield may lie beside what was expected before it is looked into (common practice). [%]
USUAL_WITHIN = 5.0


def taken_per_gram(waste_percent: float) -> float:
    """How much is taken from the packs for each gram that reaches the vessel. [g/g]

    Parameters
    ----------
    waste_percent
        What never reaches the vessel: a normal loss. [% of what is taken]

    Raises
    ------
    RangeError
        Waste that is not from 0 to below 100 %.

    References
    ----------
    .. [1] Vancouver Community College, Learning Centre, "Recipe Costing": the factor 100 ÷ yield.

    Examples
    --------
    >>> taken_per_gram(20)
    1.25
    """
    if not 0 <= waste_percent < 100:
        msg = f"Waste must be from 0 to less than 100 % of what is taken from the packs, got {waste_percent:g} %."
        raise RangeError(msg)
    return 1.0 / (1.0 - waste_percent / 100.0)


@dataclass(frozen=True, slots=True)
class ExpectedYield:
    """What should come out, and the limits chosen for it. [g]"""

    grams: float
    low: float
    high: float


def expected_yield(mass: float, loss: float = 0.0, within: float = USUAL_WITHIN) -> ExpectedYield:
    """What a batch should give: what was weighed in, less the process loss.

    More than was weighed in cannot come out, so the upper limit never lies above it.

    Parameters
    ----------
    mass
        Weighed in. [g]
    loss
        What stays in vessels or evaporates. [% of what is weighed in]
    within
        How far the yield may lie beside what is expected, either way; the maker's own choice. [% of expected]

    Raises
    ------
    RangeError
        No mass, a loss that is not from 0 to below 100 %, or limits below 0 or of 100 % and more.

    References
    ----------
    .. [1] ISO 22716:2007, section 7, production (from memory): the yield of each stage is compared with what
       was expected.

    Examples
    --------
    >>> expected_yield(1050, loss=10, within=4)
    ExpectedYield(grams=945.0, low=907.2, high=982.8)
    >>> expected_yield(250.0).high
    250.0
    """
    if not mass > 0:
        msg = f"A batch must weigh more than 0 g, got {mass:g} g."
        raise RangeError(msg)
    if not 0 <= loss < 100:
        msg = f"The process loss must be from 0 to less than 100 %, got {loss:g} %."
        raise RangeError(msg)
    if not 0 <= within < 100:
        msg = f"The limits of the yield must be from 0 to less than 100 %, got {within:g} %. 5 % is a common choice."
        raise RangeError(msg)
    grams = mass * (1 - loss / 100)
    return ExpectedYield(grams, round(grams * (1 - within / 100), 9), min(round(grams * (1 + within / 100), 9), mass))
