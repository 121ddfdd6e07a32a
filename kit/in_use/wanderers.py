"""Which dyes and actives of a product may wander across the line, and what is known and seen of each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

from kit.errors import EntryError, KitError
from kit.findings import Finding, Place, worst_first
from kit.in_use.colour_readings import LayerColours, bleed
from kit.in_use.product_system import held_by_layer
from kit.in_use.wandering import log_d
from kit.library.sources import source_text
from kit.numbers import read_number
from kit.stability.reading import read_colour
from kit.visible_text import listed

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from kit.formula.expansion import Materials
    from kit.formula.model import Formula
    from kit.in_use.colour_readings import Bleed, Home
    from kit.in_use.wandering import Kind

PLACE = Place(field="wandering")

#: Roles of what a maker would miss in its layer; preservatives are counted elsewhere.
ACTIVE = frozenset({"skin conditioner", "exfoliant", "antioxidant", "soothing", "UV filter", "anti-dandruff"})
#: Below the one it keeps to the water, above the other to the oil (our choice), for octanol. [log D]
KEEPS = (-1.0, 1.0)
OCTANOL = (
    "Octanol is another liquid than your oil: of methylparaben octanol holds 91 times as much as water, liquid "
    "paraffin 0.02 times."
)
PICTURES = (
    "To know it of a dye, take two photographs of both layers, one on the first day and one after some weeks, in the "
    "same light before the same white, and read them here."
)


@dataclass(frozen=True, slots=True)
class Wanderer:
    """A dye or active of a product.

    Attributes
    ----------
    home
        The layer it is put into.
    log_p
        Octanol-water. [-]
    pka, kind
        See :func:`kit.in_use.wandering.log_d`.
    is_dye
        Whether it is there for its colour.
    is_charged
        Whether it bears a charge at any pH, as the sulfonated dyes do.
    """

    inci: str
    home: Home
    percent: float
    log_p: float | None = None
    log_p_source: str = ""
    pka: tuple[float, ...] = ()
    kind: Kind = "neutral"
    is_dye: bool = False
    is_charged: bool = False

    def log_d(self, ph: float | None) -> float | None:
        """Between octanol and water at a pH; at none given, of the uncharged form. None where log P is not known. [-]

        Raises
        ------
        RangeError
            The pH lies outside 0 to 14.
        """
        if self.log_p is None:
            return None
        return self.log_p if ph is None else log_d(self.log_p, ph, self.pka, self.kind)

    @property
    def needs_ph(self) -> bool:
        """Whether its place depends on the pH."""
        return self.log_p is not None and bool(self.pka) and self.kind != "neutral"


def wanderers(formula: Formula, materials: Materials) -> tuple[Wanderer, ...]:
    """The dyes and actives in the two layers of a formula, in the order in which they are written; pigments are not
    among them, since they do not dissolve.

    Raises
    ------
    CompositionError
        A blend or stock that is part of itself.
    """
    found = []
    for home, held in held_by_layer(formula, materials).items():
        for name, percent in held.items():
            if home in ("water", "oil") and (one := _wanderer(name, cast("Home", home), percent, materials)):
                found.append(one)
    return tuple(found)


def _wanderer(name: str, home: Home, percent: float, materials: Materials) -> Wanderer | None:
    ingredient = materials.ingredient(name)
    if ingredient is None:
        return None
    roles = set(ingredient.roles)
    is_dye = "colourant" in roles and ingredient.phase != "other"
    if not is_dye and ("preservative" in roles or roles.isdisjoint(ACTIVE) or ingredient.log_p is None):
        return None
    kind: Kind = "acid" if ingredient.charge == "acid" else "base" if ingredient.charge == "base" else "neutral"
    return Wanderer(
        name,
        home,
        percent,
        ingredient.log_p.value if ingredient.log_p else None,
        ingredient.log_p.source if ingredient.log_p else "",
        tuple(figure.value for figure in ingredient.pka),
        kind,
        is_dye,
        is_dye and ingredient.charge in ("anionic", "cationic"),
    )


def wandering_findings(
    formula: Formula, materials: Materials, ph: float | None = None, seen: Bleed | None = None, dye: str = ""
) -> list[Finding]:
    """What is known and seen of the dyes and actives of a formula, worst first; nothing without two layers.

    Parameters
    ----------
    ph
        Measured in the water layer; None where it was not.
    seen, dye
        What two photographs showed, and of which dye.

    Raises
    ------
    KitError
        As :func:`wanderers`; a pH that cannot be.
    """
    layers = held_by_layer(formula, materials)
    if not layers.get("water") or not layers.get("oil"):
        return []
    every = wanderers(formula, materials)
    found = [] if seen is None else [bleed_finding(seen, dye)]
    if any(one.is_dye and (seen is None or one.inci != dye) for one in every):
        found.append(Finding("note", PICTURES, PLACE))
    return worst_first([*found, *_charged(every, dye, seen), *_unknown(every, dye, seen), *_by_octanol(every, ph)])


def bleed_finding(seen: Bleed, dye: str) -> Finding:
    """What the photographs showed, as a sentence."""
    name, other = dye or "The dye", "oil" if seen.home == "water" else "water"
    if not seen.is_seen:
        bound = f"at most {seen.k_high:.2g}" if seen.home == "water" else f"at least {seen.k_low:.2g}"
        return Finding(
            "note",
            f"{name}: the {seen.home} layer has kept its colour as far as two photographs can show, so K is {bound}. "
            "Look again later.",
            PLACE,
            "the maker's own readings",
        )
    tinted = (
        f"the {other} layer takes more of the light than at the start"
        if seen.gained > 0
        else f"but the {other} layer has gained no colour, so fading is as likely: keep a bottle without {other} "
        "beside it"
    )
    high = f"{seen.k_high:.2g}" if seen.k_high < float("inf") else "any figure above"
    return Finding(
        "caution",
        f"{name} bleeds: {100 * (1 - seen.left):.0f} % of its level in the {seen.home} layer is gone in {seen.channel} "
        f"light; {tinted}. Had all of it passed over, K would be {seen.k:.2g} ({seen.k_low:.2g} to {high}).",
        PLACE,
        "the maker's own readings, by Lambert and Beer",
    )


def _charged(every: Sequence[Wanderer], dye: str, seen: Bleed | None) -> Iterator[Finding]:
    names = [one.inci for one in every if one.is_charged and one.home == "water" and (seen is None or one.inci != dye)]
    if names:
        yield Finding(
            "note",
            f"{listed(names)}: dyes that bear a charge at any pH keep to water, unless alcohol, a glycol, a surfactant "
            "or a cationic takes them along.",
            PLACE,
            "common practice",
        )


def _unknown(every: Sequence[Wanderer], dye: str, seen: Bleed | None) -> Iterator[Finding]:
    names = [
        one.inci
        for one in every
        if one.is_dye
        and one.log_p is None
        and not (one.is_charged and one.home == "water")
        and (seen is None or one.inci != dye)
    ]
    if names:
        yield Finding(
            "caution",
            f"Whether {listed(names)} will bleed cannot be known beforehand: no K between this oil and water is at "
            "hand.",
            PLACE,
        )


def _by_octanol(every: Sequence[Wanderer], ph: float | None) -> Iterator[Finding]:
    away, both = [], []
    known = [(one, value) for one in every if (value := one.log_d(ph)) is not None]
    for one, value in known:
        words = f"{one.inci} (log D {value:.2g})"
        if KEEPS[0] < value < KEEPS[1]:
            both.append(words)
        elif (value >= KEEPS[1]) == (one.home == "water"):
            away.append(f"{words} from the {one.home} layer")
    source = "; ".join(dict.fromkeys(source_text(one.log_p_source) for one, _ in known))
    at = "" if ph is None else f" at pH {ph:g}"
    if away:
        yield Finding("caution", f"By octanol{at}, these will wander: {listed(away)}. {OCTANOL}", PLACE, source)
    if both:
        yield Finding(
            "note",
            f"By octanol{at}, these share themselves out between both layers: {listed(both)}. {OCTANOL}",
            PLACE,
            source,
        )
    waiting = [one.inci for one in every if one.needs_ph]
    if waiting and ph is None:
        yield Finding(
            "note",
            f"Where {listed(waiting)} stand depends on the pH: measure it in the water layer, and type it.",
            PLACE,
        )


@dataclass(frozen=True, slots=True)
class DayOfColours:
    """Both layers of one bottle on one day after the start."""

    day: float
    colours: LayerColours

    @property
    def text(self) -> str:
        """As it is typed; see :func:`read_colours`."""
        water, oil = (" ".join(f"{part:g}" for part in one) for one in (self.colours.water, self.colours.oil))
        return f"{self.day:g}; {water}; {oil}"


def read_colours(text: str) -> list[DayOfColours]:
    r"""Readings typed one day to a line: day; colour of the water layer; colour of the oil layer.

    Raises
    ------
    EntryError
        A line that is not so; the sentence names it. Or the days do not begin with one start.

    Examples
    --------
    >>> [one.day for one in read_colours("0; 62 -20 -15; 98 0 2\n28; 70 -16 -12; 97 -1 1")]
    [0.0, 28.0]
    """
    found = []
    for number, line in enumerate(text.splitlines(), start=1):
        if line.strip():
            found.append(_read_line(number, line))
    days = [one.day for one in found]
    if days and (days != sorted(set(days)) or len(days) < 2):
        msg = "Give at least two days, each once and the earliest first: the first line is the start."
        raise EntryError(msg)
    return found


def _read_line(number: int, line: str) -> DayOfColours:
    parts = [part.strip() for part in line.split(";")]
    if len(parts) != 3:
        msg = (
            f"Line {number} is {line.strip()[:60]!r}. Type the day, the colour of the water layer and that of the oil "
            "layer, with a semicolon between, such as 0; 62 -20 -15; 98 0 2."
        )
        raise EntryError(msg)
    try:
        return DayOfColours(read_number(parts[0], low=0), LayerColours(read_colour(parts[1]), read_colour(parts[2])))
    except KitError as error:
        msg = f"Line {number}: {error}"
        raise EntryError(msg) from error


def bleeds(readings: Sequence[DayOfColours], oil_to_water: float, home: Home) -> list[tuple[float, Bleed]]:
    """Day and what it shows beside the first, for every later day.

    Raises
    ------
    RangeError
        As :func:`kit.in_use.colour_readings.bleed`.
    """
    start = readings[0].colours
    return [(one.day, bleed(start, one.colours, oil_to_water, home)) for one in readings[1:]]
