"""Cautions about microbes where the layers meet: each with its source and the test that settles it."""

from __future__ import annotations

import pytest

from kit.in_use.meeting_line import meeting_findings, oil_part
from kit.layers.preservation import preservative_levels
from kit.layers.preservation_findings import preservation_findings
from kit.layers.ratio import RatioPath
from tests.in_use.some_products import layered
from tests.present import present

HELD = {"Aqua": "q.s.", "Methylparaben": "0.1"}, {"Paraffinum Liquidum": "40"}


def test_each_caution_has_a_source_and_the_test_to_make() -> None:
    formula, materials = layered({"Aqua": "q.s.", "Phenoxyethanol": "0.8"}, {"Butyl Acetate": "30"})
    found = meeting_findings(formula, materials, 5.5, path=RatioPath.of(formula), ends=(10, 40))
    assert len(found) == 3
    assert all("ISO 11930" in finding.sentence and finding.source for finding in found)
    assert "Butyl Acetate holds 1.4 % of water at 25 °C" in found[0].sentence
    assert "% stand in the oil layer" in found[1].sentence
    assert "10 % of oil layer" in found[2].sentence
    assert "40 % of oil layer" in found[2].sentence
    words = " ".join(finding.sentence for finding in found)
    assert not {"safe", "preserved"} & set(words.lower().split())


def test_nothing_is_said_twice_nor_without_layers() -> None:
    formula, materials = layered(*HELD)
    other = {finding.sentence for finding in preservation_findings(formula, materials, 5.0)}
    assert other.isdisjoint(finding.sentence for finding in meeting_findings(formula, materials, 5.0))
    assert meeting_findings(*layered({"Aqua": "q.s.", "Phenoxyethanol": "0.8"}, {})) == []
    plain = meeting_findings(*layered({"Aqua": "q.s."}, {"Squalane": "30"}))  # no preservative: of the water alone
    assert [finding.sentence[:31] for finding in plain] == ["Water dissolves in the oil layer"[:31]]


def test_what_stands_in_the_oil_follows_from_the_published_k() -> None:
    """K of methylparaben in soya oil 7.5, in liquid paraffin 0.02: H. S. Bean (1972), table VII. With φ the ratio of
    the volumes, K φ / (1 + K φ) stands in the oil.
    """
    for oil, k, told in (("Glycine Soja Oil", 7.5, True), ("Paraffinum Liquidum", 0.02, False)):
        formula, materials = layered(HELD[0], {oil: "40"})
        level = preservative_levels(formula, materials)[0]
        density = present(present(materials.ingredient(oil)).density).value
        phi = k * (40 / density) / (60 / 0.9982)
        assert oil_part(level) == pytest.approx(100 * phi / (1 + phi), rel=0.01)
        said = " ".join(finding.sentence for finding in meeting_findings(formula, materials))
        assert ("stand in the oil layer" in said) == told


@pytest.mark.parametrize(("share", "told"), [(0.199, False), (0.201, True)])
def test_a_preservative_is_worth_a_word_where_a_fifth_of_it_stands_in_the_oil(share: float, told: bool) -> None:
    formula, materials = layered(*HELD)
    level = preservative_levels(formula, materials, None, None, {"Methylparaben": 1.0})[0]
    one = present(oil_part(level)) / 100
    phi = one / (1 - one)  # with K 1 the oil holds φ / (1 + φ); so K = share / (1 - share) / φ
    k = share / (1 - share) / phi
    said = " ".join(f.sentence for f in meeting_findings(formula, materials, None, {"Methylparaben": k}))
    assert ("By the estimate of Methylparaben 20 % stand in the oil layer" in said) == told


def test_a_span_is_told_where_k_is_not_known() -> None:
    formula, materials = layered({"Aqua": "q.s.", "Phenoxyethanol": "0.8"}, {"Squalane": "30"})
    path = RatioPath.of(formula)
    unknown = [f.sentence for f in meeting_findings(formula, materials, 5.5, path=path, ends=(10, 40))]
    assert any(
        " to " in words.split(" % w/v at 10 % of oil layer")[0].split("Phenoxyethanol ")[-1] for words in unknown
    )
    known = meeting_findings(formula, materials, 5.5, {"Phenoxyethanol": 1.0}, path=path, ends=(10, 40))
    ends = next(f.sentence for f in known if "where the window of ratios ends" in f.sentence)
    levels = [
        preservative_levels(formula, materials, end, 5.5, {"Phenoxyethanol": 1.0}, path=path)[0].best.water
        for end in (10, 40)
    ]
    assert (
        f"Phenoxyethanol {levels[0]:.2g} % w/v at 10 % of oil layer and {levels[1]:.2g} % w/v at 40 % of oil layer."
        in ends
    )
    same = meeting_findings(formula, materials, 5.5, {"Phenoxyethanol": 1.0}, path=path, ends=(30, 30))
    assert sum(f.sentence.count("% of oil layer") for f in same if "window" in f.sentence) == 1  # one end, told once
