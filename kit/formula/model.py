"""Formula, Phase and Line: what is written on paper, immutable; a change gives a new formula."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING, Literal, TypeVar

from kit.errors import EntryError, RangeError
from kit.formula.amounts import TOTAL_TOLERANCE, Resolution, read_amount, resolve_amounts
from kit.formula.moved import percents_at
from kit.inputs import REQUIRED, Choice, Number, Text, asked, refuse_unknown_words
from kit.iso_dates import is_iso_date
from kit.library.description import NOTHING_SAID, Description
from kit.library.ingredient import check_composition, refuse_unknown_kind
from kit.visible_text import holds_nul, visible

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from kit.formula.moved import Ratio
    from kit.formula.steps import MakingStep
    from kit.library.description import ProductKind
    from kit.library.ingredient import Material, PhaseKind

Part = TypeVar("Part")
Hold = Literal["share", "level", "fill"]

#: How a line holds when the ratio moves, and the words for it.
HOLDS: dict[Hold, str] = {
    "share": "keeps its % of the layer",
    "level": "keeps its % of the whole",
    "fill": "fills the layer",
}


def _all_of(kind: type[Part], parts: object, what: str) -> tuple[Part, ...]:
    """Several parts of one kind as a tuple, however they were put together; an EntryError where they are none."""
    if isinstance(parts, tuple | list) and all(isinstance(part, kind) for part in parts):
        return tuple(parts)
    name = kind.__name__
    msg = f"{what} are a tuple of {name}, such as ({name}(…),) with its comma, not {str(parts)[:60]!r}."
    raise EntryError(msg)


def _nul(name: str) -> str:
    return f"{visible(name)} or what stands beside it holds the sign NUL, which no text has. Type it again."


@dataclass(frozen=True, slots=True)
class Line:
    """One material in a phase.

    Attributes
    ----------
    material
        INCI name, stock name, or whatever was typed so far.
    entry
        The amount exactly as typed; see :func:`kit.formula.amounts.read_amount`. A number is turned into its text.
    hold
        ``share`` keeps its share of its layer, ``level`` its percent of the whole, ``fill`` takes what is left
        of the layer.
    more
        What stands beside it in columns of the maker's own table that the kit does not read: (heading, cell).
    """

    material: str = ""
    entry: str = ""
    hold: Hold = "share"
    note: str = ""
    more: tuple[tuple[str, str], ...] = ()

    def __post_init__(self) -> None:
        if isinstance(self.entry, int | float):  # written in code: 5 for "5"
            object.__setattr__(self, "entry", f"{self.entry:.12g}")
        if holds_nul(self.material, self.entry, self.note):
            raise EntryError(_nul(self.material))
        if self.hold not in HOLDS:
            ways = ", ".join(f"{hold!r} ({words})" for hold, words in HOLDS.items())
            msg = f"{self.hold!r} is no way in which {self.material or 'a line'} can hold. They are: {ways}."
            raise EntryError(msg)

    @property
    def is_blank(self) -> bool:
        """True for a line in which nothing has been typed yet."""
        return not self.material.strip() and not self.entry.strip()


@dataclass(frozen=True, slots=True)
class Phase:
    """Lines that are made together and belong to one layer; ``colour`` is the one it has in pictures (#rrggbb).

    Raises
    ------
    EntryError
        A kind that is none, or something else than lines; a list of lines is turned into a tuple.
    """

    name: str
    kind: PhaseKind = "water"
    lines: tuple[Line, ...] = ()
    colour: str = ""

    def __post_init__(self) -> None:
        if holds_nul(self.name):
            raise EntryError(_nul(self.name))
        refuse_unknown_kind(self.name, self.kind)
        object.__setattr__(self, "lines", _all_of(Line, self.lines, f"The lines of {self.name}"))


@dataclass(frozen=True, slots=True)
class Variant:
    """A member of the formula's family: the same product for dry hair, for oily hair, for the bath."""

    name: str
    phases: tuple[Phase, ...]
    note: str = ""

    def __post_init__(self) -> None:
        if not self.name.strip():
            msg = "A variant needs a name, such as 'dry hair'."
            raise RangeError(msg)


#: In what the percent of a rule is counted, in words.
LAYER_NAMES = {"whole": "whole formula", "water": "water layer", "oil": "oil layer", "other": "other layer"}


@dataclass(frozen=True, slots=True)
class Rule:
    """The maker's own minimum or maximum for one substance or material.

    ``of`` is "whole", or the kind of the layer in which the percent is counted.
    """

    material: str = asked("Ingredient or substance", Text("name"), REQUIRED, example="part of its name")
    low: float | None = asked("At least", Number(0, 100), None, unit="%", example="none")
    high: float | None = asked("At most", Number(0, 100), None, unit="%", example="none")
    of: Literal["whole", "water", "oil", "other"] = asked("Of the", Choice(LAYER_NAMES), "whole")
    reason: str = asked("Because", example="solubility, smell, a tested level …")

    def __post_init__(self) -> None:
        if self.low is None and self.high is None:
            msg = f"The rule for {self.material} has neither a least nor a most. Give one of them in %."
            raise RangeError(msg)
        refuse_unknown_words(self)
        if self.low is not None and self.high is not None and self.low > self.high:
            msg = f"The rule for {self.material} asks for at least {self.low:g} % and at most {self.high:g} %."
            raise RangeError(msg)


@dataclass(frozen=True, slots=True)
class Answer:
    """What the maker answered to a caution: that she has seen it, and why it stays; see ``Finding.matter``."""

    matter: str
    because: str = asked("Seen, because", Text(), REQUIRED, example="tried for twelve weeks, see the log")
    day: str = ""

    def __post_init__(self) -> None:
        if not self.because.strip():
            msg = "An answer to a caution needs its reason: what was tried, measured or asked, and when."
            raise RangeError(msg)
        if self.day and not is_iso_date(self.day):
            msg = f"{self.day!r} is not a day. Write year-month-day, such as 2026-05-31."
            raise RangeError(msg)


def refuse_odd_ph(ph: float) -> None:
    """Refuse, with a RangeError, a pH that no meter shows."""
    if not 0 <= ph <= 14:
        msg = f"A pH of {ph:g} is not believable. Type what the meter or the strip shows, between 0 and 14."
        raise RangeError(msg)


@dataclass(frozen=True, slots=True)
class PhReading:
    """A pH of the water layer, as the meter or the strip showed it, and the day if it was noted (ISO text).

    Examples
    --------
    >>> PhReading(5.2, "2026-05-31").words
    'pH 5.2, measured on 2026-05-31'
    """

    value: float
    day: str = ""

    def __post_init__(self) -> None:
        refuse_odd_ph(self.value)
        if self.day and not is_iso_date(self.day):
            msg = f"{self.day!r} is not a day. Write year-month-day, such as 2026-05-31."
            raise RangeError(msg)

    @property
    def words(self) -> str:
        """The pH and its day, in words."""
        return f"pH {self.value:.10g}, measured" + (f" on {self.day}" if self.day else "")


@dataclass(frozen=True)
class Formula:
    """A product on paper.

    Attributes
    ----------
    ratio
        Where the layers were moved to, beside the amounts as typed; None while the layers are as typed.
    version, changed
        The number of the version kept last, and whether this is no longer what was kept under that number.
    written_for
        The batch mass that entries in grams are meant for, if any are. [g]
    materials
        Stocks and own materials that travel with the formula.
    rules
        The maker's own limits; they join the window of allowed ratios.
    densities
        Of layers, as the maker measured them.
    measured_ph
        Of the water layer; None where it was not measured.
    steps
        How it is made, in the maker's own words; see :mod:`kit.formula.steps`.
    variants
        Its family, in the order in which they were named.
    description
        What it is, where it is used, how, and for whom; rules read it.
    answers
        What the maker answered to cautions.
    earlier
        The versions that were kept, oldest first; without this one where it is itself a kept version.
    """

    title: str = "Untitled"
    phases: tuple[Phase, ...] = ()
    ratio: Ratio | None = None
    version: int = 1
    changed: bool = False
    description: Description = NOTHING_SAID
    written_for: float | None = None
    materials: tuple[Material, ...] = ()
    rules: tuple[Rule, ...] = ()
    densities: tuple[MeasuredDensity, ...] = ()
    steps: tuple[str | MakingStep, ...] = ()
    note: str = ""
    change_note: str = ""
    variants: tuple[Variant, ...] = ()
    earlier: tuple[Formula, ...] = ()
    answers: tuple[Answer, ...] = ()
    measured_ph: PhReading | None = None

    def __post_init__(self) -> None:
        object.__setattr__(self, "phases", _all_of(Phase, self.phases, f"The phases of {self.title}"))

    @property
    def ph(self) -> float | None:
        """The measured pH of the water layer; None where it was not measured."""
        return self.measured_ph.value if self.measured_ph else None

    @property
    def product_kind(self) -> ProductKind:
        """Whether it stays on or is washed off."""
        return self.description.product_kind

    @cached_property
    def typed(self) -> Resolution:
        """The amounts as typed turned into % w/w, with a sentence for each that could not be."""
        entries = [["0" if line.is_blank else line.entry for line in phase.lines] for phase in self.phases]
        return resolve_amounts(entries, self.written_for)

    @cached_property
    def resolution(self) -> Resolution:
        """The amounts turned into % w/w: those typed, moved to the ratio where there is one."""
        if self.ratio is None:
            return self.typed
        typed = replace(self, ratio=None)
        try:
            there = require_complete(typed, "moved to another ratio")
            percents = percents_at(self.title, self.phases, there, self.ratio)
        except RangeError as error:
            return replace(self.typed, not_moved=str(error))
        total = self.typed.total if self.typed.rest_at else sum(x for phase in percents for x in phase)
        return replace(self.typed, percents=percents, total=total)

    @property
    def percents(self) -> tuple[tuple[float | None, ...], ...]:
        """Percent of the whole, per phase and line; None where there is none yet. [% w/w]"""
        return self.resolution.percents

    @property
    def total(self) -> float:
        """The sum of all lines that have a percent. [% w/w]"""
        return self.resolution.total

    @property
    def is_complete(self) -> bool:
        """True when every line has a percent of 0 or more, and together they are 100 %."""
        values = [value for phase in self.percents for value in phase]
        return (
            bool(values)
            and not self.resolution.not_moved
            and all(value is not None and value >= 0 for value in values)
            and abs(self.total - 100) <= TOTAL_TOLERANCE
        )

    def phase_total(self, phase: int) -> float:
        """The sum of one phase. [% w/w]"""
        return sum(value for value in self.percents[phase] if value is not None)

    def each_line(self) -> Iterator[tuple[int, int, Line, float | None]]:
        """Every line as (phase number, line number, line, percent)."""
        for p, phase in enumerate(self.phases):
            for i, line in enumerate(phase.lines):
                yield p, i, line, self.percents[p][i]

    def with_percents(self, percents: tuple[tuple[float, ...], ...]) -> Formula:
        """The same formula with these amounts as typed ones, written so that they read back exactly.

        q.s. stays q.s., and a percent that was typed and is the same stays as it was typed.
        """
        phases = tuple(
            replace(
                phase,
                lines=tuple(self._written(p, i, line, float(percents[p][i])) for i, line in enumerate(phase.lines)),
            )
            for p, phase in enumerate(self.phases)
        )
        return replace(self, phases=phases, ratio=None)

    def _written(self, p: int, i: int, line: Line, percent: float) -> Line:
        same = self.typed.percents[p][i] == percent and read_amount(line.entry).kind == "percent"
        if same or line.is_blank or (p, i) == self.typed.rest_at:
            return line
        return replace(line, entry=repr(percent))


def require_complete(formula: Formula, purpose: str) -> tuple[tuple[float, ...], ...]:
    """The percents of a formula that adds to 100 %, or a sentence that says why it cannot be used yet.

    Raises
    ------
    RangeError
        A line has no percent, or one below zero, or the total is not 100 %.
    """
    for p, i, line, percent in formula.each_line():
        if percent is None or percent < 0:
            msg = (
                f"{formula.title} cannot be {purpose} yet: {line.material or 'a line without a name'} "
                f"(line {i + 1} of {formula.phases[p].name}) has no amount that can be used. Mend it in the table."
            )
            raise RangeError(msg)
    if formula.resolution.not_moved:
        raise RangeError(formula.resolution.not_moved)
    if not formula.is_complete:
        msg = (
            f"{formula.title} cannot be {purpose} yet: it adds to {formula.total:.6g} %, not 100 %. "
            "Type q.s. for the solvent, or mend the amounts."
        )
        raise RangeError(msg)
    return tuple(tuple(value for value in phase if value is not None) for phase in formula.percents)


#: Standard uncertainty of a density where none is given: 100 mL in a cylinder on a balance of 0.1 g (a judgement).
#: [g/mL]
USUAL_UNCERTAINTY = 0.002

#: What a layer of such a product can weigh, and how unsure a measurement may be. [g/mL]
LIGHTEST, HEAVIEST, MOST_DOUBT = 0.3, 3.0, 0.1


@dataclass(frozen=True, slots=True)
class MeasuredDensity:
    """A measured density of one layer.

    Attributes
    ----------
    layer
        Its kind.
    value, uncertainty
        With its standard uncertainty. [g/mL]
    celsius
        At which it was measured. [°C]
    mix
        What the layer was made of then: material → its share. [% w/w of the layer]
    """

    layer: PhaseKind
    value: float
    mix: Mapping[str, float] = field(default_factory=dict)
    celsius: float = 20.0
    uncertainty: float = USUAL_UNCERTAINTY

    def __post_init__(self) -> None:
        refuse_unknown_kind("A measured density", self.layer)
        if not LIGHTEST <= self.value <= HEAVIEST:
            msg = (
                f"A density of {self.value:g} g/mL is not believable for a layer. Give it in g/mL, between "
                f"{LIGHTEST:g} and {HEAVIEST:g}."
            )
            raise RangeError(msg)
        if not 0 <= self.celsius <= 100:
            msg = f"A density is measured at 0 to 100 °C, not at {self.celsius:g} °C."
            raise RangeError(msg)
        if not 0 < self.uncertainty <= MOST_DOUBT:
            msg = (
                f"The uncertainty of a density lies between 0 and {MOST_DOUBT:g} g/mL, not at "
                f"{self.uncertainty:g} g/mL."
            )
            raise RangeError(msg)
        if not self.mix:
            msg = f"The measured density of the {self.layer} layer needs what the layer was made of."
            raise RangeError(msg)
        check_composition(f"measured density of the {self.layer} layer", self.mix)


def layer_mix(formula: Formula, layer: PhaseKind) -> dict[str, float]:
    """What a layer is made of: material → its share; empty where there is nothing. [% w/w of the layer]"""
    found: dict[str, float] = {}
    for p, _, line, percent in formula.each_line():
        if formula.phases[p].kind == layer and percent and percent > 0:
            found[line.material] = found.get(line.material, 0.0) + percent
    whole = sum(found.values())
    return {name: 100 * percent / whole for name, percent in found.items()}


def moved_away(mix: Mapping[str, float], now: Mapping[str, float]) -> float:
    """How much of one mixture is not in another. [0 to 1]"""
    return sum(abs(mix.get(name, 0.0) - now.get(name, 0.0)) for name in {*mix, *now}) / 200
