"""What a formula holds decides what is said of it, not how it was bought: pure, as a stock, or in a blend."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.formula.compatibility import Contents, compatibility_findings, low_risk_findings
from kit.formula.expansion import Materials
from kit.formula.model import Formula, Line, Phase
from kit.formula.ph_windows import ph_findings
from kit.formula.requirements import flat_percents, requirements
from kit.library.description import Description
from kit.library.ingredient import Ingredient, Stock
from kit.library.table import limits
from tests.formula.made import LIBRARY

if TYPE_CHECKING:
    from kit.findings import Finding
    from kit.library.description import ProductKind

NAMES = sorted(
    one.inci for one in LIBRARY if one.phase == "water" and not one.composition and one.inci not in ("Aqua", "Alcohol")
)
chosen = st.lists(st.sampled_from(NAMES), min_size=1, max_size=4, unique=True)
percents = st.lists(st.integers(1, 400).map(lambda n: n / 100), min_size=4, max_size=4)


def spoken(formula: Formula, place: str) -> list[tuple[str, str, str]]:
    """Everything that depends on substances alone: severity, sentence, source."""
    materials = Materials.of(formula, LIBRARY)
    contents = Contents.of(formula, materials)
    found: list[Finding | None] = [*compatibility_findings(contents), *low_risk_findings(contents, 4.0)]
    found += ph_findings(contents, 4.0, limits(place))
    needed = requirements(formula, materials, limits(place))
    found += [requirement.finding(flat_percents(formula)) for requirement in needed]
    return sorted((each.severity, each.sentence, each.source) for each in found if each)


def formula_of(lines: list[Line], *materials: Stock | Ingredient) -> Formula:
    return Formula("Trial", (Phase("Water layer", "water", (Line("Aqua", "q.s."), *lines)),), materials=materials)


@given(chosen, percents, st.sampled_from(["eu", "us"]))
def test_pure_or_as_a_stock_or_in_a_blend_is_all_the_same(names: list[str], amounts: list[float], place: str) -> None:
    pairs = list(zip(names, amounts, strict=False))
    pure = formula_of([Line(name, repr(amount)) for name, amount in pairs])
    stocks = [Stock(f"{name} stock", {name: 50.0, "Aqua": 50.0}, active=name) for name in names]
    from_stocks = formula_of([Line(f"{name} stock", repr(2 * amount)) for name, amount in pairs], *stocks)
    whole = sum(amount for _, amount in pairs)
    parts = {name: 100 * amount / whole for name, amount in pairs}
    blend = Ingredient("Tern Lane blend", composition=parts, own=True)
    from_blend = formula_of([Line(blend.inci, repr(whole))], blend)
    assert [each[:2] for each in spoken(from_stocks, place)] == [each[:2] for each in spoken(pure, place)]
    assert _rounded(spoken(from_blend, place)) == _rounded(spoken(pure, place))


def _rounded(found: list[tuple[str, str, str]]) -> list[tuple[str, ...]]:
    """Without numbers and the order of words: last digits and the order in which names are listed may differ."""

    def words(sentence: str) -> str:
        return " ".join(sorted(word.strip(".,;:") for word in sentence.split() if not word[0].isdigit()))

    return sorted((severity, words(sentence), source) for severity, sentence, source in found)


@pytest.mark.parametrize("kind", ["leave-on", "rinse-off"])
def test_a_stock_of_a_stock_breaks_the_limit_at_the_same_level(kind: ProductKind) -> None:
    """0.6 % sodium benzoate is 0.5085 % benzoic acid: over 0.5 % in leave-on (Annex V, entry 1)."""
    strong = Stock("Benzoate 50 %", {"Sodium Benzoate": 50.0, "Aqua": 50.0})
    weak = Stock("Benzoate 25 %", {"Benzoate 50 %": 50.0, "Aqua": 50.0})
    formula = replace(
        formula_of([Line("Benzoate 25 %", "2.4")], strong, weak), description=Description(product_kind=kind)
    )
    found = [f for f in spoken(formula, "eu") if f[0] == "stop"]
    assert len(found) == (kind == "leave-on")


@pytest.mark.parametrize("name", ["sodium benzoate", "SODIUM  Benzoate", "Sodium-Benzoate"])
def test_a_name_written_otherwise_meets_the_same_limit(name: str) -> None:
    for formula in (
        formula_of([Line(name, "0.7")]),
        formula_of([Line("b", "1")], Ingredient("b", composition={name: 100.0})),
    ):
        assert [f for f in spoken(formula, "eu") if f[0] == "stop"]


def test_a_regulated_name_that_the_library_has_not_meets_its_limit() -> None:
    """Annex V, entry 2: propionic acid and its salts, 2 % as acid; 2.5 % calcium propionate is 1.989 %."""
    assert spoken(formula_of([Line("Calcium Propionate", "2.5")]), "eu") == []
    ((severity, sentence, _),) = spoken(formula_of([Line("calcium propionate", "2.6")]), "eu")
    assert severity == "stop"
    assert sentence.startswith("calcium propionate, counted as Propionic Acid, comes to 2.069 %; the limit is 2 %.")
