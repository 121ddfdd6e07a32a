"""What the tests of this room make their formulas from."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from hypothesis import strategies as st

from kit.formula.checks import check
from kit.formula.expansion import Materials
from kit.formula.model import HOLDS, Formula, Line, Phase, PhReading, Rule
from kit.library.description import APPLIED, LAYERING, PRODUCT_KINDS, USED_ON, USERS, Description, product_types
from kit.library.ingredient import PHASE_KINDS, Figure, Ingredient, Stock
from kit.library.library import Library
from kit.library.sources import OWN
from kit.library.table import limits

if TYPE_CHECKING:
    from kit.findings import Finding
    from kit.library.description import ProductKind

LIBRARY = Library.bundled()
NAMES = sorted(each.inci for each in LIBRARY)
LIMITS = {limit.key: limit for limit in limits()}

#: Text that somebody may type or paste: no bare surrogates, which are no text at all.
TEXT = st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=12)
TITLES = TEXT.map(lambda text: text.strip() or "Shake")


def water_and(*lines: tuple[str, str], kind: ProductKind = "leave-on", **more: Any) -> Formula:
    """One water phase: Aqua q.s. and these lines."""
    phase = Phase("Water layer", "water", (Line("Aqua", "q.s."), *(Line(*line) for line in lines)))
    return Formula("Toner", (phase,), description=Description(product_kind=kind), **more)


def findings(formula: Formula, which: str = "") -> list[Finding]:
    """What the kit says about a formula; with ``which`` only sentences that hold it."""
    found = check(formula, Materials.of(formula, LIBRARY), LIMITS.values())
    return [finding for finding in found if which in finding.sentence]


def lines(
    materials: st.SearchStrategy[str], entries: st.SearchStrategy[str], notes: bool = True
) -> st.SearchStrategy[Line]:
    """Lines with these names and amounts."""
    return st.builds(Line, materials, entries, st.sampled_from(list(HOLDS)), TEXT if notes else st.just(""))


@st.composite
def shares(draw: st.DrawFn, names: list[str]) -> dict[str, float]:
    """A composition of some of these names that adds to 100."""
    chosen = draw(st.lists(st.sampled_from(names), min_size=1, max_size=4, unique=True))
    parts = [draw(st.integers(1, 50)) for _ in chosen]
    values = [round(100 * part / sum(parts), 3) for part in parts[:-1]]
    return dict(zip(chosen, [*values, 100 - sum(values)], strict=True))


DESCRIPTIONS = st.builds(
    Description,
    product_kind=st.sampled_from(PRODUCT_KINDS),
    product_type=st.sampled_from(["", *product_types()]),
    used_on=st.lists(st.sampled_from(USED_ON), unique=True, max_size=3).map(tuple),
    applied=st.sampled_from(["", *APPLIED]),
    users=st.lists(st.sampled_from(USERS), unique=True, max_size=2).map(tuple),
    layering=st.sampled_from(["", *LAYERING]),
    body_part=TEXT,
)
STOCKS = st.builds(
    Stock,
    name=TITLES.map(lambda text: f"{text} stock"),
    contents=shares(NAMES),
    active=st.sampled_from(["", *NAMES]),
    strength=st.none() | st.floats(0, 100),
    basis=st.sampled_from(["w/w", "w/v", "v/v"]),
    density=st.none() | st.floats(0.5, 2).map(lambda value: Figure(value, OWN)),
    phase=st.sampled_from(PHASE_KINDS),
    made_on=st.sampled_from(["", "2026-03-01"]),
    keep_until=st.sampled_from(["", "2026-06-01"]),
    note=TEXT,
)
OWN_INGREDIENTS = st.builds(
    Ingredient,
    inci=TITLES.map(lambda text: f"My {text}".strip()),
    plain_name=TEXT,
    roles=st.lists(st.sampled_from(["emollient", "preservative", "solvent"]), unique=True).map(tuple),
    phase=st.sampled_from(PHASE_KINDS),
    charge=st.sampled_from(["", "nonionic"]),
    density=st.none() | st.floats(0.5, 2).map(lambda value: Figure(value, OWN)),
    composition=st.just({}) | shares(NAMES),
    facts_source=st.just(OWN),
    note=TEXT,
    own=st.just(True),
)
RULES = st.builds(
    Rule,
    material=st.sampled_from(NAMES) | TEXT,
    low=st.none() | st.floats(0, 10),
    high=st.floats(10, 100),
    of=st.sampled_from(["whole", *PHASE_KINDS]),
    reason=TEXT,
)

#: Amounts as somebody types them, from sound to half-typed.
ENTRIES = st.one_of(
    st.sampled_from(["", "q.s.", "3,5 %", "800 ppm", "12 g", "-2", "150", "1e9", "5 mL", "10 % w/v", "q.s. to", "0 g"]),
    st.floats(0, 100).map(repr),
    TEXT,
)


def formulas(entries: st.SearchStrategy[str] = ENTRIES, *, least: int = 0) -> st.SearchStrategy[Formula]:
    """Formulas at any stage of being typed, with everything that can travel with one."""
    phases = st.lists(
        st.builds(
            Phase,
            TITLES,
            st.sampled_from(PHASE_KINDS),
            st.lists(lines(st.sampled_from(NAMES) | TEXT, entries), min_size=least, max_size=4).map(tuple),
        ),
        min_size=least,
        max_size=3,
        unique_by=lambda phase: phase.name,
    )
    return st.builds(
        Formula,
        title=TITLES,
        phases=phases.map(tuple),
        version=st.integers(1, 99),
        description=DESCRIPTIONS,
        written_for=st.none() | st.floats(0.1, 1e6),
        materials=st.tuples(st.lists(STOCKS, max_size=1), st.lists(OWN_INGREDIENTS, max_size=1)).map(
            lambda both: (*both[0], *both[1])
        ),
        rules=st.lists(RULES, max_size=2).map(tuple),
        steps=st.lists(TITLES, max_size=3).map(tuple),
        note=TEXT,
        change_note=TEXT,
        measured_ph=st.none() | st.builds(PhReading, st.floats(0, 14), st.sampled_from(["", "2026-05-31"])),
    )
