"""The tables of preservatives and partition coefficients: sound in themselves and with the other tables."""

from __future__ import annotations

import datetime as dt

from kit.layers.preservatives import known_preservatives, published_partition, salts
from kit.library.library import Library
from kit.library.sources import is_firm, sources
from kit.library.table import limits
from kit.resources import load_table
from tests.rows import each_of

TABLES = ("preservatives", "partition")
ROWS = load_table("preservatives").rows
LIBRARY = Library.bundled()


@each_of("name", TABLES)
def test_each_table_says_where_it_comes_from(name: str) -> None:
    table = load_table(name)
    for field in ("title", "issuer", "licence", "expected_agreement", "how_made"):
        assert len(table.about[field].strip()) > 5, field
    assert isinstance(table.about["as_of"], dt.date)
    assert {*table.about["units"], *table.about["columns"]} <= set(table.rows[0])
    for row in table.rows:
        assert None not in row, row
        assert None not in row.values(), row


@each_of("row", ROWS, ids=lambda row: row["inci"])
def test_every_figure_has_a_known_source(row: dict[str, str]) -> None:
    for figure, source in (
        ("pka", "pka_source"),
        ("log_p", "log_p_source"),
        ("solubility_g_l", "solubility_source"),
        ("caution", "caution_source"),
    ):
        assert bool(row[figure]) == bool(row[source]), figure
    assert bool(row["ph_low"] or row["ph_high"]) == bool(row["ph_source"])
    assert bool(row["solubility_g_l"]) == bool(row["solubility_celsius"])
    assert bool(row["caution"]) == bool(row["severity"])
    for column, text in row.items():
        if column.endswith("_source") and text:
            assert text in sources(), (column, text)


def test_every_preservative_of_the_library_has_a_row_and_no_other() -> None:
    single = {each.inci for each in LIBRARY if "preservative" in each.roles and not each.composition}
    assert {row["inci"] for row in ROWS} == single


def test_salts_are_counted_as_acids_that_are_there_and_lighter() -> None:
    assert salts() == {
        "Sodium Benzoate": "Benzoic Acid",
        "Potassium Sorbate": "Sorbic Acid",
        "Sodium Dehydroacetate": "Dehydroacetic Acid",
        "Sodium Salicylate": "Salicylic Acid",
    }
    for salt, acid in salts().items():
        assert known_preservatives()[acid].form == "acid"
        heavy, light = LIBRARY.get(salt), LIBRARY.get(acid)
        assert heavy is not None
        assert light is not None
        assert heavy.molar_mass is not None
        assert light.molar_mass is not None
        cation = heavy.molar_mass.value - light.molar_mass.value
        # sodium 22.99 or potassium 39.10 in place of hydrogen 1.008 g/mol
        assert min(abs(cation - 21.98), abs(cation - 38.09)) < 0.02


@each_of("known", known_preservatives().values(), ids=lambda known: known.inci)
def test_figures_are_believable(known: object) -> None:
    about = known_preservatives()[known.inci]  # type: ignore[attr-defined]
    assert about.form in ("acid", "neutral")
    assert about.pka is None or (about.form == "acid" and 2 < about.pka.value < 9)
    assert about.log_p is None or -1 < about.log_p.value < 5
    assert about.solubility is None or 0.1 < about.solubility.value < 50
    assert (about.ph_low or 0) < (about.ph_high or 14)
    assert not any(word in f"{about.caution} {about.note}".casefold() for word in ("is safe", "preserved"))


def test_one_fact_has_one_value() -> None:
    """The pKa of a preservative is the one by which a pH is computed, where that table has it."""
    acids = {row["name"]: row["pka"] for row in load_table("acids").rows}
    both = {name: known for name, known in known_preservatives().items() if name in acids}
    assert set(both) >= {"Benzoic Acid", "Sorbic Acid", "Salicylic Acid"}
    for name, known in both.items():
        assert known.pka is not None
        assert known.pka.value == float(acids[name]), name


def test_usual_ph_of_organic_acids_and_parabens() -> None:
    """Common practice of the trade: benzoate to 5, sorbate to 5.5, dehydroacetate to 6, salicylate to 4.5."""
    most = {name: known.ph_high for name, known in known_preservatives().items()}
    assert [most[f"{acid} Acid"] for acid in ("Benzoic", "Sorbic", "Dehydroacetic", "Salicylic")] == [5, 5.5, 6, 4.5]
    assert {most[name] for name in most if name.endswith("paraben")} == {8}


def test_only_the_releasers_speak_of_formaldehyde() -> None:
    releasers = {name for name, known in known_preservatives().items() if "formaldehyde" in known.caution}
    assert releasers == {
        "Diazolidinyl Urea",
        "Imidazolidinyl Urea",
        "DMDM Hydantoin",
        "2-Bromo-2-Nitropropane-1,3-Diol",
        "Sodium Hydroxymethylglycinate",
    }
    assert all(is_firm(known_preservatives()[name].caution_source) for name in releasers)


def test_partition_coefficients_are_published_and_their_oils_are_named_as_in_the_library() -> None:
    for row in published_partition():
        assert is_firm(row.source)
        assert row.k > 0
        assert row.oil
        if row.preservative in known_preservatives() and row.oil != "arachis oil":
            assert LIBRARY.get(row.oil_inci) is not None, row.oil_inci
        assert row.preservative in known_preservatives() or "not an ingredient" in row.note


def test_no_solubility_is_below_what_a_legal_limit_takes_for_granted() -> None:
    """A neutral preservative at its legal most must dissolve in water alone, or its source is in doubt."""
    for limit in limits():
        for name in limit.substances:
            about = known_preservatives().get(name)
            if about and about.form == "neutral" and about.solubility and limit.max_percent:
                assert 10 * limit.max_percent <= 1.5 * about.solubility.value, name
