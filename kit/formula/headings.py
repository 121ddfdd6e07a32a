"""What the columns of a maker's own table are, by their headings in six languages and by what they hold."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from difflib import get_close_matches
from typing import TYPE_CHECKING

from kit.formula.amounts import read_amount
from kit.formula.layer_names import is_phase_heading, kind_named, plain

if TYPE_CHECKING:
    from collections.abc import Sequence

#: The columns of the kit's own tables, in their order. By all of them a table is known as one of its own.
COLUMNS = ("phase", "layer", "ingredient", "amount", "holds", "note")
#: In so many rows that hold anything the headings are looked for: titles, dates and batches may stand above them.
MOST_ABOVE = 12

_INCI = re.compile(r"\binci\b|\binci[- ]")
_INGREDIENT = (
    re.compile(
        r"\bingr[a-z]*dien\w*|\bzutat\w*|\binhaltsstoff\w*|\bwirkstoff\w*|\brohstoff\w*|\bbestan(?:d)?teil\w*|\bgrondstof\w*"
    ),
    re.compile(r"\bbestanddeel\w*|\bbestanddelen|\bmat[eé]?\w*\s+prim\w*|\bmaterie?\s+prime|\bmatieres?\s+premieres?"),
    re.compile(r"\b(?:raw\s)?materials?\b|\bcomponent\w*|\bcomposant\w*|\bkomponente\w*|\bsubstan\w*|\bstoff\w*"),
    re.compile(r"\bname\b|\bnom\b|\bnombre\b|\bnome\b|\bnaam\b|\bbezeichnung\b|\bdesignation\b|\bprodu[ck]t\w*"),
    re.compile(r"\btrade|\bhandels\w*|\bcommercia\w*"),
)
_TRADE = re.compile(r"\btrade|\bhandels\w*|\bcommercia\w*|\bbrand\b|\bmarke\b|\bmarque\b|\bmarca\b|\bmerk\b")
_NO_INGREDIENT = re.compile(
    r"\bsupplier|\blieferant|\bhersteller|\bfournisseur|\bproveedor|\bfornitore|\bleverancier|\bphase|\bfase|\bcas\b|"
    r"\bfunction|\bfunktion|\bfonction|\bfuncion|\bfunzione|\bfunctie"
)
_PHASE = re.compile(r"\b\w*(?:phasen?|fasen?|fasi|layer|schicht|couche|strato|laag)\b|\bcapa\b")
_PART = re.compile(r"parte?|teil|partie|deel")
_SHARE = re.compile(
    r"%|‰|\bppm\b|\bper\s?cent\w*|\bpct\b|\bprozent\w*|\bpour\s?cent\w*|\bporcent\w*|\bprocent\w*|\bpercentu\w*|"
    r"\b(?:w/w|m/m|p/p|g/g|g/100\s?g)\b"
)
_QUANTITY = re.compile(
    r"\bamount\w*|\bquantit\w*|\bqty\b|\bqte\b|\bcantidad\w*|\bhoeveelheid\w*|\b\w*menge\b|\banteile?\b|\baandeel\b|"
    r"\bdos(?:age|ierung|e|ering|is|aggio|ificacion)\b|\bconc\b|\bconcentra\w*|\bkonzentra\w*|\bteneur\b|\bgehalte?\b|"
    r"\bparts\b|\bteile\b|\bparties\b|\bpartes\b|\bparti\b|\bdelen\b|\beinsatz\w*|\buse level\b|\blevel\b"
)
_MASS = re.compile(r"\bwt\b|\bweight\b|\bgewicht\w*|\bgew\b|\bmass[ea]?\b|\bpoids\b|\bpesos?\b|\bgram\w*|\bkilogram\w*")
_UNITS = re.compile(r"(?<![\w/])(kg|mg|g|gr|ml|cl|l|oz|ppm)(?![\w/])")
_NO_AMOUNT = re.compile(
    r"€|\$|£|\bpri[cs]e?\b|\bpreis\w*|\bprix\b|\bprecio\w*|\bprezzo\w*|\bprijs\b|\bco[su]ts?t?\w*\b|\bkosten\b|\bkost\b|"
    r"\bmax\w*|\bmin\w*|\blimit\w*|\brange\b|\brecommended\b|\bempf\w*|\bactive\w*|\baktiv\w*|\bactif\w*|\bactivo\w*|"
    r"\battiv\w*|\bactief\b|\bphases?\b|\bfases?\b|\bdate\b|\bdatum\b|\blot\b|\bcharge\b|\bstock\b|\busual\b|\ballergen\w*"
)
_VOLUME_BASIS = re.compile(r"\b([wmv]/v)\b|\b([vp]/v)\b")
#: Tables of other kinds that have an ingredient and a number too.
_OTHER_TABLES = ({"unit", "price"}, {"allergen"}, {"inci", "density_g_ml"}, {"inci", "usual_low_percent"})
_NEAR = 0.75


@dataclass(frozen=True, slots=True)
class Headings:
    """The headings of a table and what each column is.

    Attributes
    ----------
    at
        The row in which they stand, counted from 0.
    names
        For each column one of :data:`COLUMNS`, or her own heading where the kit does not read the column. Each once.
    unit
        What the heading of the amounts says they are in: "%", "g", "mL", "% w/v"; empty where it says nothing.
    again
        Further columns under the very heading of the amounts: which of them is meant, nothing says.
    is_own
        Whether the table is one that the kit wrote, in which nothing needs to be guessed.
    told
        Sentences on what was taken for what.
    phase
        The heading of a phase that stands above the headings of the columns.
    heads
        What the headings of the names and of the amounts say, to know them where they come again.
    """

    at: int
    names: tuple[str, ...]
    unit: str = ""
    again: tuple[str, ...] = ()
    is_own: bool = False
    told: tuple[str, ...] = ()
    phase: str = ""
    heads: tuple[str, str] = ("", "")


def find_headings(rows: Sequence[Sequence[str]]) -> Headings | None:
    """The first row that can be the headings of a formula's table; None where none can."""
    filled = [n for n, row in enumerate(rows[: 4 * MOST_ABOVE]) if any(cell.strip() for cell in row)][:MOST_ABOVE]
    for at in filled:
        found = _read_headings(rows, at)
        if found is not None:
            return found
    return None


def _read_headings(rows: Sequence[Sequence[str]], at: int) -> Headings | None:
    cells = [" ".join(cell.split()) for cell in rows[at]]
    heads = ["_".join(cell.casefold().split()) for cell in cells]
    if tuple(heads[: len(COLUMNS)]) == COLUMNS:
        return Headings(at, _unique([*COLUMNS, *cells[len(COLUMNS) :]], rows[at + 1 :]), is_own=True)
    words = [plain(cell) for cell in cells]
    is_named = {"ingredient", "amount"} <= set(heads)
    if sum(map(bool, words)) < 2 or (not is_named and any(kind <= set(heads) for kind in _OTHER_TABLES)):
        return None
    below = [row for row in rows[at + 1 :] if any(cell.strip() for cell in row)]
    columns = [[row[n].strip() for row in below if n < len(row) and row[n].strip()] for n in range(len(cells))]
    amounts = [_holds_amounts(column) for column in columns]
    layer = heads.index("layer") if "layer" in heads else None
    phase = _phase(words, amounts, layer)
    if layer is not None and phase is None and not any(cell.casefold() in _KINDS for cell in columns[layer]):
        phase, layer = layer, None
    taken = {n for n in (phase, layer) if n is not None}
    entry, others = _entry(words, columns, amounts, taken)
    material = _material(words, heads, taken | ({entry} if entry is not None else set()))
    if material is None:
        return None
    told: list[str] = []
    if entry is None:
        entry, others = _entry_by_content(words, columns, amounts, taken | {material})
        if entry is None:
            return None
        told.append(f"The column {cells[entry]!r} was taken for the amounts, because it holds some.")
    return _made(
        rows, at, cells, {"phase": phase, "layer": layer, "ingredient": material, "amount": entry}, others, told
    )


_KINDS = ("water", "oil", "other")


def _made(
    rows: Sequence[Sequence[str]],
    at: int,
    cells: list[str],
    places: dict[str, int | None],
    others: list[int],
    told: list[str],
) -> Headings:
    """The headings, once it is known which column is which."""
    heads = ["_".join(cell.casefold().split()) for cell in cells]
    names = ["" if cell == "" else cell for cell in cells]
    for name, place in places.items():
        if place is not None:
            names[place] = name
    for name in ("holds", "note"):
        if name in heads and name not in names:
            names[heads.index(name)] = name
    entry = places["amount"]
    assert entry is not None
    same = [n for n in others if plain(cells[n]) == plain(cells[entry])]
    told += [
        f"Two columns hold amounts: {cells[entry]!r} was taken; {cells[n]!r} stays beside it, unread. For the other "
        f"one, take the heading {cells[entry]!r} away."
        for n in others
        if n not in same
    ]
    for name, place in places.items():
        doubled = [n for n, head in enumerate(heads) if head == name and n != place and n not in same]
        if doubled and place is not None and heads[place] == name:
            told.append(
                f"More than one column is called {cells[place]!r}: the first was taken, the others stay unread."
            )
    for n, cell in enumerate(cells):
        near = get_close_matches(plain(cell), [name for name in COLUMNS if name not in names], 1, _NEAR)
        if near and names[n] == cell:
            told.append(f"The column {cell!r} is not read and stays as it is. Did you mean {near[0]!r}?")
    unique = _unique(names, rows[at + 1 :], tuple(COLUMNS))
    material = places["ingredient"]
    assert material is not None
    return Headings(
        at,
        unique,
        unit_of(cells[entry]),
        tuple(unique[n] for n in same),
        told=tuple(told),
        phase=_phase_above(rows[:at]),
        heads=(cells[material], cells[entry]),
    )


def _phase_above(rows: Sequence[Sequence[str]]) -> str:
    """The heading of a phase right above the headings of the columns."""
    filled = [[" ".join(cell.split()) for cell in row if cell.strip()] for row in rows]
    last = next((row for row in reversed(filled) if row), [])
    return last[0] if len(last) == 1 and is_phase_heading(last[0]) and kind_or_letter(last[0]) else ""


def kind_or_letter(text: str) -> bool:
    """Whether the name of a phase says its layer, or is a letter or "Phase A": a title may hold the word phase too."""
    return kind_named(text) is not None or bool(re.fullmatch(r"(?:\w*phase|fase)?\s*[A-Z0-9]", text, re.IGNORECASE))


def unit_of(heading: str) -> str:
    """The unit that a heading gives its numbers; empty where it gives none.

    Examples
    --------
    >>> [unit_of(head) for head in ("Amount (%)", "Menge [g]", "Wt%", "Quantité en g", "mL", "% w/v", "Anteil")]
    ['%', 'g', '%', 'g', 'mL', '% w/v', '']
    """
    words = plain(heading)
    if basis := _VOLUME_BASIS.search(words):
        return f"% {basis[0]}".replace("p/v", "w/v")
    if "‰" in words:
        return "‰"
    if "%" in words or (_SHARE.search(words) and "ppm" not in words):
        return "%"
    if re.search(r"\bkilogram\w*", words):
        return "kg"
    if re.search(r"\bgram\w*", words):
        return "g"
    found = _UNITS.search(words)
    return {"gr": "g", "ml": "mL", "cl": "cL", "l": "L"}.get(found[1], found[1]) if found else ""


def _holds_amounts(column: Sequence[str]) -> bool:
    """Whether what stands under a heading is mostly amounts, ranges and the like."""
    return bool(column) and 2 * sum(map(is_amount_like, column)) >= len(column)


def is_amount_like(cell: str) -> bool:
    """Whether a cell is an amount, or is meant as one: a number with something about it, or q.s."""
    amount = read_amount(cell)
    return amount.kind in ("percent", "mass", "rest") or bool(
        re.match(r"(?:<|>|≤|≥|~|ca\.?)?\s*[\d.,]+\s*\D{0,12}", cell)
    )


def _phase(words: list[str], amounts: list[bool], layer: int | None) -> int | None:
    for pattern in (_PHASE, _PART):
        for n, word in enumerate(words):
            match = pattern.search(word) if pattern is _PHASE else pattern.fullmatch(word)
            if match and n != layer and "%" not in word and (pattern is _PHASE or not amounts[n]):
                return n
    return None


def _entry(
    words: list[str], columns: list[list[str]], amounts: list[bool], taken: set[int]
) -> tuple[int | None, list[int]]:
    """The column of the amounts by its heading, and the others that could be."""
    ranked: list[tuple[int, int]] = []
    for n, word in enumerate(words):
        if n in taken or not word or word[0].isdigit() or _NO_AMOUNT.search(word):
            continue
        is_share, is_mass = bool(_SHARE.search(word)), bool(_MASS.search(word) or _UNITS.search(word))
        is_quantity = bool(_QUANTITY.search(word) or (_PART.fullmatch(word) and amounts[n]))
        if not (is_share or is_mass or is_quantity):
            continue
        if word != "amount" and columns[n] and not any(map(is_amount_like, columns[n])):
            continue
        if read_amount(word).kind not in ("unreadable", "blank"):
            continue
        rank = 0 if word == "amount" else 1 if is_share else 4 if unit_of(word) in ("mL", "cL", "L") else 2
        ranked.append((rank + (1 if rank == 2 and is_mass else 0), n))
    if not ranked:
        return None, []
    ranked.sort()
    return ranked[0][1], [n for _, n in ranked[1:]]


def _entry_by_content(
    words: list[str], columns: list[list[str]], amounts: list[bool], taken: set[int]
) -> tuple[int | None, list[int]]:
    """Where no heading says it: the first column that holds amounts and does not count the rows."""
    found = [
        n
        for n, column in enumerate(columns)
        if n not in taken and words[n] and amounts[n] and not _NO_AMOUNT.search(words[n]) and not counts(column)
        and (not word_is_number(words[n]))
    ]  # fmt: skip
    return (found[0], found[1:]) if found else (None, [])


def word_is_number(word: str) -> bool:
    """Whether a heading is itself an amount, as in the first row of a table without headings."""
    return read_amount(word).kind in ("percent", "mass", "rest")


def counts(column: Sequence[str]) -> bool:
    """Whether cells count on from 1, with a point behind or none."""
    numbers = [cell.rstrip(".)") for cell in column]
    return len(numbers) > 1 and numbers == [str(n) for n in range(1, len(numbers) + 1)]


def _material(words: list[str], heads: list[str], taken: set[int]) -> int | None:
    """The column of the names: INCI before any other, a trade name last."""
    free = [n for n, word in enumerate(words) if n not in taken and word and not _NO_INGREDIENT.search(word)]
    inci = [n for n in free if _INCI.search(words[n])]
    if inci:
        return inci[0]
    if "ingredient" in heads and heads.index("ingredient") in free:
        return heads.index("ingredient")
    for pattern in _INGREDIENT:
        for n in free:
            if pattern.search(words[n]) and (pattern is _INGREDIENT[-1] or not _TRADE.search(words[n])):
                return n
    return None


def _unique(names: Sequence[str], rows: Sequence[Sequence[str]], kept: tuple[str, ...] = ()) -> tuple[str, ...]:
    """Each name once; a column without a heading that holds something gets its number as its name."""
    width = max([len(names), *(len(row) for row in rows)], default=0) if not kept else len(names)
    found: list[str] = []
    seen: Counter[str] = Counter()
    for n in range(max(width, len(names))):
        name = names[n] if n < len(names) else ""
        if not name and any(n < len(row) and row[n].strip() for row in rows):
            name = f"Column {n + 1}"
        seen[name] += 1
        found.append(f"{name} ({seen[name]})" if name and seen[name] > 1 else name)
    return tuple(found[: len(names)])
