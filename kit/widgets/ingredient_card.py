"""One ingredient as a card: every figure with its source beside it, the limits that concern it, and cautions."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from kit.formula.requirements import scope_words
from kit.library.hlb import hlb_of
from kit.library.melting import melting_of
from kit.library.search import substances_of, usual_range
from kit.library.sources import COMMON_PRACTICE, FROM_MEMORY, is_firm, source_text
from kit.library.volatility import volatility_of
from kit.widgets.html import heading, sheet

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from kit.library.ingredient import Figure, Ingredient, Purchase
    from kit.library.limit import Limit, Limits

LOCAL = "These are limits of the place and the date named. Where you make, sell or give away, local rules decide."


def ingredient_card(ingredient: Ingredient, limits: Limits, cautions: Sequence[str] = ()) -> str:
    """The card as HTML; every text that came from a person is escaped.

    Parameters
    ----------
    limits
        Those of the chosen place.
    cautions
        What is said of this very ingredient on papers.
    """
    names = ", ".join(filter(None, (ingredient.plain_name, *ingredient.other_names)))
    head = heading(ingredient.inci, names, level=4)
    note = f'<div class="sw-card-note">{escape(ingredient.note)}</div>' if ingredient.note else ""
    parts = [
        head,
        note,
        sheet(["what", "value", "source"], [list(row) for row in _figures(ingredient)]),
        _bought(ingredient.purchase) if ingredient.purchase else "",
        _limits(ingredient, limits),
        _cautions(ingredient, cautions),
    ]
    return f'<div class="sw-card">{"".join(parts)}</div>'


def _figures(ingredient: Ingredient) -> Iterator[tuple[str, str, str]]:
    facts = _source(ingredient.facts_source)
    yield "role", ", ".join(ingredient.roles) or "—", facts
    yield "layer", ingredient.phase, facts
    yield "charge", ingredient.charge or "—", facts
    usual = usual_range(ingredient)
    figure = ingredient.usual_low or ingredient.usual_high
    if figure is not None:
        yield "usual range", f"{usual} % w/w: a habit, not a law", _source(figure.source)
    yield from _one("density", ingredient.density, "g/mL")
    yield from _one("viscosity", ingredient.viscosity, "mPa·s")
    yield from _changes_of_state(ingredient)
    formula = f" ({ingredient.molecular_formula})" if ingredient.molecular_formula else ""
    yield from _one("molar mass", ingredient.molar_mass, f"g/mol{formula}")
    yield from _one("log P", ingredient.log_p, "(octanol and water)")
    if ingredient.pka:
        yield "pKa", "; ".join(f"{each.value:g}" for each in ingredient.pka), _source(ingredient.pka[0].source)
    for one in hlb_of(ingredient.inci):
        yield "HLB", f"{one.words}. {one.note}".rstrip(" .") + ".", _source(one.source)
    soluble = ingredient.solubility
    for liquid, words in (("water", soluble.water), ("oil", soluble.oil), ("alcohol", soluble.alcohol)):
        if words is not None:
            yield f"in {liquid}", words.words, _source(words.source)
            yield from _one(f"in {liquid}", words.figure, "g/L")
    if ingredient.composition:
        parts = ", ".join(f"{name} {percent:g} %" for name, percent in ingredient.composition.items())
        yield "made of", parts, _source(ingredient.composition_source)


def _changes_of_state(ingredient: Ingredient) -> Iterator[tuple[str, str, str]]:
    """Where it melts and boils, how it evaporates, where it catches fire."""
    melting = melting_of(ingredient.inci)
    if melting is not None:
        note = f"; {melting.note}" if melting.note else ""
        yield "melts", f"{melting.text}, {melting.state_at()} at 20 °C{note}", _source(melting.source)
    found = volatility_of(ingredient.inci)
    if found is None:
        return
    yield from _one("boils", found.boiling_point, "°C")
    yield from _one("vapour pressure", found.vapour_pressure, "Pa")
    if found.evaporation and found.vapour_pressure is not None:
        words = "hardly at all" if found.evaporation == "none" else found.evaporation
        yield "evaporates", f"{words}: the kit's own word for it", _source(found.vapour_pressure.source)
    yield from _one("flash point", found.flash_point, "°C")
    if found.flammability:
        category = f"category {found.flammability}" if found.flammability != "none" else "not classified by flash point"
        yield "flammable liquid", f"{category}, the pure substance", _source("clp-2-6")
    if found.note:
        yield "note", found.note, ""


def _one(what: str, figure: Figure | None, unit: str) -> Iterator[tuple[str, str, str]]:
    if figure is not None:
        note = f", {figure.note}" if figure.note else ""
        yield what, f"{figure.value:g} {unit}{note}", _source(figure.source)


def _source(key: str) -> str:
    """A source as it stands beside a figure: short where it is only habit or memory."""
    if key in (COMMON_PRACTICE, FROM_MEMORY):
        return key.replace("-", " ")
    return source_text(key) if key else ""


def _bought(purchase: Purchase) -> str:
    rows = [
        ("price", "" if purchase.price is None else f"{purchase.price:g} {purchase.currency}"),
        ("pack", "" if purchase.amount is None else f"{purchase.amount:g} {purchase.unit}"),
        ("lot", purchase.lot),
        ("bought on", purchase.bought_on),
        ("keep until", purchase.keep_until),
    ]
    return sheet(["your pack", ""], [row for row in rows if row[1]])


def _limits(ingredient: Ingredient, limits: Limits) -> str:
    found = limits.concerning(substances_of(ingredient))
    if not found:
        return '<div class="sw-subtitle">No limit of the chosen place names it. That is no permission.</div>'
    rows = [[limit_words(limit), limit.scope, limit.source] for limit in found]
    table = sheet(["limit, % of the finished product", "holds for", "law and date"], rows)
    return f"{table}<div class='sw-subtitle'>{escape(LOCAL)}</div>"


def limit_words(limit: Limit) -> str:
    """A limit in a few words.

    Examples
    --------
    >>> from kit.library.table import limits
    >>> [limit_words(limit) for limit in limits() if limit.key in ("sorbic", "mci-mi-leave-on", "limonene-peroxides")]
    ['at most 0.6 as Sorbic Acid', 'leave-on: not permitted', 'no maximum']
    """
    where = scope_words(limit)
    kind = f"{where}: " if where else ""
    counted = f" as {limit.expressed_as}" if limit.expressed_as else ""
    if limit.max_percent == 0:
        percent = "not permitted"
    else:
        bound = "below" if limit.below else "at most"
        percent = f"{bound} {limit.max_percent:g}{counted}" if limit.is_of_percent else ""
    low = f"pH above {limit.ph_low:g}" if limit.ph_low is not None else ""
    high = f"pH not above {limit.ph_high:g}" if limit.ph_high is not None else ""
    return f"{kind}{', '.join(filter(None, (percent, low, high))) or 'no maximum'}"


def _cautions(ingredient: Ingredient, said: Sequence[str]) -> str:
    rows = "".join(f"<li>{escape(sentence)}</li>" for sentence in said)
    memory = [figure for figure in (ingredient.density, ingredient.viscosity) if figure and not is_firm(figure.source)]
    if memory and not ingredient.own:
        rows += "<li>Figures from memory: take those of the data sheet of what you bought.</li>"
    return f"<ul class='sw-card-cautions'>{rows}</ul>" if rows else ""
