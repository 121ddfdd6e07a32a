"""If she emulsifies after all: the HLB that an oil phase asks for, and the blend of two emulsifiers that has it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from kit.errors import EntryError, RangeError, UnknownNameError
from kit.findings import Finding, Place
from kit.library.hlb import hlb_of
from kit.resources import load_table

if TYPE_CHECKING:
    from collections.abc import Mapping

    from kit.formula.model import Formula

Emulsion = Literal["o/w", "w/o"]
#: What a person reads for each kind.
EMULSIONS: dict[Emulsion, str] = {"o/w": "oil in water", "w/o": "water in oil"}

GRIFFIN = "W. C. Griffin, Journal of the Society of Cosmetic Chemists 1 (1949) 311-326"
#: Said wherever an HLB is computed.
NOT_IN_LAYERS = (
    "It does not apply to a product kept in two layers: that has no emulsifier, and one would keep it from parting."
)
PROVES_NOTHING = (
    "An HLB narrows the choice of emulsifiers and proves nothing. Make the emulsion and store it; a qualified person "
    "must still test it."
)
#: The least by which two emulsifiers must differ to be blended. [HLB]
APART = 0.1
#: Ends of Griffin's scale. [HLB]
LOWEST, HIGHEST = 0.0, 20.0


@dataclass(frozen=True, slots=True)
class OilShare:
    """One oil of the phase: its share of those whose HLB is known, and what it asks for."""

    name: str
    share: float
    hlb: float
    source: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class RequiredHlb:
    """The HLB that an oil phase asks of its emulsifiers.

    Attributes
    ----------
    value
        On Griffin's scale. [-]
    oils
        Those whose HLB is known, with their shares of them. [% w/w]
    unknown
        Those of which none is known, with their shares of the whole phase. [% w/w]
    """

    value: float
    emulsion: Emulsion
    oils: tuple[OilShare, ...]
    unknown: tuple[tuple[str, float], ...] = ()

    @property
    def findings(self) -> list[Finding]:
        """What was not known, how far lists differ, and what the figure does not say."""
        found = []
        if self.unknown:
            named = ", ".join(f"{name} ({share:.3g} % of the oil phase)" for name, share in self.unknown)
            sentence = (
                f"No required HLB for {EMULSIONS[self.emulsion]} is known of {named}; the figure is that of the rest "
                "alone. Type a value of your supplier's, or make the emulsion at several HLBs and compare."
            )
            found.append(Finding("caution", sentence, Place(field="oils"), GRIFFIN))
        found += [Finding("note", f"{oil.name}: {oil.note}", Place(field="oils")) for oil in self.oils if oil.note]
        found.append(Finding("note", NOT_IN_LAYERS, Place(field="required")))
        found.append(Finding("note", PROVES_NOTHING, Place(field="required"), GRIFFIN))
        return found


@dataclass(frozen=True, slots=True)
class EmulsifierPair:
    """Two emulsifiers blended to an HLB.

    Attributes
    ----------
    first_share, second_share
        Of the two together. [% w/w]
    first_source, second_source
        Keys of ``data/sources``; "own" where the maker knows it.
    """

    wanted: float
    first: str
    second: str
    first_hlb: float
    second_hlb: float
    first_share: float
    first_source: str
    second_source: str
    notes: tuple[str, ...] = ()

    @property
    def second_share(self) -> float:
        """What the first leaves. [% w/w of the two]"""
        return 100.0 - self.first_share

    @property
    def sentence(self) -> str:
        """The blend in words."""
        return (
            f"{self.first_share:.3g} parts of {self.first} (HLB {self.first_hlb:g}) with {self.second_share:.3g} parts "
            f"of {self.second} (HLB {self.second_hlb:g}) have HLB {self.wanted:.3g}."
        )

    @property
    def findings(self) -> list[Finding]:
        """What is odd about the two, and what the figure does not say."""
        found = [Finding("note", note, Place(field="pair")) for note in self.notes]
        for name, hlb in ((self.first, self.first_hlb), (self.second, self.second_hlb)):
            if not LOWEST <= hlb <= HIGHEST:
                sentence = (
                    f"{name} has HLB {hlb:g}, beyond Griffin's scale of 0 to 20: its figure was got in another way, "
                    "and the weighted mean does not hold for it."
                )
                found.append(Finding("caution", sentence, Place(field="pair"), GRIFFIN))
        found.append(Finding("note", NOT_IN_LAYERS, Place(field="pair")))
        return found


def required_hlb(
    oils: Mapping[str, float], emulsion: Emulsion = "o/w", own: Mapping[str, float] | None = None
) -> RequiredHlb:
    """The HLB that an oil phase asks for: the mean of what its oils ask for, weighted by mass.

    Parameters
    ----------
    oils
        Name → how much, in any unit of mass or percent; without water and without emulsifiers.
    own
        Name → HLB that the maker knows from a supplier or from trials of hers; it stands before ``data/hlb``.

    Raises
    ------
    EntryError
        There is no oil.
    UnknownNameError
        No required HLB is known of any of them.

    References
    ----------
    .. [1] W. C. Griffin, "Classification of surface-active agents by HLB", Journal of the Society of Cosmetic Chemists
       1 (1949) 311-326.

    Examples
    --------
    >>> found = required_hlb({"Isopropyl Myristate": 15, "Cera Alba": 5})
    >>> round(found.value, 3), [round(oil.share) for oil in found.oils]
    (11.625, [75, 25])
    """
    amounts = {name: grams for name, grams in oils.items() if grams > 0}
    if not amounts:
        msg = "There is no oil in the oil phase. Add its lines first."
        raise EntryError(msg)
    mine = {name.casefold(): value for name, value in (own or {}).items()}
    known: list[tuple[str, float, float, str, str]] = []
    unknown: list[tuple[str, float]] = []
    whole = sum(amounts.values())
    for name, grams in amounts.items():
        listed = [figure for figure in hlb_of(name) if figure.kind == "required" and figure.emulsion == emulsion]
        if name.casefold() in mine:
            known.append((name, grams, _on_scale(name, mine[name.casefold()]), "own", ""))
        elif listed:
            known.append((name, grams, listed[0].value, listed[0].source, listed[0].note))
        else:
            unknown.append((name, 100.0 * grams / whole))
    if not known:
        msg = (
            f"No required HLB for {EMULSIONS[emulsion]} is known of {', '.join(amounts)}. "
            "Type one of your supplier's beside an oil."
        )
        raise UnknownNameError(msg)
    total = sum(grams for _, grams, *_ in known)
    shares = tuple(OilShare(name, 100.0 * grams / total, hlb, source, note) for name, grams, hlb, source, note in known)
    return RequiredHlb(sum(oil.share * oil.hlb for oil in shares) / 100.0, emulsion, shares, tuple(unknown))


def emulsifier_pair(wanted: float, first: str, second: str, own: Mapping[str, float] | None = None) -> EmulsifierPair:
    """The blend of two emulsifiers that has an HLB: (wanted - B) ÷ (A - B) of the first, by mass.

    Parameters
    ----------
    wanted
        On Griffin's scale. [-]
    own
        Name → HLB that the maker knows; it stands before ``data/hlb``.

    Raises
    ------
    RangeError
        The HLB lies outside those of the pair, or the two hardly differ.
    UnknownNameError
        The HLB of one is not known.

    References
    ----------
    .. [1] W. C. Griffin, "Classification of surface-active agents by HLB", Journal of the Society of Cosmetic Chemists
       1 (1949) 311-326: the HLB of a blend is the mean of its parts by mass.

    Examples
    --------
    >>> round(emulsifier_pair(12, "Polysorbate 20", "Sorbitan Oleate").first_share, 1)
    62.1
    """
    (a, source_a, said_a), (b, source_b, said_b) = _emulsifier(first, own), _emulsifier(second, own)
    if abs(a - b) < APART:
        msg = (
            f"{first} and {second} have HLB {a:g} and {b:g}: blending them changes nothing. "
            "Choose one well above the HLB wanted and one well below it."
        )
        raise RangeError(msg)
    low, high = sorted((a, b))
    if not low <= wanted <= high:
        side = "above" if wanted > high else "below"
        msg = (
            f"HLB {wanted:.3g} lies outside this pair: {first} has {a:g} and {second} has {b:g}, and a blend lies "
            f"between them. Choose one emulsifier {side} {wanted:.3g}."
        )
        raise RangeError(msg)
    notes = tuple(note for note in (said_a, said_b) if note)
    share = 100.0 * ((wanted - b) / (a - b))  # the quotient first: at either end it is 0 or 1 to the last digit
    return EmulsifierPair(wanted, first, second, a, b, share, source_a, source_b, notes)


def _emulsifier(name: str, own: Mapping[str, float] | None) -> tuple[float, str, str]:
    """The HLB of an emulsifier, the key of its source, and what its table says of the figure."""
    mine = {known.casefold(): value for known, value in (own or {}).items()}
    if name.casefold() in mine:
        return _on_scale(name, mine[name.casefold()]), "own", ""
    for figure in hlb_of(name):
        if figure.kind == "emulsifier":
            return figure.value, figure.source, f"{name}: {figure.note}" if figure.note else ""
    msg = f"No HLB is known of {name or 'an emulsifier without a name'}. Choose another, or type its HLB."
    raise UnknownNameError(msg)


def _on_scale(name: str, hlb: float) -> float:
    if not LOWEST <= hlb <= HIGHEST:
        msg = f"{name}: HLB {hlb:g} is beyond Griffin's scale. Type a number from 0 to 20."
        raise RangeError(msg)
    return hlb


def oils_of(formula: Formula) -> dict[str, float]:
    """The oils of a formula: lines of its oil phases that are no emulsifiers. [% w/w of the whole]"""
    found: dict[str, float] = {}
    for p, _, line, percent in formula.each_line():
        is_emulsifier = any(figure.kind == "emulsifier" for figure in hlb_of(line.material))
        asks = any(figure.kind == "required" for figure in hlb_of(line.material))
        if formula.phases[p].kind == "oil" and percent and not line.is_blank and (asks or not is_emulsifier):
            found[line.material] = found.get(line.material, 0.0) + percent
    return found


def known_emulsifiers() -> tuple[str, ...]:
    """The emulsifiers whose HLB ``data/hlb`` has, by INCI name in the order of the alphabet."""
    return tuple(sorted({row["inci"] for row in load_table("hlb").rows if row["kind"] == "emulsifier"}))
