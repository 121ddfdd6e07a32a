"""A plan of one's own as a file: it comes back as it went, and every fault is named at once."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, given, settings

from kit.errors import FileFaultsError, StoreError
from kit.saving import earlier_saves
from kit.stability.plan import Plan, plans
from kit.stability.plan_files import every_condition, own_plans, read_plan, save_plan
from tests.stability.test_plan import any_plan

if TYPE_CHECKING:
    from pathlib import Path

HEAD = 'key = "mine"\ntitle = "Mine"\n'
PLACE = '[[conditions]]\nkey = "shelf"\nlabel = "Shelf"\ncoldest = 15\nwarmest = 25\n'
DAYS = '[[time_points]]\nlabel = "start"\ndays = 0\n'
PH = '[[attributes]]\nkey = "ph"\nlabel = "pH"\nkind = "number"\n'


def written(folder: Path, text: str) -> Path:
    path = folder / "mine.plan.toml"
    path.write_text(text, encoding="utf-8")
    return path


@pytest.mark.parametrize("key", sorted(plans()))
def test_a_ready_plan_comes_back_as_it_went(tmp_path: Path, key: str) -> None:
    save_plan(tmp_path / "one.plan.toml", plans()[key])
    assert read_plan(tmp_path / "one.plan.toml") == plans()[key]


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(any_plan())
def test_any_plan_comes_back_as_it_went(tmp_path: Path, plan: Plan) -> None:
    save_plan(tmp_path / "any.plan.toml", plan)
    assert read_plan(tmp_path / "any.plan.toml") == plan


def test_a_key_alone_stands_for_the_ready_attribute(tmp_path: Path) -> None:
    plan = read_plan(written(tmp_path, HEAD + 'attributes = ["ph", "mass"]\n' + PLACE + DAYS))
    ready = plans()["home-twelve-weeks"]
    assert plan.attributes == (ready.attribute("ph"), ready.attribute("mass"))
    assert plan.conditions[0].temperature is None


def test_every_fault_is_named_at_once(tmp_path: Path) -> None:
    text = (
        'key = "mine"\ntitle = 5\ncolour = "blue"\n'
        + PLACE.replace("coldest = 15", 'coldest = "cold"').replace("warmest = 25", "warmest = 25\nsize = 3")
        + '[[time_points]]\nlabel = "start"\ndays = 1.5\n[[time_points]]\nlabel = "late"\ndays = -3\n'
        + PH.replace("number", "smell")
    )
    with pytest.raises(FileFaultsError) as caught:
        read_plan(written(tmp_path, text))
    assert [str(fault) for fault in caught.value.faults] == [
        "title: it must be a text in quotation marks, not 5.",
        "colour: a plan has no such entry. Take it out, or look at how it is written.",
        "condition 1: 'size' is not known here.",
        "condition 1: 'coldest' must be a number, not 'cold'.",
        "time point 1: 'days' must be a whole number up to 9999, not 1.5.",
        "time point 2: late: days and grace count from the start and cannot be below 0.",
        "attribute 1: pH: 'smell' is not a kind of attribute. Choose one of number, grade, yes/no, text, colour.",
    ]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (HEAD + DAYS + PH, "conditions: a plan needs at least one condition: write [[conditions]]"),
        (HEAD + "conditions = [3]\n" + DAYS + PH, "condition 1: it must be a table under [[conditions]], not 3."),
        (HEAD + 'attributes = ["taste"]\n' + PLACE + DAYS, "there is no ready 'taste'. Choose one of: appearance"),
        (HEAD + PLACE + DAYS + DAYS + PH, "the time point 'start' is named twice"),
        (HEAD + PLACE + PLACE.replace("shelf", "SHELF") + DAYS + PH, "the condition 'SHELF' is named twice"),
        (HEAD + PLACE + DAYS + PH + 'whole = "yes"\nscale = "a"\n', "'whole' must be true or false, not 'yes'."),
        (HEAD + PLACE + DAYS + PH + 'scale = "a"\n', "'scale' must be a list of texts, not 'a'."),
        (HEAD + PLACE + DAYS + PH + "upper = inf\n", "'upper' must be a number, not inf."),
        (HEAD + PLACE + DAYS + PH + "upper = true\n", "'upper' must be a number, not True."),
        (HEAD + PLACE.replace('label = "Shelf"\n', "") + DAYS + PH, "condition 1: 'label' is missing."),
        ("key = mine", "file: it is not TOML ("),
    ],
)
def test_what_is_wrong_is_said_with_its_place(tmp_path: Path, text: str, words: str) -> None:
    with pytest.raises(FileFaultsError) as caught:
        read_plan(written(tmp_path, text))
    assert words in str(caught.value)
    assert str(caught.value).startswith("mine.plan.toml has ")


def test_a_file_that_is_not_there_or_no_text_is_told(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match=r"gone\.plan\.toml cannot be read"):
        read_plan(tmp_path / "gone.plan.toml")
    (tmp_path / "odd.plan.toml").write_bytes(b"\xff\xfe\x00\x81")
    with pytest.raises(FileFaultsError, match="it is not plain text in UTF-8"):
        read_plan(tmp_path / "odd.plan.toml")


def test_the_plans_of_a_folder_are_found_and_a_faulty_one_is_told(tmp_path: Path) -> None:
    mine = replace(plans()["freeze-thaw"], key="mine", title="Mine")
    save_plan(tmp_path / "mine.plan.toml", mine)
    (tmp_path / "broken.plan.toml").write_text("key = 1", encoding="utf-8")
    (tmp_path / "formula.toml").write_text("title = 'no plan'", encoding="utf-8")
    found, troubles = own_plans(tmp_path)
    assert found == {"mine": mine}
    assert [trouble.splitlines()[0] for trouble in troubles] == ["broken.plan.toml has 4 faults; nothing was changed."]


def test_saving_keeps_the_plan_before(tmp_path: Path) -> None:
    first, second = plans()["freeze-thaw"], plans()["centrifuge"]
    save_plan(tmp_path / "mine.plan.toml", first)
    save_plan(tmp_path / "mine.plan.toml", second)
    assert read_plan(tmp_path / "mine.plan.toml") == second
    assert read_plan(earlier_saves(tmp_path / "mine.plan.toml")[0].path) == first


def test_every_ready_place_can_be_chosen() -> None:
    assert {"fridge", "warm_box_45", "window_wrapped", "lamp", "c40", "cycled", "spun"} <= set(every_condition())
