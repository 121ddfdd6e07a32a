"""The description of a product, and the conditions that read it."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.errors import EntryError
from kit.library.condition import read_condition
from kit.library.description import AXES, NOTHING_SAID, USED_ON, Description, product_types

SHAMPOO = Description("rinse-off", "anti-dandruff shampoo", users=("adults",))


@pytest.mark.parametrize(
    ("text", "description", "holds"),
    [
        ("", NOTHING_SAID, True),
        ("leave-on", NOTHING_SAID, True),
        ("rinse-off", NOTHING_SAID, False),
        ("face", NOTHING_SAID, None),
        ("face", Description(used_on=("face", "hands")), True),
        ("face | hands", Description(used_on=("hands",)), True),
        ("outside face | hands", Description(used_on=("face", "hands")), False),
        ("outside face | hands", Description(used_on=("face", "body")), True),
        ("outside face", Description(product_type="face cream"), False),
        ("outside face", Description(product_type="body lotion"), True),
        ("shampoo", SHAMPOO, True),
        ("not shampoo", SHAMPOO, False),
        ("hair", SHAMPOO, True),
        ("scalp", SHAMPOO, None),
        ("face", SHAMPOO, False),
        ("shampoo", NOTHING_SAID, False),
        ("shampoo", Description("rinse-off"), None),
        ("shampoo", Description("rinse-off", used_on=("feet",)), False),
        ("under 3", SHAMPOO, False),
        ("under 3", NOTHING_SAID, None),
        ("not under 3", Description(users=("under 3", "adults")), False),
        ("breathed in", Description(applied="aerosol"), True),
        ("breathed in", Description(applied="loose powder"), True),
        ("breathed in", Description(applied="pump spray"), None),
        ("breathed in", Description(applied="spread"), False),
        ("spray", Description(applied="pump spray"), True),
        ("mucous membrane", Description(used_on=("lips",)), True),
        ("mucous membrane", Description(used_on=("body",)), False),
        ("two layers", Description(layering="emulsified"), False),
        ("leave-on; not body lotion; not under 3", Description(product_type="body lotion"), False),
    ],
)
def test_what_a_condition_says_of_a_product(text: str, description: Description, holds: bool | None) -> None:
    assert read_condition(text).holds(description) is holds


@pytest.mark.parametrize(
    ("text", "asks"),
    [
        ("leave-on; face; not under 3", ("used_on", "users")),
        ("rinse-off; face", ()),
        ("breathed in", ("applied",)),
        ("body lotion", ("product_type",)),
    ],
)
def test_what_it_asks_for_is_what_leaves_it_open(text: str, asks: tuple[str, ...]) -> None:
    assert read_condition(text).asks(NOTHING_SAID) == asks


def test_a_word_that_describes_no_product_is_refused() -> None:
    with pytest.raises(EntryError, match="'elbow' in 'face; elbow' is no word by which a product is described"):
        read_condition("face; elbow")


@pytest.mark.parametrize(
    ("description", "severity", "sentence"),
    [
        (Description("leave-on", "mouth rinse"), "stop", "A mouth rinse is a rinse-off product"),
        (Description("rinse-off", "body lotion"), "stop", "A body lotion is a leave-on product"),
        (Description("leave-on", "hand cream", used_on=("feet",)), "caution", "A hand cream is for hands"),
        (Description(applied="loose powder", layering="two layers"), "stop", "A loose powder has no layers"),
    ],
)
def test_a_description_that_contradicts_itself_is_told(description: Description, severity: str, sentence: str) -> None:
    (found,) = description.contradictions
    assert found.severity == severity
    assert found.sentence.startswith(sentence)
    assert found.sentence.endswith("Mend one of the two.")


def test_every_type_agrees_with_itself_and_lies_on_the_body() -> None:
    for known in product_types().values():
        said: Any = known.product_kind or "leave-on"
        assert Description(said, known.name, known.used_on).contradictions == []
        assert set(known.used_on) <= set(USED_ON)
        assert known.used_on, f"{known.name} is used somewhere"
        for wider in known.lineage[1:]:
            assert product_types()[wider].product_kind in ("", known.product_kind)


CONDITIONS = st.lists(
    st.tuples(
        st.sampled_from(["", "not ", "outside "]),
        st.sampled_from(["used_on", "users", "product_type", "applied", "product_kind"]),
        st.lists(st.integers(0, 50), min_size=1, max_size=3),
    ),
    max_size=3,
)


@given(CONDITIONS, st.sampled_from(["product_type", "used_on", "applied", "users"]), st.data())
def test_telling_more_never_turns_what_was_settled(clauses: list[Any], axis: str, data: st.DataObject) -> None:
    """What holds, or does not, while something is open stays so whatever is told about it."""
    text = "; ".join(
        mark + " | ".join(words[n % len(words)] for n in numbers)
        for mark, about, numbers in clauses
        if (words := [word for word, its in AXES.items() if its == about])
    )
    before = NOTHING_SAID
    ways = before.ways((axis,))
    after = data.draw(st.sampled_from(ways))
    was = read_condition(text).holds(before)
    assert was is None or read_condition(text).holds(after) is was, (text, after)


def test_words_stand_in_one_line() -> None:
    said = replace(SHAMPOO, used_on=("hair", "scalp"), applied="poured", layering="one phase", body_part="after sport")
    assert said.words == "rinse-off anti-dandruff shampoo · hair, scalp · poured · adults · one phase · after sport"
