"""The window of allowed ratios: from where to where every rule holds, and which rule sets each end.

Every line is affine in the oil layer's share and every requirement is linear in the lines, so each
requirement gives one exact end point: the classic one-variable linear programme, solved in closed form. Habits of the
trade narrow what laws and own rules leave, and never close it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from kit.findings import Finding, Place
from kit.formula.requirements import EDGE, Requirement, requirements
from kit.formula.usual_ranges import habits_along
from kit.layers.ratio import RatioPath
from kit.visible_text import listed, plain_letters

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.library.limit import Limit


#: Below this change per % of oil, a requirement does not depend on the ratio.
FLAT = 1e-12

#: An end so near to that of the axis is that of the axis: what keeps its share of a layer is broken where there is no
#: layer left, but for rounding. [% oil layer]
BESIDE = 1e-7

#: What ends a window, in words: of one, of several.
KINDS = {
    "limit": ("limit of the law", "limits of the law"),
    "own rule": ("rule of your own", "rules of your own"),
    "habit": ("habit of the trade", "habits of the trade"),
}

#: What no inequality in the amounts can say.
BEYOND = (
    "what gets on with what, the pH, how the layers part, and whether microbes are held: trials and tests show that"
)


@dataclass(frozen=True, slots=True)
class End:
    """Where one rule stops holding.

    Attributes
    ----------
    at
        The oil layer there. [% w/w of the whole]
    side
        "from": the rule holds above; "to": below.
    price
        How far the end would move outwards for each percent by which the rule were relaxed; 0 where it cannot
        be. [% oil layer per % of the rule]
    is_open
        Whether the rule is broken there already, and holds only beyond.
    kind
        What ends there: a key of ``KINDS``; empty for arithmetic and what is found elsewhere.
    """

    rule: str
    at: float
    side: Literal["from", "to"]
    source: str
    place: Place
    price: float = 0.0
    is_open: bool = False
    kind: str = ""

    @property
    def word(self) -> str:
        """Before its number: "from" or "to", or "above" or "below" where the number itself is too much."""
        return {"from": "above", "to": "below"}[self.side] if self.is_open else self.side


@dataclass(frozen=True, slots=True)
class Window:
    """The ratios at which everything that was judged holds; it says itself what was judged and what was not.

    Attributes
    ----------
    low, high
        The ends as oil layer of the whole; ``low > high`` where no ratio satisfies every rule. [% w/w]
    low_end, high_end
        The rules that set them.
    ends
        Every rule's crossing inside the possible range, for the picture.
    broken_everywhere
        Rules that no ratio can satisfy.
    most
        The oil layer when there is no water left: the end of the axis. [% w/w]
    counts
        How many limits, own rules and habits were judged: kind → number.
    not_judged
        What may concern this formula and was not judged along the ratio, a few words each.
    """

    low: float
    high: float
    low_end: End
    high_end: End
    ends: tuple[End, ...]
    broken_everywhere: tuple[str, ...]
    most: float
    counts: tuple[tuple[str, int], ...] = ()
    not_judged: tuple[str, ...] = ()

    @property
    def judged(self) -> str:
        """What was judged, in words: "2 limits of the law and 1 habit of the trade"."""
        return listed([f"{n} {KINDS[kind][n > 1]}" for kind, n in self.counts]) or "no rule but arithmetic"

    @property
    def beside(self) -> str:
        """What stands beside the window: what was judged along the ratio, and what was not."""
        rest = "; ".join([*self.not_judged, BEYOND])
        return f"Judged along the ratio: {self.judged}. Not judged there: {rest}."

    @property
    def is_open(self) -> bool:
        """True where at least one ratio satisfies every rule."""
        return not self.broken_everywhere and self.low <= self.high + EDGE

    def holds(self, oil: float) -> bool:
        """Whether every rule holds when the oil layer is ``oil`` of the whole. [% w/w]"""
        return self.is_open and self.low - EDGE <= oil <= self.high + EDGE

    @property
    def findings(self) -> list[Finding]:
        """What to say when there is no window."""
        if self.broken_everywhere:
            names = "; ".join(self.broken_everywhere)
            return [Finding("stop", f"No ratio helps here: {names}. Change the amounts or the rule itself.")]
        if not self.is_open:
            sentence = (
                f"No ratio satisfies both: an oil layer of at least {self.low:.2f} % ({self.low_end.rule}) "
                f"and one of at most {self.high:.2f} % ({self.high_end.rule}). Relax one of the two."
            )
            return [Finding("stop", sentence, self.high_end.place)]
        return []


def window(formula: Formula, materials: Materials, limits: Iterable[Limit]) -> Window:
    """The window of a complete two-layer formula.

    Raises
    ------
    RangeError
        The formula is not complete or has no ratio to move; see :class:`kit.layers.ratio.RatioPath`.
    """
    kept, passed = habits_along(formula, materials)
    return window_of(RatioPath.of(formula), [*requirements(formula, materials, limits), *kept], passed=passed)


def window_of(
    path: RatioPath,
    required: Iterable[Requirement],
    more_ends: Iterable[End] = (),
    passed: Iterable[Requirement] = (),
) -> Window:
    """The window of a path under these requirements.

    Parameters
    ----------
    more_ends
        The ends of rules that are not linear in the lines, found elsewhere; see :mod:`kit.layers.preservation`.
    passed
        Habits that do not hold now, and so end nothing; see :func:`kit.formula.usual_ranges.habits_along`.
    """
    required = list(required)
    habits = [each for each in required if each.kind == "habit"]
    ends, broken = _ends_of(path, [*_nothing_below_zero(path), *(each for each in required if each.kind != "habit")])
    ends += more_ends
    low_end, high_end = _inner(path, ends)
    soft_ends = _ends_of(path, habits)[0]
    soft = [
        end for end in soft_ends if (end.at >= low_end.at - EDGE if end.side == "to" else end.at <= high_end.at + EDGE)
    ]
    inner_low, inner_high = _inner(path, [*ends, *soft])
    if broken or inner_low.at > inner_high.at + EDGE:
        soft = []  # a habit never closes a window
    else:
        low_end, high_end = inner_low, inner_high
    left_out = {end.rule for end in soft_ends} - {end.rule for end in soft}
    aside = [each for each in habits if each.name in left_out]
    return Window(
        low=low_end.at,
        high=high_end.at,
        low_end=low_end,
        high_end=high_end,
        ends=tuple(end for end in [*ends, *soft] if 0 < end.at < path.most),
        broken_everywhere=tuple(broken),
        most=path.most,
        counts=tuple(
            (kind, n) for kind in KINDS if (n := sum(r.kind == kind for r in required) - len(aside) * (kind == "habit"))
        ),
        not_judged=tuple(_not_judged(path, required, [*passed, *aside])),
    )


def _inner(path: RatioPath, ends: Sequence[End]) -> tuple[End, End]:
    """The ends that lie furthest in; those of the axis where there are none."""
    none_left = End("the oil layer has nothing left", 0.0, "from", "arithmetic", Place())
    no_water = End("the water layer has nothing left", path.most, "to", "arithmetic", Place())
    return (
        max([none_left, *(end for end in ends if end.side == "from")], key=lambda end: end.at),
        min([no_water, *(end for end in ends if end.side == "to")], key=lambda end: end.at),
    )


def _ends_of(path: RatioPath, required: Iterable[Requirement]) -> tuple[list[End], list[str]]:
    """Where each requirement ends, and the names of those that no ratio keeps."""
    ends: list[End] = []
    broken: list[str] = []
    for requirement in required:
        if requirement.kind == "conditional limit":
            continue
        at_zero = requirement.slack(path.base)
        per_oil = -sum(w * s for w, s in zip(requirement.weights, path.slope, strict=True))
        if abs(per_oil) < FLAT:
            if at_zero < -EDGE:
                broken.append(requirement.name)
            continue
        side: Literal["from", "to"] = "from" if per_oil > 0 else "to"
        at = -at_zero / per_oil
        if at > path.most - BESIDE if side == "to" else at < BESIDE:
            continue  # it holds as far as there is a ratio
        price = abs(requirement.ease(path.percents(at)) / per_oil)
        kind = requirement.kind if requirement.kind in KINDS else ""
        place, source = requirement.place, requirement.source
        ends.append(End(requirement.name, at, side, source, place, price, requirement.is_open, kind))
    return ends, broken


def _not_judged(path: RatioPath, required: Sequence[Requirement], passed: Iterable[Requirement]) -> Iterator[str]:
    """What may concern these lines and ends nothing along the ratio."""
    conditional = [each.name for each in required if each.kind == "conditional limit"]
    if conditional:
        yield f"limits that hold only under a condition ({listed(conditional)})"
    beyond = [each.name for each in passed]
    if beyond:
        yield f"habits that are passed already or that other rules leave no room for ({listed(beyond)})"
    touched = {n for each in [*required, *passed] for n, part in enumerate(each.shown) if part}
    lines = [line.material.strip() for _, _, line, _ in path.formula.each_line()]
    free = [name for n, name in enumerate(lines) if name and plain_letters(name) != "aqua" and n not in touched]
    if free:
        yield f"the amounts of {listed(free)}, for which there is neither a limit nor a habit of a layer"


def _nothing_below_zero(path: RatioPath) -> list[Requirement]:
    """A line that takes what is left of its layer must have something left."""
    made = []
    for n, ((p, i, line, _), fills) in enumerate(zip(path.formula.each_line(), path.fills, strict=True)):
        if fills:
            weights = tuple(-1.0 if m == n else 0.0 for m in range(len(path.base)))
            made.append(
                Requirement(
                    name=f"{line.material} needs room in its layer",
                    weights=weights,
                    bound=0.0,
                    severity="stop",
                    place=Place(p, i, "amount"),
                    sentence=f"Nothing is left for {line.material} in its layer.",
                    source="arithmetic",
                    shown=weights,
                    kind="arithmetic",
                )
            )
    return made
