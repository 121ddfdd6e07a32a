"""Required HLB and pairs of emulsifiers."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.blends.hlb import NOT_IN_LAYERS, emulsifier_pair, known_emulsifiers, oils_of, required_hlb
from kit.demos import demo
from kit.errors import KitError, RangeError
from kit.formula.model import Formula, Line, Phase
from kit.library.hlb import hlb_of


def test_published_pairs_and_an_oil_phase() -> None:
    """PMC3969497, table I: for HLB 12, 62.1 % polysorbate 20 beside sorbitan oleate, 53.1 % polysorbate 80 beside
    sorbitan laurate, 77.3 % PEG-35 castor oil beside the laurate, 72.0 % of the hydrogenated oil beside the oleate."""
    for high, low, percent in (
        ("Polysorbate 20", "Sorbitan Oleate", 62.1),
        ("Polysorbate 80", "Sorbitan Laurate", 53.1),
        ("PEG-35 Castor Oil", "Sorbitan Laurate", 77.3),
        ("PEG-40 Hydrogenated Castor Oil", "Sorbitan Oleate", 72.0),
    ):
        assert round(emulsifier_pair(12, high, low).first_share, 1) == percent
        assert round(emulsifier_pair(12, low, high).second_share, 1) == percent
    assert emulsifier_pair(12, "Polysorbate 20", "Sorbitan Oleate").sentence == (
        "62.1 parts of Polysorbate 20 (HLB 16.7) with 37.9 parts of Sorbitan Oleate (HLB 4.3) have HLB 12."
    )
    # Griffin (1949) as pharmacy textbooks print it (from memory): 70 parts of HLB 15 with 30 of 4.3 have 11.8.
    assert emulsifier_pair(11.79, "a", "b", {"A": 15, "B": 4.3}).first_share == pytest.approx(70)
    # The exercise of pharmacy textbooks (from memory): liquid paraffin 35 (12), wool fat 1 (10), cetyl alcohol 1 (15).
    own = {"liquid paraffin": 12, "wool fat": 10, "cetyl alcohol": 15}
    found = required_hlb({"liquid paraffin": 35, "wool fat": 1, "cetyl alcohol": 1}, own=own)
    assert round(found.value, 1) == 12.0


@given(
    st.dictionaries(st.sampled_from(["a", "b", "c", "d"]), st.floats(0.1, 50), min_size=1), st.floats(0.1, 100),
    st.floats(0, 20), st.floats(0, 20), st.floats(0, 20),
)  # fmt: skip
def test_a_blend_lies_between_its_parts(
    oils: dict[str, float], scale: float, first: float, second: float, wanted: float
) -> None:
    own = {"a": 4.0, "b": 9.0, "c": 12.0, "d": 16.0}
    found = required_hlb(oils, own=own)
    assert min(own[name] for name in oils) - 1e-9 <= found.value <= max(own[name] for name in oils) + 1e-9
    assert required_hlb({name: grams * scale for name, grams in oils.items()}, own=own).value == pytest.approx(
        found.value
    )
    try:
        pair = emulsifier_pair(wanted, "x", "y", {"x": first, "y": second})
    except RangeError:
        assert abs(first - second) < 0.1 or not min(first, second) <= wanted <= max(first, second)
        return
    assert (pair.first_share * first + pair.second_share * second) / 100 == pytest.approx(wanted, abs=1e-9)
    assert 0 <= pair.first_share <= 100


def test_what_is_not_known_is_said_and_what_lies_outside_is_refused() -> None:
    found = required_hlb({"Squalane": 30, "Isoamyl Laurate": 70})
    assert found.value == 11
    assert (
        "No required HLB for oil in water is known of Isoamyl Laurate (70 % of the oil phase)"
        in found.findings[0].sentence
    )
    assert NOT_IN_LAYERS in [finding.sentence for finding in found.findings]
    assert NOT_IN_LAYERS in [
        finding.sentence for finding in emulsifier_pair(12, "Polysorbate 20", "Sorbitan Oleate").findings
    ]
    beyond = emulsifier_pair(15, "Poloxamer 407", "Sorbitan Oleate")
    assert any("beyond Griffin's scale" in finding.sentence for finding in beyond.findings)
    for work, words in (
        (
            lambda: emulsifier_pair(17, "Polysorbate 80", "Sorbitan Oleate"),
            "lies outside this pair.*emulsifier above 17",
        ),
        (lambda: emulsifier_pair(2, "Polysorbate 80", "Sorbitan Oleate"), "emulsifier below 2"),
        (lambda: emulsifier_pair(12, "Polysorbate 80", "Polysorbate 80"), "blending them changes nothing"),
        (lambda: emulsifier_pair(12, "Squalane", "Polysorbate 80"), "No HLB is known of Squalane"),
        (lambda: emulsifier_pair(12, "a", "b", {"a": 25, "b": 3}), "beyond Griffin's scale"),
        (lambda: required_hlb({}), "no oil in the oil phase"),
        (lambda: required_hlb({"Isoamyl Laurate": 5}), "is known of Isoamyl Laurate"),
    ):
        with pytest.raises(KitError, match=words):
            work()


def test_oils_of_a_formula_are_those_of_its_oil_phases() -> None:
    lines = (Line("Squalane", "10"), Line("Polysorbate 80", "2"), Line("Lanolin", "3"), Line("Squalane", "1"))
    cream = Formula("Cream", (Phase("Water", "water", (Line("Aqua", "q.s."),)), Phase("Oils", "oil", lines)))
    assert oils_of(cream) == {"Squalane": 11.0, "Lanolin": 3.0}
    assert "Aqua" not in oils_of(demo())


def test_at_the_hlb_of_one_of_the_two_it_is_that_one_alone() -> None:
    hlb = {name: next(f.value for f in hlb_of(name) if f.kind == "emulsifier") for name in known_emulsifiers()}
    pairs = [(a, b) for a in hlb for b in hlb if abs(hlb[a] - hlb[b]) > 0.5]
    assert len(pairs) > 1000
    shares = {(emulsifier_pair(hlb[a], a, b).first_share, emulsifier_pair(hlb[b], a, b).first_share) for a, b in pairs}
    assert shares == {(100.0, 0.0)}  # to the last digit, or the words would tell of -1.4e-14 parts of the other


def test_an_oil_asks_for_another_hlb_in_the_other_emulsion() -> None:
    """Lanolin, beeswax and liquid paraffin ask for 10, 12 and 10 in o/w and for 8, 5 and 5 in w/o (textbook lists, from
    memory; the paraffin in o/w is Griffin's); as an emulsifier of w/o lanolin itself has HLB 4.
    """
    oils = {"Lanolin": 20, "Cera Alba": 20, "Paraffinum Liquidum": 60}
    assert required_hlb(oils).value == pytest.approx(0.2 * 10 + 0.2 * 12 + 0.6 * 10)
    other = required_hlb(oils, "w/o")
    assert [oil.hlb for oil in other.oils] == [8, 5, 5]
    assert other.value == pytest.approx(0.2 * 8 + 0.2 * 5 + 0.6 * 5)
    assert other.oils[2].note == "Lists say 4 to 6."
    # a third of the oil phase, 33.3 %
    rest = required_hlb({"Squalane": 20, "Isoamyl Laurate": 10})
    assert dict(rest.unknown) == pytest.approx({"Isoamyl Laurate": 100 / 3})
    assert "Isoamyl Laurate (33.3 % of the oil phase)" in rest.findings[0].sentence


@pytest.mark.parametrize(("hlb", "on_scale"), [(0.0, True), (20.0, True), (-0.1, False), (20.1, False)])
def test_an_own_hlb_lies_on_griffins_scale(hlb: float, on_scale: bool) -> None:
    if on_scale:
        assert required_hlb({"My own oil": 10.0, "Squalane": 0.0}, own={"MY own oil": hlb}).value == hlb
        assert emulsifier_pair(hlb, "Mine", "Sorbitan Oleate", {"mine": hlb}).first_share == 100
    else:
        with pytest.raises(RangeError, match="beyond Griffin's scale"):
            required_hlb({"My own oil": 10.0}, own={"My own oil": hlb})
        with pytest.raises(RangeError, match="beyond Griffin's scale"):
            emulsifier_pair(10, "Mine", "Sorbitan Oleate", {"Mine": hlb})


def test_two_emulsifiers_hardly_apart_are_refused_and_the_side_that_lacks_is_named() -> None:
    with pytest.raises(RangeError, match="blending them changes nothing"):
        emulsifier_pair(10.0, "A", "B", {"A": 10.0, "B": 10.09})
    assert emulsifier_pair(10.05, "A", "B", {"A": 10.0, "B": 10.2}).first_share == pytest.approx(75)
    for wanted, side in ((12.0, "above"), (8.0, "below")):
        with pytest.raises(RangeError, match=f"Choose one emulsifier {side} {wanted:g}"):
            emulsifier_pair(wanted, "A", "B", {"A": 9.0, "B": 11.0})


def test_what_an_oil_of_unknown_hlb_is_of_the_phase_is_told_in_percent_of_all_oils() -> None:
    found = required_hlb({"Mystery oil": 10.0, "Squalane": 20.0, "Isopropyl Myristate": 10.0}, own={"Squalane": 12.0})
    assert found.unknown == (("Mystery oil", 25.0),)
    shares = {oil.name: oil.share for oil in found.oils}
    assert shares == pytest.approx({"Squalane": 200 / 3, "Isopropyl Myristate": 100 / 3})


@pytest.mark.parametrize(("hlb", "told"), [(0.0, False), (20.0, False), (40.0, True), (-1.0, True)])
def test_a_figure_beyond_griffins_scale_is_told_of_a_pair(hlb: float, told: bool) -> None:
    pair = replace(emulsifier_pair(10.0, "A", "B", {"A": 9.0, "B": 11.0}), second_hlb=hlb)
    said = [one.sentence for one in pair.findings if "beyond Griffin's scale" in one.sentence]
    assert len(said) == told
    assert all(sentence.startswith(f"B has HLB {hlb:g}") for sentence in said)
