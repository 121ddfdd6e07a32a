"""Preservatives between oil and water, and the undissociated part of acids, as printed; misprints are named."""

from __future__ import annotations

import pytest

from kit.layers.partition import oil_to_water, share_out, undissociated_fraction, water_level
from kit.layers.preservatives import known_preservatives, published_partition

RATIOS_1965 = (0.2, 1.0, 2.5, 5.0, 10.0)
RATIOS_1972 = (0.11, 0.25, 0.43, 0.66, 1.00)


@pytest.mark.parametrize(("ratio", "printed"), list(zip(RATIOS_1965, (0.474, 0.750, 1.199, 1.799, 2.636), strict=True)))
def test_phenol_in_the_water(ratio: float, printed: float) -> None:
    """Bean and others, J. Soc. Cosmet. Chem. 16 (1965), no. 1, p. 18, table II: 0.4 %, liquid paraffin, K 0.067."""
    assert water_level(0.4, ratio, 0.067) == pytest.approx(printed, rel=0.002)


@pytest.mark.parametrize(("ratio", "printed"), list(zip(RATIOS_1965, (0.031, 0.050, 0.080, None, 0.176), strict=True)))
def test_phenol_in_the_oil(ratio: float, printed: float | None) -> None:
    """The same table. The fourth entry is printed as 0.080, a misprint: 0.067 x 1.799 (same table) is 0.1205."""
    found = share_out(0.4 * (1 + ratio), 100, 100 * ratio, 0.067).oil
    if printed is None:
        assert found == pytest.approx(0.067 * 1.799, rel=0.002)
        assert found > 1.4 * 0.080
    else:
        assert found == pytest.approx(printed, rel=0.03)


@pytest.mark.parametrize("ratio", RATIOS_1965)
def test_a_preservative_with_k_of_1(ratio: float) -> None:
    """The same table: 1.000 % in oil and water at every ratio."""
    shares = share_out(1.0 + ratio, 100, 100 * ratio, 1.0)
    assert (shares.water, shares.oil) == pytest.approx((1.0, 1.0), rel=1e-15)


@pytest.mark.parametrize(
    ("ratio", "oil", "water"),
    list(zip(RATIOS_1965, (22.96, 7.93, 5.60, 4.79, 4.40), (0.197, 0.068, 0.048, 0.0411, 0.038), strict=True)),
)
def test_chlorocresol_in_arachis_oil(ratio: float, oil: float, water: float) -> None:
    """The same table: 4.0 %, K 116.7. The last figures are cut, not rounded, in places: within 1 %."""
    shares = share_out(4.0 * (1 + ratio), 100, 100 * ratio, 116.7)
    assert shares.water == pytest.approx(water, rel=0.01)
    assert shares.oil == pytest.approx(oil, rel=0.005)


@pytest.mark.parametrize(("ratio", "printed"), list(zip(RATIOS_1972, (0.11, 0.12, 0.14, 0.16, 0.20), strict=True)))
def test_methylparaben_in_liquid_paraffin(ratio: float, printed: float) -> None:
    """Bean, J. Soc. Cosmet. Chem. 23 (1972) 716, table VIII: 0.1 %, K 0.02."""
    assert water_level(0.1, ratio, 0.02) == pytest.approx(printed, abs=0.005)


@pytest.mark.parametrize(("ratio", "printed"), list(zip(RATIOS_1972, (0.22, 0.24, 0.24, 0.24, 0.24), strict=True)))
def test_methylparaben_up_to_saturation(ratio: float, printed: float) -> None:
    """The same table: 0.2 %, and the text: water is saturated at 0.24 % w/v, that is 2.4 g/L."""
    shares = share_out(0.2 * (1 + ratio), 100, 100 * ratio, 0.02, solubility=2.4)
    assert shares.water == pytest.approx(printed, abs=0.005)
    assert shares.is_saturated == (ratio > 0.2)


def test_the_soya_oil_row_and_its_two_slips() -> None:
    """The same table, 0.2 % "methylparaben" in soya oil, K 80: printed 0.027, 0.012, 0.008, 0.006, 0.005.

    Two slips: K 80 is propylparaben's in table VII, methylparaben has 7.5; and the first entry does not follow from
    K 80 (0.0227). The last four do.
    """
    found = [water_level(0.2, ratio, 80) for ratio in RATIOS_1972]
    assert found[1:] == pytest.approx([0.012, 0.008, 0.006, 0.005], abs=0.0005)
    assert found[0] == pytest.approx(0.0227, abs=0.00005)
    printed = {(row.preservative, row.oil): row.k for row in published_partition()}
    assert printed["Propylparaben", "soya oil"] == 80
    assert printed["Methylparaben", "soya oil"] == 7.5


def test_the_paper_rounds_its_ratios() -> None:
    """The same table heads its columns 10 to 50 % of oil and 0.11 to 1.00: the fraction is not the ratio."""
    found = [oil_to_water(percent / 100) for percent in (10, 20, 30, 40, 50)]
    assert found == pytest.approx(RATIOS_1972, abs=0.0067)  # 0.66 stands for 0.6667


def test_the_table_of_partition_coefficients() -> None:
    """Table VII of 1972 and table I of 1965, at 25 °C; the text gives the range, 280 / 0.02 = 14 000."""
    printed = {(row.preservative, row.oil): (row.k, row.celsius) for row in published_partition()}
    assert printed == {
        ("Methylparaben", "liquid paraffin"): (0.02, 25),
        ("Methylparaben", "soya oil"): (7.5, 25),
        ("Propylparaben", "liquid paraffin"): (0.50, 25),
        ("Propylparaben", "soya oil"): (80, 25),
        ("Butylparaben", "liquid paraffin"): (3.0, 25),
        ("Butylparaben", "soya oil"): (280, 25),
        ("Phenol", "liquid paraffin"): (0.067, 25),
        ("Phenol", "arachis oil"): (5.6, 25),
        ("Chlorocresol", "liquid paraffin"): (1.53, 25),
        ("Chlorocresol", "arachis oil"): (116.7, 25),
    }
    ks = [k for (name, _), (k, _) in printed.items() if name.endswith("paraben")]
    assert max(ks) / min(ks) == pytest.approx(14000)


def test_two_equal_volumes() -> None:
    """A chemistry teaching page: 5.00 g, 50 mL and 50 mL, K 7.5: 4.41 g pass over, 0.59 g stay."""
    shares = share_out(5.00, 50, 50, 7.5)
    assert shares.oil * 50 / 100 == pytest.approx(4.41, abs=0.005)
    assert shares.water * 50 / 100 == pytest.approx(0.59, abs=0.005)


@pytest.mark.parametrize(
    ("inci", "log_p"),
    [
        ("Phenoxyethanol", 1.16),
        ("Benzyl Alcohol", 1.10),
        ("Methylparaben", 1.96),
        ("Ethylparaben", 2.47),
        ("Propylparaben", 3.04),
        ("Butylparaben", 3.57),
        ("Benzoic Acid", 1.87),
        ("Sorbic Acid", 1.33),
        ("Salicylic Acid", 2.26),
    ],
)
def test_octanol_and_water(inci: str, log_p: float) -> None:
    """Syracuse Research table of log P, as shipped with the library chemicals 1.5.2."""
    known = known_preservatives()[inci].log_p
    assert known is not None
    assert (known.value, known.source) == (log_p, "syracuse-log-p")


def test_the_pka_of_the_two_acids_most_used() -> None:
    """Benzoic acid: 4.210 in water at 25 °C (open article PMC6624721, table 1). Sorbic: 4.76 (encyclopedia)."""
    benzoic, sorbic = (known_preservatives()[name].pka for name in ("Benzoic Acid", "Sorbic Acid"))
    assert benzoic is not None
    assert benzoic.value == pytest.approx(4.210, abs=0.005)
    assert sorbic is not None
    assert sorbic.value == pytest.approx(4.76, abs=0.02)


@pytest.mark.parametrize(
    ("ph", "percent", "food_texts"),
    [(3, 94.07, 94), (4, 61.31, 60), (5, 13.68, 13), (6, 1.56, 1.5), (7, 0.158, 0.15)],
)
def test_undissociated_benzoic_acid(ph: float, percent: float, food_texts: float) -> None:
    """Henderson-Hasselbalch with pKa 4.20; the rounded figures of food texts are from memory, within 6 %."""
    found = 100 * undissociated_fraction(ph, 4.20)
    assert found == pytest.approx(percent, abs=0.01 if percent > 1 else 0.0005)
    assert found == pytest.approx(food_texts, rel=0.06)


def test_half_at_the_pka() -> None:
    """A brewing wiki states it with the same formula: at pH 4.2, its pKa, half of benzoic acid is undissociated."""
    assert undissociated_fraction(4.2, 4.2) == 0.5


def test_weak_acids_of_a_textbook() -> None:
    """OpenStax, Chemistry 2e, example 14.7 and its self-check: 6.5 % ionised at pH 2.09, 1.3 % at pH 2.89.

    The share follows from the pKa that 10^-pH / C gives: Ka = x² / (C - x) with x = 10^-pH.
    """
    import math

    for molar, ph, percent in ((0.125, 2.09, 6.5), (0.10, 2.89, 1.3)):
        ions = 10**-ph
        pka = -math.log10(ions**2 / (molar - ions))
        assert 100 * (1 - undissociated_fraction(ph, pka)) == pytest.approx(percent, abs=0.05)


def test_undissociated_at_half_inhibition() -> None:
    """Anderson and Chow, J. Soc. Cosmet. Chem. 18 (1967) 211, table IV, pKa 4.2: 0.055 % at pH 4.2 is 0.027 %.

    At pH 5.2 the table has 0.019 % of 0.190 %: one tenth, where the equation gives one eleventh, 0.0173 %.
    """
    assert 0.055 * undissociated_fraction(4.2, 4.2) == pytest.approx(0.027, abs=0.00051)
    assert 0.190 * undissociated_fraction(5.2, 4.2) == pytest.approx(0.190 / 11, rel=1e-12)
    printed = 0.019
    assert printed == pytest.approx(0.190 / 10)


def test_other_acids_at_the_usual_ph() -> None:
    """100 / (1 + 10^(pH - pKa)) by plain arithmetic: dehydroacetic acid, pKa 5.30 (from memory), pH 3.5 to 6."""
    found = [100 * undissociated_fraction(ph, 5.30) for ph in (3.5, 4.0, 4.5, 5.0, 5.5, 6.0)]
    assert found == pytest.approx([98.4, 95.2, 86.3, 66.6, 38.7, 16.6], abs=0.05)
