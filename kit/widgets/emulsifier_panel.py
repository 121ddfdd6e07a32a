"""If it is to be emulsified after all: the HLB that the oils ask for, and the pair of emulsifiers that has it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import ipywidgets as ipw

from kit.blends.hlb import (
    EMULSIONS,
    GRIFFIN,
    NOT_IN_LAYERS,
    emulsifier_pair,
    known_emulsifiers,
    oils_of,
    required_hlb,
)
from kit.errors import EntryError, KitError
from kit.findings import Finding, worst_first
from kit.inputs import Choice, Input, Number, Text
from kit.library.sources import source_text
from kit.numbers import read_number
from kit.widgets.bench import Bench
from kit.widgets.form import Form
from kit.widgets.html import findings_list, problem, sheet
from kit.widgets.panel import Panel

if TYPE_CHECKING:
    from kit.blends.hlb import EmulsifierPair, RequiredHlb
    from kit.widgets.panel import Source

INPUTS = (
    Input("emulsion", "Emulsion", Choice(dict(EMULSIONS), "switch"), "o/w"),
    Input("first", "One emulsifier", Text("name"), "Polysorbate 80"),
    Input("second", "The other", Text("name"), "Sorbitan Oleate"),
    Input("wanted", "HLB wanted", Number(0, 20), None, example="what the oils ask for"),
    Input("together", "Emulsifiers together", Number(0.01, 50), 5.0, "%", help="Of the whole product."),
    Input("own", "HLB that I know", Text("lines"), "", example="Isoamyl Laurate 8",
          help="Of an oil or an emulsifier, from its supplier or from trials; one on each line."),
)  # fmt: skip


class EmulsifierPanel(Panel):
    """Required HLB of the oil phase in hand, and a pair of emulsifiers blended to it.

    Attributes
    ----------
    required, pair
        None where they cannot be said.
    """

    watches = ("formula", "library")
    title = "If you emulsify after all"
    subtitle = "the HLB that the oils ask for, and two emulsifiers blended to it"
    foot = f"The HLB of a mixture is the mean of its parts by mass: {GRIFFIN}."

    def __init__(self, source: Source = None) -> None:
        self.required: RequiredHlb | None = None
        self.pair: EmulsifierPair | None = None
        self.form = Form(INPUTS, on_change=lambda _: self._changed(), wide=("first", "second", "own"))
        for name in ("first", "second"):
            self.form.offer(name, known_emulsifiers())
        self.answer, self.oils, self.blend, self.findings = (
            ipw.HTML().add_class("sw-answer"), ipw.HTML(), ipw.HTML(), ipw.HTML(),
        )  # fmt: skip
        bench = Bench.of(source)
        if bench.formula.description.layering == "emulsified":
            self.title = "Its emulsifiers"
        super().__init__(bench, [self.form, self.answer, self.blend, self.oils, self.findings])

    def refresh(self) -> None:
        """Show what the oils in hand ask for, and the pair."""
        self.required = self.pair = None
        self.oils.value = self.blend.value = self.findings.value = ""
        findings = self._in_layers()
        said = []
        try:
            own = own_values(self.form["own"])
            self.required = self._required(own)
            wanted = self.form["wanted"]
            if self.required is not None:
                findings += self.required.findings
                asked = f"<b>The oils ask for HLB {self.required.value:.1f}</b>"
                said.append(f"<div>{asked} in {EMULSIONS[self.required.emulsion]}.</div>")
                wanted = self.required.value if wanted is None else wanted
            if wanted is None:
                msg = "Type the HLB wanted, or add the oils to the formula."
                raise EntryError(msg)
            self.pair = emulsifier_pair(wanted, self.form["first"], self.form["second"], own)
            findings += self.pair.findings
        except KitError as error:
            said.append(problem(str(error)))
        self.answer.value = "".join(said)
        self._show()
        told = {one.sentence: one for one in findings}
        if self.bench.formula.description.layering == "emulsified":
            told.pop(NOT_IN_LAYERS, None)
        self.findings.value = findings_list(worst_first(told.values()))

    def _in_layers(self) -> list[Finding]:
        """Said first where the product in hand is one of two layers."""
        description = self.bench.formula.description
        if description.layering != "two layers" and not {"water", "oil"} <= {p.kind for p in self.bench.formula.phases}:
            return []
        if description.layering in ("emulsified", "one phase"):
            return []
        return [Finding("caution", f"This product has a water layer and an oil layer. {NOT_IN_LAYERS}")]

    def _required(self, own: dict[str, float]) -> RequiredHlb | None:
        """What the oils ask for; None where a wanted HLB is typed and nothing is known of them."""
        try:
            return required_hlb(oils_of(self.bench.formula), self.form["emulsion"], own)
        except KitError:
            if self.form["wanted"] is None:
                raise
            return None

    def _show(self) -> None:
        if self.required is not None:
            self.oils.value = sheet(
                ["oil", "share of those known, %", "asks for HLB", "source"],
                [[oil.name, f"{oil.share:.1f}", f"{oil.hlb:g}", _source(oil.source)] for oil in self.required.oils],
                numbers=(1, 2),
            )
        if self.pair is not None:
            pair, together = self.pair, self.form["together"]
            first = (pair.first, pair.first_hlb, pair.first_share, pair.first_source)
            second = (pair.second, pair.second_hlb, pair.second_share, pair.second_source)
            self.blend.value = sheet(
                ["emulsifier", "HLB", "of the two, %", "of the product, %", "source of the HLB"],
                [
                    [name, f"{hlb:g}", f"{share:.1f}", f"{share * together / 100:.3g}", _source(source)]
                    for name, hlb, share, source in (first, second)
                ],
                numbers=(1, 2, 3),
                foot=["together", f"{pair.wanted:.3g}", "100.0", f"{together:g}", ""],
            )


def _source(key: str) -> str:
    return "your own" if key == "own" else source_text(key)


def own_values(text: str) -> dict[str, float]:
    """HLBs that the maker knows, a line each: "Isoamyl Laurate 8".

    Raises
    ------
    EntryError
        A line has no name or no number from 0 to 20.

    Examples
    --------
    >>> own_values("Isoamyl Laurate 8,5")
    {'Isoamyl Laurate': 8.5}
    """
    found = {}
    for n, row in enumerate(text.splitlines(), start=1):
        words = row.split()
        if not words:
            continue
        name = " ".join(words[:-1])
        try:
            value = read_number(words[-1], low=0, high=20)
        except KitError as error:
            msg = f"HLB that I know, line {n}: {error} Write a name and its HLB, such as Isoamyl Laurate 8."
            raise EntryError(msg) from error
        if not name:
            msg = f"HLB that I know, line {n}: write the name too, such as Isoamyl Laurate 8."
            raise EntryError(msg)
        found[name] = value
    return found
