"""In which layer a phase belongs: from its name in six languages, and else from what most of it by mass is."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from typing import TYPE_CHECKING

from kit.formula.amounts import read_amount, resolve_amounts
from kit.library.library import Library

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from kit.formula.model import Line
    from kit.library.ingredient import Material, PhaseKind

_UMLAUTS = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "ß": "ss", "œ": "oe", "æ": "ae"})

_OIL = re.compile(
    r"\b(?:oil|oils|oily|fat|fats|fatty|lipid\w*|lipo\w*|wax\w*|oel\w*|fett\w*|lipide\w*|wachs\w*|huil\w*|gras|grass[aeio]|"
    r"grasas?|cires?|aceit\w*|ole[oai]\w*|oli[oei]\w*|lipidic\w*|cer[ae]|vet|vetten|vetfase\w*|vetlaag|wasfase)\b"
)
_WATER = re.compile(
    r"\b(?:water\w*|aqua|aqueous|hydrophil\w*|wasser\w*|waessrig\w*|eau|aqueu\w*|agua|acuos\w*|acquos\w*|acqua|hydrofi\w*|"
    r"waterig\w*)\b"
)
#: A word that means a phase, also at the end of another one as in Wasserphase.
_PHASE_WORD = re.compile(r"\b\w*(?:phasen?|fasen?|fasi|layer|schicht|couche|strato|laag)\b|\bcapa\b")
_COOL_DOWN = re.compile(r"\b(?:cool[ -]?down|refroidissement|abkuehl\w*|raffreddamento|enfriamiento|afkoel\w*)\b")
_LETTER = re.compile(r"[A-Z](?:\s?\d)?[.:)]?")
_LETTERED = re.compile(r"[A-Z]\d?\s*[.:)-]?\s+\S.*")
#: What a sentence about the making has and the name of a phase has not.
_SENTENCE = re.compile(r"\d\s*(?:°|min|rpm)|[.!?]\s|\.$", re.IGNORECASE)
LONGEST_HEADING = 60


def plain(text: str) -> str:
    """A text in small letters without accents, umlauts as two letters, each blank single."""
    spread = unicodedata.normalize("NFKD", unicodedata.normalize("NFC", text).casefold().translate(_UMLAUTS))
    return " ".join("".join(sign for sign in spread if not unicodedata.combining(sign)).split())


def kind_named(name: str) -> PhaseKind | None:
    """The layer that the name of a phase says, or None where it says none, or two.

    Examples
    --------
    >>> kind_named("B Oil"), kind_named("Ölphase"), kind_named("Phase A (aqueous)"), kind_named("Cool-down")
    ('oil', 'oil', 'water', None)
    """
    words = plain(name)
    is_oil, is_water = bool(_OIL.search(words)), bool(_WATER.search(words))
    if is_oil == is_water:
        return None
    return "oil" if is_oil else "water"


def is_phase_heading(text: str) -> bool:
    """Whether a row that holds only this text begins a phase, rather than being a material without an amount.

    Examples
    --------
    >>> [is_phase_heading(text) for text in ("A", "Fettphase", "B Oil", "Cool-down", "Aqua", "Huile")]
    [True, True, True, True, False, False]
    """
    text = text.strip()
    if _LETTER.fullmatch(text):
        return True
    if len(text) > LONGEST_HEADING or _SENTENCE.search(text.partition(". ")[2] if text[1:3] == ". " else text):
        return False
    words = plain(text)
    named = _LETTERED.fullmatch(text) is not None and kind_named(text) is not None
    return named or bool(_PHASE_WORD.search(words) or _COOL_DOWN.search(words))


@dataclass(frozen=True, slots=True)
class Most:
    """The layer to which most of the known mass of a phase belongs, None where nothing is known.

    ``materials`` are the heaviest that say so; ``others`` are known and belong elsewhere.
    """

    kind: PhaseKind | None = None
    materials: tuple[str, ...] = ()
    others: tuple[str, ...] = ()


def kind_of_most(phases: Sequence[Sequence[Line]], own: Iterable[Material] = ()) -> list[Most]:
    """For each phase, what its materials say of its layer. Amounts that cannot be read count next to nothing."""
    known: Mapping[str, PhaseKind] = {material.name.casefold(): material.phase for material in own}
    library = Library.bundled()
    percents = resolve_amounts([[line.entry for line in lines] for lines in phases]).percents
    found: list[Most] = []
    for lines, shares in zip(phases, percents, strict=True):
        sums: dict[PhaseKind, float] = {}
        names: dict[PhaseKind, list[tuple[float, str]]] = {}
        for line, share in zip(lines, shares, strict=True):
            material = library.get(line.material)
            kind = known.get(line.material.casefold()) or (material.phase if material else None)
            if kind is None:
                continue
            weight = share if share is not None else read_amount(line.entry).value
            sums[kind] = sums.get(kind, 0.0) + max(weight, 1e-9)
            names.setdefault(kind, []).append((weight, line.material))
        if not sums:
            found.append(Most())
            continue
        most = max(sums, key=sums.__getitem__)
        heaviest = sorted(names.pop(most), key=lambda pair: -pair[0])
        others = tuple(name for pairs in names.values() for _, name in pairs)
        found.append(Most(most, tuple(dict.fromkeys(name for _, name in heaviest[:3])), others))
    return found
