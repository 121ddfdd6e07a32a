"""A trial of blends: its region, its bottles, what is scored of them and with what goal."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from kit.errors import EntryError
from kit.findings import Finding, Place

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from kit.blends.designs import Bottle
    from kit.blends.desirability import Goal
    from kit.blends.fit import BlendFit
    from kit.blends.region import BlendRegion
    from kit.blends.scheffe import Model

#: The first columns of a trial's file, and the last; no part and no score may be called so.
FIRST, NOTE = ("bottle", "code"), "note"


@dataclass(frozen=True, slots=True)
class BlendTrial:
    """A trial in hand.

    Attributes
    ----------
    scores
        Name of what is scored → a score for each bottle, None where there is none yet.
    goals
        Name of what is scored → what is wanted of it.

    Raises
    ------
    EntryError
        A name stands twice, or a score is missing its place.
    """

    region: BlendRegion
    bottles: tuple[Bottle, ...] = ()
    scores: Mapping[str, tuple[float | None, ...]] = field(default_factory=dict)
    goals: Mapping[str, Goal] = field(default_factory=dict)

    def __post_init__(self) -> None:
        seen: set[str] = set()
        for name in (*FIRST, NOTE, *self.region.names, *self.scores):
            key = " ".join(name.casefold().split())
            if not key or key in seen:
                msg = f"{name or 'An empty name'} is there twice or says nothing. Give each part and each score a name."
                raise EntryError(msg)
            seen.add(key)
        for name, values in self.scores.items():
            if len(values) != len(self.bottles):
                msg = f"{name} has {len(values)} scores for {len(self.bottles)} bottles. Give one, or none, for each."
                raise EntryError(msg)
        if len({bottle.code for bottle in self.bottles}) < len(self.bottles):
            msg = "Two bottles bear the same code. Give each its own."
            raise EntryError(msg)

    @property
    def points(self) -> tuple[tuple[float, ...], ...]:
        """The blend of each bottle. [% w/w of the blend]"""
        return tuple(bottle.point for bottle in self.bottles)

    def with_scores(self, name: str, values: Sequence[float | None]) -> BlendTrial:
        """The trial with these scores of one thing."""
        return replace(self, scores={**self.scores, name: tuple(values)})

    def fit(self, name: str, model: Model) -> BlendFit:
        """A model of one score; see :func:`kit.blends.models.fit_blend`."""
        from kit.blends.models import fit_blend

        return fit_blend(self.points, self.scores[name], model, self.region.names, name)

    @property
    def findings(self) -> list[Finding]:
        """What of the scores is missing."""
        found = []
        for name, values in self.scores.items():
            missing = [bottle.code for bottle, value in zip(self.bottles, values, strict=True) if value is None]
            if missing and len(missing) < len(values):
                some = ", ".join(missing[:8]) + (" and others" if len(missing) > 8 else "")
                sentence = f"{name}: {len(missing)} of {len(values)} bottles have no score yet: {some}."
                found.append(Finding("note", sentence, Place(field=name)))
        return found
