"""What travels with the kit, the invented products, and the ground floor: errors and findings."""

from __future__ import annotations

import pytest

from kit import errors
from kit.demos import demo, demo_names
from kit.errors import Fault, FileFaultsError, KitError, StoreError, UnknownNameError
from kit.findings import SEVERITIES, Finding, Place, worst_first
from kit.formula.checks import check
from kit.formula.expansion import Materials, expand
from kit.library.library import Library
from kit.library.table import limits
from kit.resources import PACKAGE, load_table, resource_folder


def test_the_folders_lie_beside_the_package_or_in_it() -> None:
    assert resource_folder("data").parent in (PACKAGE, PACKAGE.parent)
    with pytest.raises(
        StoreError, match=r"The folder 'dat' that belongs to the kit is missing. Install the kit again."
    ):
        resource_folder("dat")


@pytest.mark.parametrize("name", ["ingredients", "limits-eu", "cautions", "bottles", "sources"])
def test_a_table_comes_with_its_rows_and_its_source(name: str) -> None:
    table = load_table(name)
    assert table.name == name
    assert len(table.rows) > 1
    assert {"title", "licence"} <= set(table.about)
    assert all(None not in row and None not in row.values() for row in table.rows), (
        "a row has too many or too few cells"
    )


@pytest.mark.parametrize("name", demo_names())
def test_a_demo_is_complete_breaks_nothing_and_says_that_it_is_invented(name: str) -> None:
    formula = demo(name)
    materials = Materials.of(formula, Library.bundled())
    assert formula.is_complete
    assert "nvented" in formula.note
    assert [str(f) for f in check(formula, materials, limits()) if f.severity == "stop"] == []
    assert sum(expand(formula, materials).values()) == pytest.approx(100, rel=1e-9)
    assert all(materials.get(line.material) for *_, line, _ in formula.each_line())


def test_the_demo_without_a_name_is_the_body_shake() -> None:
    assert demo().title == "After-swim body shake"
    assert "after_swim_body_shake" in demo_names()


def test_an_unknown_demo_is_answered_with_the_known_ones() -> None:
    words = r"There is no demo formula 'bath'\. Write one of .*after_swim_body_shake"
    with pytest.raises(UnknownNameError, match=words):
        demo("bath")


def test_every_error_for_the_maker_has_one_base() -> None:
    kinds = [kind for kind in vars(errors).values() if isinstance(kind, type) and issubclass(kind, Exception)]
    assert len(kinds) >= 8
    assert all(issubclass(kind, KitError) and issubclass(kind, ValueError) for kind in kinds)


def test_faults_are_told_all_at_once_with_their_number() -> None:
    one = FileFaultsError("a.toml", [Fault("line 3, layer", "it is blue")])
    two = FileFaultsError("a.toml", (Fault(f"line {n}", "no") for n in (1, 2)))
    assert str(one) == "a.toml has 1 fault; nothing was changed.\n- line 3, layer: it is blue"
    assert str(two) == "a.toml has 2 faults; nothing was changed.\n- line 1: no\n- line 2: no"
    assert two.name == "a.toml"
    assert [fault.where for fault in two.faults] == ["line 1", "line 2"]


def test_findings_stand_worst_first_and_otherwise_as_they_came() -> None:
    mixed = [Finding("note", "a"), Finding("stop", "b"), Finding("caution", "c"), Finding("stop", "d")]
    assert [f.sentence for f in worst_first(mixed)] == ["b", "d", "c", "a"]
    assert SEVERITIES == ("stop", "caution", "note")
    assert Finding("note", "a").place == Place(None, None, "")


def test_a_finding_prints_its_source_if_it_has_one() -> None:
    assert str(Finding("stop", "Too much.", source="a law")) == "stop: Too much. [a law]"
    assert str(Finding("note", "Fine.")) == "note: Fine."
