"""The making sheet of a trial of blends: all bottles at once, what to have on the bench, and a sheet for the scores."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from kit.label.cautions import cautions_for
from kit.papers.paper import ByHand, PaperSpec

if TYPE_CHECKING:
    from kit.blends.bottles import BottlesToMake
    from kit.formula.expansion import Materials


@dataclass(frozen=True, slots=True)
class TrialInMaking:
    """The bottles of a trial, as their sheet is written.

    Attributes
    ----------
    title
        Of the product for which the blend is tried.
    scored
        What is scored of each bottle: an empty column each on a page of its own, which tells the codes alone.
    """

    made: BottlesToMake
    materials: Materials
    title: str = "Blend"
    scored: tuple[str, ...] = ()


def context(about: TrialInMaking, options: ByHand) -> dict[str, Any]:
    """What the sheet prints."""
    made = about.made
    places = max(batch.places for batch in made.batches)
    substances = [name for part in made.names for name in about.materials.substances(part)]
    return {
        "title": about.title,
        "names": made.names,
        "rows": [
            {
                "number": bottle.number,
                "code": bottle.code,
                "grams": [f"{grams:.{places}f}" if grams else "none" for grams in row],
                "together": f"{batch.mass:.{places}f}",
            }
            for bottle, batch, row in zip(made.bottles, made.batches, made.grams, strict=True)
        ],
        "totals": [f"{made.totals[name]:.{places}f}" for name in made.names],
        "whole": f"{sum(made.totals.values()):.{places}f}",
        "need": [(name, f"{made.totals[name]:.{places}f}", f"{made.need[name]:.{places}f}") for name in made.names],
        "spare": f"{made.spare:g}",
        "balance": made.batches[0].balance.words,
        "tolerance": f"{made.batches[0].tolerance:g}",
        "scored": about.scored,
        "codes": sorted(bottle.code for bottle in made.bottles),
        "findings": made.findings,
        "cautions": cautions_for(dict.fromkeys(substances), about.materials),
        "details": options,
    }


SPEC = PaperSpec(
    "blend_bottles",
    "Making sheet of a trial of blends",
    "what to weigh into each bottle of a trial, and what all of them need",
    "bottles",
    ByHand,
    context,
    (
        "title", "names", "rows", "totals", "whole", "need", "spare", "balance", "tolerance", "scored", "codes",
        "findings", "cautions", "details",
    ),
    lambda about, options: (about.title, options.lot),
)  # fmt: skip
