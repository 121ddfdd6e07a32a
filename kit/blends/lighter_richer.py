"""An oil phase made lighter or richer along its viscosity, all else as it is: one slider, and home again at its middle.

The oils change places by exponential tilting: each share is multiplied by exp(θ x its blending number) and the whole
brought back to what it was. Of all blends of the wanted viscosity that one is nearest to the first, no oil vanishes
that was there, oils of one viscosity keep their proportion, and θ = 0 is the first blend itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, log
from typing import TYPE_CHECKING, Literal

from kit.blends.oil_viscosity import kinematic_of
from kit.errors import EntryError, RangeError
from kit.findings import Finding, Place
from kit.formula import editing
from kit.formula.model import require_complete
from kit.formula.usual_ranges import usual_of
from kit.inputs import Choice, Number, asked, refuse_unknown_words
from kit.layers.viscosity import LEAST_KINEMATIC, blend_index, kinematic_from_index
from kit.visible_text import listed

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.formula.expansion import Materials
    from kit.formula.model import Formula

Rule = Literal["refutas", "arrhenius"]

RULES: dict[Rule, str] = {
    "refutas": "blending numbers (Refutas, after Maples)",
    "arrhenius": "logarithms (Arrhenius; Grunberg and Nissan without interaction)",
}
#: How far the slider goes to the lightest or richest oil alone (a judgement: the last part is that oil and no blend).
FURTHEST = 0.95
#: What is in an oil phase for another reason than to make it light or rich.
OTHER_REASONS = frozenset(
    {"preservative", "booster", "antioxidant", "fragrance", "fragrance part", "essential oil", "colourant", "UV filter",
     "emulsifier", "solubiliser", "vitamin", "chelator"}
)  # fmt: skip
MEASURE = (
    "A computed viscosity of a blend may be off by a quarter and more, and how an oil feels is not its viscosity "
    "alone: make 20 g of both and compare."
)


@dataclass(frozen=True, slots=True)
class LightOrRich:
    """Where the slider stands.

    Attributes
    ----------
    at
        -100: the lightest, 0: as it is, 100: the richest.
    rule
        By which viscosities blend.
    """

    at: float = asked("From light to rich", Number(-100, 100, digits=4), 0.0, slide=(-100, 100, 1))
    rule: Rule = asked("Viscosities blend by", Choice(RULES), "refutas")

    def __post_init__(self) -> None:
        refuse_unknown_words(self)


def index_of(kinematic: float, rule: Rule = "refutas") -> float:
    """The number of a liquid that blends linearly by mass: the blending number, or ln ν.

    References
    ----------
    .. [1] R. E. Maples, Petroleum Refinery Process Economics, 2nd ed. (2000): the Refutas index.
    .. [2] S. Arrhenius, "Über die innere Reibung verdünnter wässeriger Lösungen", Zeitschrift für physikalische Chemie
       1 (1887) 285-298: ln η = Σ x ln η, here with shares by mass.
    .. [3] L. Grunberg and A. H. Nissan, "Mixture law for viscosity", Nature 164 (1949) 799-800, doi:10.1038/164799b0:
       the same with a term of interaction, which is 0 here, as none is known for oils of this trade.

    Examples
    --------
    >>> round(index_of(32), 4), round(index_of(32, "arrhenius"), 4)
    (29.1429, 3.4657)
    """
    if rule == "refutas":
        return blend_index(kinematic)
    if not kinematic > LEAST_KINEMATIC:
        msg = f"A kinematic viscosity of {kinematic:g} mm²/s is that of no oil. It must be above {LEAST_KINEMATIC:g}."
        raise RangeError(msg)
    return log(kinematic)


def kinematic_at(index: float, rule: Rule = "refutas") -> float:
    """The kinematic viscosity of a number of :func:`index_of`. [mm²/s]"""
    return kinematic_from_index(index) if rule == "refutas" else exp(index)


def tilted(shares: Sequence[float], numbers: Sequence[float], wanted: float) -> list[float]:
    """Shares of which the mean number is the wanted one, nearest to these shares; they add to what these add to.

    Parameters
    ----------
    shares
        0 or more each. [any]
    numbers
        One for each share.
    wanted
        Between the least and the most of the numbers that have a share.

    Raises
    ------
    RangeError
        No blend of them has that number.

    Notes
    -----
    Least relative entropy Σ q ln(q/p) under a given mean, whose answer is q ∝ p exp(θ x number) [1]_; θ is found by
    halving, since the mean only grows with it.

    References
    ----------
    .. [1] I. Csiszár, "I-divergence geometry of probability distributions and minimization problems", Annals of
       Probability 3 (1975) 146-158, doi:10.1214/aop/1176996454.

    Examples
    --------
    >>> [round(share, 3) for share in tilted([50, 50], [0, 10], 2.5)]
    [75.0, 25.0]
    """
    held = [n for n, share in enumerate(shares) if share > 0]
    low, high = (f((numbers[n] for n in held), default=0.0) for f in (min, max))
    whole = sum(shares)
    mean = sum(s * x for s, x in zip(shares, numbers, strict=True)) / whole if whole else 0.0
    if abs(wanted - mean) < 1e-12:
        return list(shares)
    if not low < wanted < high:
        msg = f"No blend of these oils has the number {wanted:.4g}: theirs lie from {low:.4g} to {high:.4g}."
        raise RangeError(msg)

    def at(theta: float) -> list[float]:
        far = max(theta * numbers[n] for n in held)
        parts = [s * exp(theta * x - far) if s > 0 else 0.0 for s, x in zip(shares, numbers, strict=True)]
        total = sum(parts)
        return [whole * part / total for part in parts]

    def mean_at(theta: float) -> float:
        return sum(s * x for s, x in zip(at(theta), numbers, strict=True)) / whole

    end = 1.0 / (high - low) * (1 if wanted > mean else -1)
    while (mean_at(end) - wanted) * end < 0:
        end *= 2
    lower, upper = sorted((0.0, end))
    for _ in range(200):
        middle = (lower + upper) / 2
        if not lower < middle < upper:
            break
        lower, upper = (middle, upper) if mean_at(middle) < wanted else (lower, middle)
    return at((lower + upper) / 2)


@dataclass(frozen=True)
class OilPath:
    """An oil phase from light to rich.

    Attributes
    ----------
    formula
        Where it starts from; position 0 is this very formula.
    places
        The lines that move: phase and line.
    names, shares, kinematics
        Of the lines that move. [-, % w/w of the whole, mm²/s]
    findings
        What stays as it is and why, and what is remembered only.
    """

    formula: Formula
    rule: Rule
    places: tuple[tuple[int, int], ...]
    names: tuple[str, ...]
    shares: tuple[float, ...]
    kinematics: tuple[float, ...]
    findings: tuple[Finding, ...] = ()

    @classmethod
    def of(cls, formula: Formula, materials: Materials, rule: Rule = "refutas") -> OilPath:
        """The path of a complete formula with at least two oils of different and known viscosity.

        Raises
        ------
        RangeError
            The formula is not complete.
        EntryError
            Fewer than two oils can move.
        """
        formula = editing.settled(formula)
        require_complete(formula, "made lighter or richer")
        moving: list[tuple[tuple[int, int], str, float, float]] = []
        kept: list[str] = []
        unknown: list[str] = []
        for p, i, line, percent in formula.each_line():
            name = line.material.strip()
            if formula.phases[p].kind != "oil" or not name or not percent:
                continue
            kinematic = kinematic_of(name, materials)
            if line.hold == "level" or _has_another_reason(name, materials):
                kept.append(name)
            elif kinematic is None:
                unknown.append(name)
            else:
                moving.append(((p, i), name, percent, kinematic))
        if len({kinematic for *_, kinematic in moving}) < 2:
            msg = (
                "Fewer than two oils of this formula have different viscosities in the table, so none can take "
                "another's place. Add a lighter or a richer oil first."
            )
            raise EntryError(msg)
        places, names, shares, kinematics = (tuple(column) for column in zip(*moving, strict=True))
        return cls(formula, rule, places, names, shares, kinematics, tuple(_told(kept, unknown)))

    @property
    def numbers(self) -> list[float]:
        """The blending number of each oil that moves."""
        return [index_of(kinematic, self.rule) for kinematic in self.kinematics]

    def wanted(self, at: float) -> float:
        """The blending number of the oils that move at a position of the slider, -100 to 100."""
        if not -100 <= at <= 100:
            msg = f"The slider goes from -100, the lightest, to 100, the richest, not to {at:g}."
            raise RangeError(msg)
        numbers = self.numbers
        mean = sum(s * x for s, x in zip(self.shares, numbers, strict=True)) / sum(self.shares)
        end = max(numbers) if at > 0 else min(numbers)
        return mean + abs(at) / 100 * FURTHEST * (end - mean)

    def kinematic(self, at: float) -> float:
        """The viscosity of the oils that move, blended, at a position. [mm²/s]"""
        return kinematic_at(self.wanted(at), self.rule)

    def moved(self, at: float) -> list[float]:
        """The oils that move at a position. [% w/w of the whole]"""
        return list(self.shares) if at == 0 else tilted(self.shares, self.numbers, self.wanted(at))

    def at(self, at: float, step: float = 0.01) -> Formula:
        """The formula at a position, with amounts in whole steps; the largest oil takes what that leaves. [% w/w]"""
        if at == 0:
            return self.formula
        moved = self.moved(at)
        largest = max(range(len(moved)), key=lambda n: moved[n])
        rounded = [float(f"{step * round(x / step):.10g}") for x in moved]
        rest = sum(self.shares) - sum(x for n, x in enumerate(rounded) if n != largest)
        rounded[largest] = float(f"{rest:.12g}")
        to = dict(zip(self.places, rounded, strict=True))
        now = self.formula.percents
        percents = tuple(tuple(to.get((p, i), x or 0.0) for i, x in enumerate(row)) for p, row in enumerate(now))
        return self.formula.with_percents(percents)


def _has_another_reason(name: str, materials: Materials) -> bool:
    known = materials.ingredient(name)
    if known is None:
        return False
    return not OTHER_REASONS.isdisjoint(known.roles) or (not known.roles and usual_of(known).layer != "base")


def _told(kept: list[str], unknown: list[str]) -> list[Finding]:
    found = []
    if kept:
        sentence = f"Left as it is: {listed(kept)}. It keeps its level, or is there for another reason."
        found.append(Finding("note", sentence, Place(field="at")))
    if unknown:
        sentence = f"Left as it is: {listed(unknown)}, of which the table has no viscosity."
        found.append(Finding("caution", sentence, Place(field="at")))
    found.append(Finding("note", MEASURE, Place(field="at"), "common practice"))
    return found
