"""Expand a formula to substances: what is regulated and declared, through blends and stocks at any depth."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from kit.errors import CompositionError
from kit.frames import frame
from kit.library.naming import names_for_rules

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    import pandas as pd

    from kit.formula.model import Formula
    from kit.library.ingredient import Ingredient, Material
    from kit.library.library import Library


@dataclass(frozen=True)
class Materials:
    """Where a formula finds its materials: first among its own, then in the library."""

    library: Library
    own: tuple[Material, ...] = ()
    _known: dict[str, Material | None] = field(default_factory=dict, repr=False, compare=False)
    _split: dict[str, Mapping[str, float]] = field(default_factory=dict, repr=False, compare=False)
    _ruled: dict[str, tuple[str, ...]] = field(default_factory=dict, repr=False, compare=False)

    @classmethod
    def of(cls, formula: Formula, library: Library) -> Materials:
        """The materials open to one formula."""
        return cls(library, formula.materials)

    def get(self, name: str) -> Material | None:
        """The material of that name, or None."""
        if name not in self._known:
            key = name.strip().casefold()
            own = next((material for material in self.own if material.name.casefold() == key), None)
            self._known[name] = own or self.library.get(name)
        return self._known[name]

    def ingredient(self, name: str) -> Ingredient | None:
        """The library's or the maker's ingredient of that name; None for a stock or an unknown name."""
        found = self.get(name)
        return found if found is not None and hasattr(found, "inci") else None  # type: ignore[return-value]

    def names_for_rules(self, name: str) -> tuple[str, ...]:
        """Under which names rules may mean a substance: all of its own, its CAS numbers, and what it counts as."""
        if name not in self._ruled:
            known = self.ingredient(name)
            if known is not None:
                more: tuple[str, ...] = (known.inci, known.plain_name, *known.other_names, *known.cas)
            else:
                more = parts_named(name) if self.get(name) is None else ()
            self._ruled[name] = names_for_rules(name, *more)
        return self._ruled[name]

    def is_blend_of_unknown_shares(self, name: str) -> bool:
        """Whether nobody knows a material that is named after several substances, so that none has a share."""
        return bool(parts_named(name)) and self.get(name) is None

    def substances(self, name: str) -> Mapping[str, float]:
        """What 100 g of a material holds: INCI name → g. A name nobody knows counts as one substance.

        Raises
        ------
        CompositionError
            A blend or stock that is, somewhere inside, part of itself.
        """
        if name not in self._split:
            self._expand(name)
        return self._split[name]

    def _expand(self, name: str) -> None:
        """Split a material and all that is inside it, each once and the innermost first, however deep it goes."""
        waiting = [name]
        inside: dict[str, None] = {}  # the materials whose parts are being split, from the outermost
        while waiting:
            name = waiting[-1]
            material = self.get(name)
            if name in self._split or material is None:
                self._split.setdefault(name, {name.strip(): 100.0})
                waiting.pop()
                continue
            parts = material.composition
            if not parts or set(parts) == {material.name}:
                self._split[name] = {material.name: 100.0}
            elif material.name in inside and all(part in self._split for part in parts):
                del inside[material.name]
                self._split[name] = self._mixed(parts)
            elif material.name in inside:
                raise CompositionError(_made_of_itself(material.name, inside))
            else:
                inside[material.name] = None
                waiting += [part for part in [*parts][::-1] if part not in self._split]

    def _mixed(self, parts: Mapping[str, float]) -> dict[str, float]:
        """What 100 g of a blend holds, from what its parts hold."""
        found: dict[str, float] = {}
        whole = sum(parts.values())  # 100 within the tolerance for compositions; nothing of that may be lost
        for part, percent in parts.items():
            for substance, share in self._split[part].items():
                found[substance] = found.get(substance, 0.0) + percent * share / whole
        return found


def _made_of_itself(name: str, inside: Iterable[str]) -> str:
    way = [*inside]
    chain = " → ".join([*way[way.index(name) :], name])
    return f"{name} is made of itself: {chain}. Take it out of one of these compositions."


def parts_named(name: str) -> tuple[str, ...]:
    """The substances after which a blend is named: "Glycerin (and) Aqua"; nothing where it is named after one.

    Examples
    --------
    >>> parts_named("Glycerin (and) Aqua"), parts_named("Glycerin")
    (('Glycerin', 'Aqua'), ())
    """
    parts = tuple(part.strip() for part in re.split(r"\s*\(and\)\s*", name, flags=re.IGNORECASE))
    return tuple(part for part in parts if part) if len(parts) > 1 else ()


def expand(formula: Formula, materials: Materials) -> dict[str, float]:
    """The substances of a formula: INCI name → % w/w of the whole, largest first.

    Lines without a percent are left out, so that a formula can be expanded while it is being typed.

    Raises
    ------
    CompositionError
        A blend or stock that is part of itself.
    """
    found: dict[str, float] = {}
    for _, _, line, percent in formula.each_line():
        if percent is None or not line.material.strip():
            continue
        for substance, share in materials.substances(line.material).items():
            found[substance] = found.get(substance, 0.0) + percent * share / 100.0
    return dict(sorted(found.items(), key=lambda item: -item[1]))


def where_from(formula: Formula, materials: Materials) -> dict[str, dict[str, float]]:
    """For each substance, which lines bring it and how much: INCI → {material of the line: % of the whole}."""
    found: dict[str, dict[str, float]] = {}
    for _, _, line, percent in formula.each_line():
        if percent is None or not line.material.strip():
            continue
        for substance, share in materials.substances(line.material).items():
            lines = found.setdefault(substance, {})
            lines[line.material] = lines.get(line.material, 0.0) + percent * share / 100.0
    return found


def substances_table(formula: Formula, materials: Materials) -> pd.DataFrame:
    """The substances of a formula as a DataFrame: INCI name, % w/w, and the lines that bring it."""
    lines = where_from(formula, materials)
    percents = expand(formula, materials)
    return frame(
        {
            "substance": list(percents),
            "percent w/w": list(percents.values()),
            "by way of": [", ".join(lines[name]) for name in percents],
        }
    )
