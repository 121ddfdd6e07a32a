"""The volume of a mixture at a temperature, and how sure it is: real where tables reach, ideal for the rest.

Where there is water, each dissolved substance that has a published table takes the room which that table gives it at
its own strength in the water (Young's rule; exact for one). All else adds as it is by itself: ideal volumes.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, cast

from kit.errors import CompositionError
from kit.layers.substance import (
    USUAL,
    WATER,
    WATERY_DOUBT,
    Substance,
    figure_uncertainty,
    nothing_known,
    reference_celsius,
    substance_of,
)
from kit.library.sources import OWN
from kit.liquids.aqueous import aqueous_solution
from kit.liquids.water import water_density_at

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from kit.formula.expansion import Materials
    from kit.library.ingredient import Figure, Material
    from kit.liquids.aqueous import AqueousSolution

#: The name of a material, and whether a measured density of what it is part of covers it.
_Key = tuple[str, bool]

#: Standard uncertainty of ideal volumes, as a part of the volume that is taken to mix so: of a liquid with water
#: (alcohol, the worst, loses 7 % of its own volume), of oils among themselves (from memory). [-]
WITH_WATER, AMONG_OILS = 0.03, 0.003

#: Beyond its table, what is too much for it takes the room that it has by itself, uncertain by this part of it; carried
#: beyond the temperatures of its table, the room is uncertain by this part for each kelvin (a judgement). [-, 1/K]
BEYOND_STRENGTH, BEYOND_KELVIN = 0.1, 0.001

#: By how much a mole of base grows the volume when an acid takes it up: 9 mL with citric acid, by the tables of both
#: and of their salt, some 20 mL with a strong acid (from memory). It is not counted but makes the volume uncertain.
#: [mL/mol]
TAKEN_UP = 10.0

#: A table that reaches so far holds for the pure liquid too. [% w/w]
PURE = 99.9


@dataclass(frozen=True, slots=True)
class Part:
    """One substance in a mixture: its mass, the room it takes, and how that was found. [g, mL]

    Attributes
    ----------
    how
        "water", "table", "ideal", "dissolved solid", "measured" (inside a material whose density was) or "unknown".
    beyond
        What of its table had to be carried: "", "strength", "cold or heat".
    expands
        Whether its expansion is known.
    """

    substance: Substance
    mass: float
    volume: float
    how: str
    beyond: str = ""
    expands: bool = True


@dataclass(frozen=True, slots=True)
class Mixed:
    """A mixture at a temperature.

    Attributes
    ----------
    mass, unknown_mass
        All of it, and what of it has no density. [g]
    volume, uncertainty
        Of all but that, with its standard uncertainty. [mL]
    parts
        Its substances.
    reacts
        Whether an acid and a base are in it, which take each other up.
    sources
        Keys of ``data/sources`` of the densities of what is sold as a mixture.
    """

    mass: float
    unknown_mass: float
    volume: float
    uncertainty: float
    parts: tuple[Part, ...]
    reacts: bool = False
    sources: tuple[str, ...] = ()

    @property
    def density(self) -> float:
        """Of what is known; the rest is taken to be like it. [g/mL]"""
        return (self.mass - self.unknown_mass) / self.volume

    @property
    def unknown_share(self) -> float:
        """[% of the mass]"""
        return 100 * self.unknown_mass / self.mass

    @property
    def unknown_expansion_share(self) -> float:
        """What has no known expansion. [% of the volume]"""
        return 100 * sum(part.volume for part in self.parts if not part.expands) / self.volume


@dataclass(slots=True)
class _Line:
    """One material: how much of which substance 1 g brings, and what its measured density adds to their room.

    ``shares``: (number of substance, whether a measured density covers it) → part. [-]; ``added``, ``variance``:
    [mL/g, (mL/g)²]; ``sources``: of the measured densities.
    """

    shares: dict[tuple[int, bool], float] = field(default_factory=dict)
    added: float = 0.0
    variance: float = 0.0
    sources: dict[str, None] = field(default_factory=dict)


@dataclass(frozen=True)
class Contents:
    """What some materials are made of, looked up once; mixed then at any amounts and any temperature."""

    substances: tuple[Substance, ...]
    lines: tuple[_Line, ...]

    @classmethod
    def of(cls, names: Sequence[str], materials: Materials) -> Contents:
        """The contents of these materials. A material that is part of itself counts there as unknown."""
        gathering = _Gathering(materials)
        lines = tuple(gathering.line(name) for name in names)
        return cls(tuple(gathering.substances), lines)

    def mix(self, masses: Sequence[float], celsius: float = USUAL) -> Mixed | None:
        """1 g of these materials in these proportions; None where nothing of it has a density. [any, °C]

        What is 0 or less is left out.

        References
        ----------
        .. [1] T. F. Young and M. B. Smith, J. Phys. Chem. 58 (1954) 716: the apparent volumes of several dissolved
           substances add (not read). They take each at the strength of all together; how far that would differ is
           counted as uncertainty.
        """
        total, covered = [0.0] * len(self.substances), [0.0] * len(self.substances)
        added = variance = 0.0
        sources: dict[str, None] = {}
        whole = sum(mass for mass in masses if mass > 0)
        for part, line in zip(masses, self.lines, strict=True):
            if part <= 0:
                continue
            mass = part / whole
            added += mass * line.added
            variance += mass**2 * line.variance
            sources |= line.sources
            for (number, is_covered), share in line.shares.items():
                total[number] += mass * share
                if is_covered:
                    covered[number] += mass * share
        found = _Mixing(self.substances, total, covered, added, variance, celsius).mixed()
        return replace(found, sources=tuple(sources)) if found and sources else found


@dataclass
class _Gathering:
    """Looks into materials, each once and the innermost first however deep it stands, and numbers their substances."""

    materials: Materials
    substances: list[Substance] = field(default_factory=list)
    numbers: dict[str, int] = field(default_factory=dict)
    lines: dict[_Key, _Line] = field(default_factory=dict)

    def line(self, name: str) -> _Line:
        try:
            self.materials.substances(name)
            lines = self.lines
        except CompositionError:
            lines = {}  # what is inside depends on where its ring was entered, so it is of use for this line alone
        waiting: list[_Key] = [(name, False)]
        begun: set[_Key] = set()
        inside: set[str] = set()  # the materials whose parts are being looked into
        while waiting:
            key = waiting[-1]
            parts = {} if key in lines else self._parts(*key)
            if key in lines or not parts:
                if key not in lines:
                    lines[key] = self._end(*key)
                waiting.pop()
            elif key in begun:
                begun.discard(key)
                waiting.pop()
                lines[key] = self._mixed(key, parts, lines)
                inside.discard(self._name(key))
            else:
                begun.add(key)
                if self._figure(*key) is None:  # a measured one stands for its own parts, which come next
                    inside.add(self._name(key))
                waiting += [part for part in [*parts][::-1] if part not in lines and self._name(part) not in inside]
        return lines[name, False]

    def _name(self, key: _Key) -> str:
        material = self.materials.get(key[0])
        return material.name if material is not None else key[0]

    def _figure(self, name: str, is_covered: bool) -> Figure | None:  # the two of a key
        material = self.materials.get(name)
        return None if is_covered or material is None else self._measured(material)

    def _parts(self, name: str, is_covered: bool) -> dict[_Key, float]:
        """What a material is made of, as parts of it; nothing for what is one substance or is not known. [-]"""
        material = self.materials.get(name)
        if material is None:
            return {}
        if self._figure(name, is_covered) is not None:
            return {(material.name, True): 1.0}
        composition, solution = material.composition, aqueous_solution(material.name)
        is_hydrate = solution is not None and solution.brings < 1  # declared without its water, which it yet brings
        if not composition or set(composition) == {material.name} or is_hydrate:
            return {}
        whole = sum(composition.values())
        return {(part, is_covered): percent / whole for part, percent in composition.items()}

    def _end(self, name: str, is_covered: bool) -> _Line:
        """A material that is one substance, or of which nothing is known."""
        material, line = self.materials.get(name), _Line()
        if material is not None:
            substance = substance_of(material.name, self.materials)
        else:  # a salt may have a published table and yet no row in the library
            solution = aqueous_solution(name)
            lone = substance_of(solution.substance, self.materials) if solution else None
            substance = lone or nothing_known(name.strip())
        line.shares[self._number(substance), is_covered] = 1.0
        return line

    def _mixed(self, key: _Key, parts: Mapping[_Key, float], lines: Mapping[_Key, _Line]) -> _Line:
        """A material from its parts; one that is not there is the material itself again, as an unknown one."""
        mixed = _Line()
        for part, share in parts.items():
            if (inner := lines.get(part)) is None:
                inner = _Line({(self._number(nothing_known(part[0].strip())), part[1]): 1.0})
            for place, found in inner.shares.items():
                mixed.shares[place] = mixed.shares.get(place, 0.0) + share * found
            mixed.added += share * inner.added
            mixed.variance += share**2 * inner.variance
            mixed.sources |= inner.sources
        if (figure := self._figure(*key)) is not None:
            self._measure(mixed, figure)
        return mixed

    def _measure(self, line: _Line, figure: Figure) -> None:
        """Add the room by which a material's own density differs from what its substances would take."""
        masses = [0.0] * len(self.substances)
        for (number, _), part in line.shares.items():
            masses[number] += part
        computed = _Mixing(self.substances, masses, masses, 0.0, 0.0, reference_celsius(figure)).mixed()
        line.sources[figure.source] = None
        line.added += 1 / figure.value - (computed.volume if computed else 0.0)
        line.variance += (figure_uncertainty(figure) / figure.value**2) ** 2

    def _measured(self, material: Material) -> Figure | None:
        """The density of a mixture that its parts cannot tell as well: the maker's own, or a part has no table."""
        figure = material.density
        if figure is None:
            return None
        is_own = figure.source.startswith(OWN)
        if not material.composition or set(material.composition) == {material.name}:
            found = substance_of(material.name, self.materials)
            mixes = found.is_water or (found.solution is not None and found.solution.most >= PURE)
            return figure if is_own and mixes else None
        tabled = all(part == WATER or substance_of(part, self.materials).solution for part in material.composition)
        return None if tabled and not is_own else figure

    def _number(self, substance: Substance) -> int:
        number = self.numbers.setdefault(substance.name, len(self.substances))
        if number == len(self.substances):
            self.substances.append(substance)
        return number


@dataclass(slots=True)
class _Mixing:
    """Substances on their way into one volume. [g, g, mL, mL², °C]"""

    substances: Sequence[Substance]
    masses: Sequence[float]
    covered: Sequence[float]
    volume: float
    variance: float
    celsius: float
    water: float = 0.0
    unknown: float = 0.0
    parts: list[Part] = field(default_factory=list)

    def mixed(self) -> Mixed | None:
        """All of them together."""
        whole = sum(self.masses)
        aqua = sum(mass for each, mass in zip(self.substances, self.masses, strict=True) if each.is_water)
        solutes: dict[str, list[int]] = {}
        others, waters = [], []
        for number, (each, mass) in enumerate(zip(self.substances, self.masses, strict=True)):
            if mass <= 0:
                continue
            if each.is_water:
                waters.append(number)
            elif each.solution is not None and (aqua > 0 or each.solution.most >= PURE):
                solutes.setdefault(each.solution.dissolved, []).append(number)
                self.water += mass * (1 - each.solution.brings)
            else:
                others.append(number)
        self.water += aqua
        room_of_water = 1 / water_density_at(self.celsius) if self.water > 0 else 0.0
        for number in waters:
            each, mass = self.substances[number], self.masses[number]
            self._take(Part(each, mass, mass * room_of_water, "water"))
            self.variance += 0.0 if each.name == WATER else (WATERY_DOUBT * (mass - self.covered[number])) ** 2
        self._dissolve(list(solutes.values()), room_of_water)
        is_alone = len(others) + len(self.parts) == 1
        for number in others:
            self._add(number, is_alone=is_alone, in_water=aqua > 0, whole=whole)
        if self.volume <= 0 or self.unknown >= whole:
            return None
        taken_up = self._taken_up()
        self.variance += (TAKEN_UP * taken_up) ** 2
        return Mixed(whole, self.unknown, self.volume, self.variance**0.5, tuple(self.parts), taken_up > 0)

    def _taken_up(self) -> float:
        """Base that an acid beside it may take up, where their densities were found apart. [mol]"""
        loose = [(each, m - c) for each, m, c in zip(self.substances, self.masses, self.covered, strict=True)]
        base = sum(each.base * mass for each, mass in loose)
        return base if any(each.acid * mass > 0 for each, mass in loose) else 0.0

    def _take(self, part: Part) -> None:
        self.parts.append(part)
        self.volume += part.volume

    def _dissolve(self, solutes: list[list[int]], room_of_water: float) -> None:
        """What has a table, each at its own strength in the water; by how much another reading of the rule differs."""
        found = []
        for numbers in solutes:
            tables = [cast("AqueousSolution", self.substances[n].solution) for n in numbers]
            grams = [self.masses[n] * table.brings for n, table in zip(numbers, tables, strict=True)]
            found.append((numbers, max(tables, key=lambda table: table.uncertainty), grams, sum(grams)))
        dissolved = sum(grams for *_, grams in found)
        apart = 0.0
        for numbers, solution, grams, together in found:
            strength = 100 * together / (together + self.water)
            room, beyond, doubt = self._room(solution, strength)
            loose = 1 - sum(self.covered[n] for n in numbers) / sum(self.masses[n] for n in numbers)
            if beyond == "strength":
                within = solution.most / (100 - solution.most) * (100 - strength) / strength
                own = self._by_itself(numbers, grams, room_of_water)
                doubt = BEYOND_STRENGTH * ((1 - within) * (own or 0.0) + abs(room) / 2)
                room = within * room + (1 - within) * (own or 0.0)
                if own is None:
                    self.unknown += (1 - within) * loose * together
            alone = self.water * room_of_water + together * room
            known = min(max(self.celsius, solution.coldest), solution.warmest)
            error = solution.uncertainty_at(min(strength, solution.most), known) * alone**2 / (together + self.water)
            self.variance += loose**2 * (error**2 + (doubt * together) ** 2)
            if len(found) > 1:
                crowded, *_ = self._room(solution, 100 * dissolved / (dissolved + self.water))
                apart += loose * together * (crowded - room)
            expands = solution.coldest <= self.celsius <= solution.warmest
            for number, gram in zip(numbers, grams, strict=True):
                mass = self.masses[number]
                volume = gram * room + (mass - gram) * room_of_water
                self._take(Part(self.substances[number], mass, volume, "table", beyond, expands))
        self.variance += apart**2 / 3

    def _room(self, solution: AqueousSolution, strength: float) -> tuple[float, str, float]:
        """Room of 1 g at a strength; what had to be carried; what that makes uncertain. [% w/w → mL/g, mL/g]"""
        at = min(max(self.celsius, solution.coldest), solution.warmest)
        room = solution.apparent_volume(min(strength, solution.most), at)
        doubt = BEYOND_KELVIN * abs(self.celsius - at) * abs(room)
        beyond = "cold or heat" if at != self.celsius else ""
        return room, "strength" if strength > solution.most * (1 + 1e-9) else beyond, doubt

    def _by_itself(self, numbers: list[int], grams: list[float], room_of_water: float) -> float | None:
        """Room of 1 g, without crystal water, of what is too much for its table; None where it is not known. [mL/g]"""
        volume = 0.0
        for number, gram in zip(numbers, grams, strict=True):
            each, sold = self.substances[number], self.masses[number]
            if each.volume is None:
                return None
            volume += each.volume * sold - (sold - gram) * room_of_water
        return volume / sum(grams)

    def _add(self, number: int, *, is_alone: bool, in_water: bool, whole: float) -> None:
        """What has no table, as it is by itself."""
        each, mass = self.substances[number], self.masses[number]
        loose = mass - self.covered[number]
        if each.volume is None:
            if loose > 0:
                self.unknown += loose
                self.parts.append(Part(each, loose, 0.0, "unknown"))
            else:
                self.parts.append(Part(each, mass, 0.0, "measured"))  # its room is part of what was measured
            return
        grown, doubt, expands = each.grown(self.celsius)
        dissolves = in_water and each.in_water is not None
        part, part_doubt = each.in_water if in_water and each.in_water else (1.0, 0.0)
        room = each.volume * grown * part
        mixing = (WITH_WATER if in_water else AMONG_OILS) * (1 - mass / whole)
        if is_alone or each.in_water:
            mixing = 0.0
        errors = (each.uncertainty * part, room * mixing, each.volume * part_doubt)
        self.variance += sum((loose * error) ** 2 for error in errors) + (mass * each.volume * doubt) ** 2
        how = "measured" if loose <= 0 else "dissolved solid" if dissolves else "ideal"
        self._take(Part(each, mass, mass * room, how, expands=expands))
