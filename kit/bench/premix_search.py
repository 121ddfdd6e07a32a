"""Which carrier and which strength a premix takes, alone or at the end of a chain, and what to do where none helps."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import count
from math import floor, log10
from typing import TYPE_CHECKING

from kit.bench.balance import HAIR
from kit.findings import Finding, Place
from kit.library.ingredient import Ingredient
from kit.rounding import one_two_five_down

if TYPE_CHECKING:
    from kit.bench.weighing import Batch, Weighing
    from kit.formula.expansion import Materials
    from kit.formula.model import Line
    from kit.library.ingredient import PhaseKind

    #: A small line, the line that carries it, the strength of the premix. [% w/w]
    Choice = tuple[Weighing, int, float]

#: Strengths that are easily made and written on a label. [% w/w]
ROUND_STRENGTHS = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0)
#: No chain has more premixes; and no step weakens less, or it would hardly be one.
MOST_PREMIXES, LEAST_FACTOR = 4, 1.2
#: Kinds of phase whose materials are taken to mix with one another.
MIXING: tuple[PhaseKind, ...] = ("water", "oil")


@dataclass(frozen=True)
class Search:
    """Looks for premixes of a batch, at its own mass and balance or at others.

    ``carriers`` has for each (phase, line) the lines that could carry it, the best first; ``gels`` are the lines that
    would swell in them.
    """

    batch: Batch
    carriers: dict[tuple[int, int], list[int]]
    gels: frozenset[tuple[int, int]] = frozenset()

    def choose(self, mass: float, least: float) -> tuple[list[Choice], list[Weighing]]:
        """Each small line with its carrier and strength, and the lines that no premix helps, at this mass. [g]

        Round strengths take more of a carrier than the strongest ones. Where that leaves a line without, the
        strongest are tried for all.
        """
        chosen, failed = self._choose(mass, least, ROUND_STRENGTHS)
        if failed:
            strong, still = self._choose(mass, least, ())
            if len(still) < len(failed):
                return strong, still
        return chosen, failed

    def _choose(
        self, mass: float, least: float, round_strengths: tuple[float, ...]
    ) -> tuple[list[Choice], list[Weighing]]:
        scale = mass / self.batch.mass
        left = {(w.phase, w.line): w.target * scale for w in self.batch.weighings}
        chosen, failed = [], []
        for weighing in self.batch.weighings:
            need = weighing.target * scale
            if not 0 < need < least * (1 - HAIR):
                continue
            found = self._carried(weighing, need, least, left, round_strengths)
            if found is None:
                failed.append(weighing)
                continue
            carrier, strength = found
            chosen.append((weighing, carrier, strength))
            left[weighing.phase, carrier] -= 100.0 * need / strength - need
        return chosen, failed

    def _carried(
        self,
        weighing: Weighing,
        need: float,
        least: float,
        left: dict[tuple[int, int], float],
        round_strengths: tuple[float, ...],
    ) -> tuple[int, float] | None:
        """The carrier and the strength for one line: of a single premix if one will do, else of a chain."""
        carriers = self.carriers[weighing.phase, weighing.line]
        capacity = self.batch.balance.finest.capacity
        rooms = [(carrier, left[weighing.phase, carrier] - least * (1 - HAIR)) for carrier in carriers]
        for carrier, room in rooms:
            strength = strongest(need, least, room, capacity, round_strengths)
            if strength is not None:
                return carrier, strength
        for carrier, room in rooms:
            strength = end_of_chain(need, least, room, capacity)
            if strength is not None:
                return carrier, strength
        return None

    def why_not(self, weighing: Weighing, least: float) -> Finding:
        """Why no premix helps this line."""
        phase = self.batch.formula.phases[weighing.phase]
        names = self.carriers[weighing.phase, weighing.line]
        make, capacity = least * least / weighing.target, self.batch.balance.finest.capacity
        if (weighing.phase, weighing.line) in self.gels:
            why = "it swells, and a strong premix of it would be a gel with lumps (common practice)"
        elif not names:
            why = f"nothing else in {phase.name} is known to mix with it"
        elif make > capacity and not premixes_in_chain(100.0 * weighing.target / least, least, capacity):
            why = f"it would take {make:.3g} g of premix, and the balance carries {capacity:g} g"
        else:
            why = f"there is too little {phase.lines[names[0]].material} left to carry it"
        sentence = f"No premix helps {weighing.material}, {weighing.target:.2g} g: {why}."
        return Finding("caution", sentence, Place(weighing.phase, weighing.line, "grams"))

    def way_out(self, least: float) -> Finding:
        """The next round batch, and the next finer balance, with which every line can be weighed or premixed."""
        batch = self.batch
        smallest = min(w.target for w in batch.weighings if w.target > 0)
        enough = batch.mass * least / smallest
        decade = 10.0 ** floor(log10(batch.mass))
        ladder = (float(f"{digit * decade * 10.0**n:.1g}") for n in count() for digit in (1, 2, 5))
        mass = next(m for m in ladder if m > batch.mass and (m >= enough or not self.choose(m, least)[1]))
        decades = (10.0**n for n in count(1))
        finer = next(n for n in decades if least / n <= smallest or not self.choose(batch.mass, least / n)[1])
        step = float(f"{batch.balance.finest.readability / finer:.6g}")
        sentence = (
            f"Make {mass:.10g} g, or use a balance that reads {step:.10g} g and repeats as well: then every line can "
            "be weighed or premixed."
        )
        return Finding("note", sentence, Place(field="mass"))


def _kind(material: str, materials: Materials | None) -> str:
    known = materials.get(material) if materials else None
    return known.phase if known else ""


def swells(batch: Batch, weighing: Weighing, materials: Materials | None) -> bool:
    """Whether a line is a thickener of water, such as a gum."""
    known = materials.get(weighing.material) if materials else None
    roles = known.roles if isinstance(known, Ingredient) else ()
    return batch.formula.phases[weighing.phase].kind == "water" and "thickener" in roles


def carriers_of(batch: Batch, weighing: Weighing, materials: Materials | None) -> list[int]:
    """Lines of the same phase that can carry, the one that fills the layer first, then the largest; of a gum none."""
    phase = batch.formula.phases[weighing.phase]
    if swells(batch, weighing, materials):
        return []
    if phase.kind not in MIXING or _kind(weighing.material, materials) not in ("", phase.kind, "other"):
        return []

    def can_carry(line: Line, other: Weighing) -> bool:
        return other.line != weighing.line and line.material.strip() not in ("", weighing.material.strip())

    here = [w for w in batch.weighings if w.phase == weighing.phase and can_carry(phase.lines[w.line], w)]
    here = [w for w in here if _kind(w.material, materials) in ("", phase.kind)]
    largest = sorted(here, key=lambda w: -w.target)[:1]
    return list(dict.fromkeys(w.line for w in [w for w in here if phase.lines[w.line].hold == "fill"] + largest))


def strongest(
    need: float, least: float, room: float, capacity: float, round_strengths: tuple[float, ...] = ROUND_STRENGTHS
) -> float | None:
    """The strongest round strength that can be weighed, or the strongest at all; None where there is none. [% w/w]

    ``room`` is how much of the carrier may be taken. [g]
    """
    best = 100.0 * need / least
    for strength in (*(c for c in reversed(round_strengths) if c <= best), _three_digits_down(best), best):
        if 100.0 * need / strength - need <= room and 100.0 * least / strength <= capacity:
            return strength
    return None


def end_of_chain(need: float, least: float, room: float, capacity: float) -> float | None:
    """The strength with which a chain of premixes ends; None where there is none. [% w/w]

    Its last premix must bring so little carrier as the formula has room for, and the balance must carry what is used.
    """
    best = 100.0 * need / least
    for strength in (one_two_five_down(best), _three_digits_down(best), best):
        used = 100.0 * need / strength
        if used - need <= room and used <= capacity and premixes_in_chain(strength, least, capacity):
            return strength
    return None


def premixes_in_chain(strength: float, least: float, capacity: float) -> int | None:
    """How many premixes lead to a strength, at least two; None where too many would be needed. [% w/w]"""
    span = capacity / least
    if span < LEAST_FACTOR:
        return None
    return next((n for n in range(2, MOST_PREMIXES + 1) if span**n * (1 - HAIR) >= 100.0 / strength), None)


def _three_digits_down(value: float) -> float:
    unit = 10.0 ** (floor(log10(value)) - 2)
    return float(f"{floor(value / unit) * unit:.3g}")
