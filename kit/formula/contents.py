"""What a formula holds, worked out once for all checks: substances in the whole and in each kind of layer."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from kit.findings import Place
from kit.formula.compatibility_rules import tags_of
from kit.library.letters import plain_letters

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from kit.formula.expansion import Materials
    from kit.formula.model import Formula

#: What a plant's water or juice is called; both are nearly all water, and microbes grow in them as in any other.
_WATERY = (" water", " juice")


@dataclass(frozen=True)
class Contents:
    """A formula expanded to substances; lines without a percent are left out.

    Attributes
    ----------
    lines
        For each line that counts: its place, its layer, its percent of the whole, and what 100 g of it hold.
    """

    formula: Formula
    materials: Materials
    lines: tuple[tuple[Place, str, float, Mapping[str, float]], ...]

    @classmethod
    def of(cls, formula: Formula, materials: Materials) -> Contents:
        """Expand a formula.

        Raises
        ------
        CompositionError
            A blend or stock that is part of itself.
        """
        return cls(
            formula,
            materials,
            tuple(
                (Place(p, i, "material"), formula.phases[p].kind, percent, materials.substances(line.material))
                for p, i, line, percent in formula.each_line()
                if percent is not None and percent > 0 and line.material.strip()
            ),
        )

    @cached_property
    def whole(self) -> dict[str, float]:
        """Substance → percent of the whole. [% w/w]"""
        return _summed(self.lines, None, 1.0)

    @cached_property
    def water(self) -> float:
        """Water, with the waters and juices of plants counted as such. [% w/w of the whole]

        Examples
        --------
        >>> from kit.demos import demo
        >>> from kit.formula.expansion import Materials
        >>> from kit.library.library import Library
        >>> contents = Contents.of(demo(), Materials.of(demo(), Library.bundled()))
        >>> contents.water == contents.whole["Aqua"]
        True
        """
        names = {name: plain_letters(name) for name in self.whole}
        return sum(self.whole[name] for name, plain in names.items() if plain == "aqua" or plain.endswith(_WATERY))

    @cached_property
    def tags(self) -> dict[str, frozenset[str]]:
        """Substance → what marks it; see :func:`kit.formula.compatibility_rules.tags_of`."""
        return {name: tags_of(name, self.materials.ingredient(name)) for name in self.whole}

    def layer_percent(self, kind: str) -> float:
        """How much of the whole a layer is. [% w/w]"""
        return sum(percent for _, layer, percent, _ in self.lines if layer == kind)

    def percents(self, counted: str) -> dict[str, float]:
        """Substance → percent of the whole or of a layer. [% w/w]"""
        if counted == "whole":
            return self.whole
        mass = self.layer_percent(counted)
        return _summed(self.lines, counted, 100.0 / mass) if mass else {}

    def in_layer(self, names: Iterable[str], kinds: Iterable[str]) -> bool:
        """Whether any of these substances stands in a layer of one of these kinds."""
        wanted, layers = set(names), set(kinds)
        return any(kind in layers and not wanted.isdisjoint(parts) for _, kind, _, parts in self.lines)

    def place_of(self, names: Iterable[str]) -> Place:
        """The line that brings most of these substances."""
        wanted = tuple(names)
        amounts = [
            (percent * sum(parts.get(name, 0.0) for name in wanted), -n)
            for n, (_, _, percent, parts) in enumerate(self.lines)
        ]
        most, number = max(amounts, default=(0.0, 0))
        return self.lines[-number][0] if most > 0 else Place()


def _summed(
    lines: Iterable[tuple[Place, str, float, Mapping[str, float]]], kind: str | None, scale: float
) -> dict[str, float]:
    found: dict[str, float] = {}
    for _, layer, percent, parts in lines:
        if kind is None or layer == kind:
            share = percent * scale / 100.0
            for name, part in parts.items():
                found[name] = found.get(name, 0.0) + share * part
    return found
