"""A class is marked from its files: right, which mistake, how many tries, how long; and what does not count is told."""

from __future__ import annotations

import csv
import io
import json
import time
from dataclasses import replace
from typing import TYPE_CHECKING

import openpyxl
import pytest
from PIL import Image

from kit.commands import CLEAN, FAILED, run
from kit.course import (
    HandIn,
    Picture,
    Progress,
    as_class_csv,
    as_class_xlsx,
    check,
    exercise,
    hand_in_text,
    mark_folder,
    picture_to_hand_in,
)
from kit.course.marking import PAUSE
from kit.errors import EntryError
from tests.pace import on_this_machine
from tests.papers.all_papers import written
from tests.papers.reading import Page

if TYPE_CHECKING:
    from pathlib import Path

KEYS = ("01.stock_for_strength", "01.volume_basis_to_mass_basis")
SLIP = exercise(KEYS[1]).task("Bea").mistakes[0]


def progress(name: str, *steps: tuple[str, str, str]) -> Progress:
    """Tries of these exercises at these times: "right", or which usual mistake by its number."""
    made = Progress(name)
    for key, what, at in steps:
        task = exercise(key).task(name)
        answer = task.answer if what == "right" else task.mistakes[int(what)].answer
        made = made.with_try(key, 0, f"{answer:.9f}", check(task, f"{answer:.9f}"), 2, f"2026-04-06T{at}:00Z")
    return made


def hand_in(
    folder: Path, file: str, given: Progress, formulas: dict[str, str] | None = None, *pictures: Picture
) -> None:
    (folder / file).write_text(hand_in_text(HandIn(given, formulas or {}, pictures)), encoding="utf-8")


def picture(name: str, size: tuple[int, int] = (640, 480)) -> Picture:
    """A picture with as much in it as a photo of that size, about 100 kB."""
    noise = Image.effect_noise((size[0] // 4, size[1] // 4), 60).resize(size).convert("RGB")
    written = io.BytesIO()
    noise.save(written, "JPEG", quality=80)
    return picture_to_hand_in(name, written.getvalue())


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Three learners: all right at once; a mistake first; one that was changed by hand."""
    hand_in(tmp_path, "ada.json", progress("Ada", (KEYS[0], "right", "10:00"), (KEYS[1], "right", "10:05")))
    late = progress("Bea", (KEYS[1], "0", "09:00"), (KEYS[1], "0", "09:19"), (KEYS[1], "right", "09:45"))
    hand_in(tmp_path, "bea.json", late, {"mist.toml": "x"})
    forged = progress("Cyd", (KEYS[0], "0", "11:00"))
    hand_in(tmp_path, "cyd.json", replace(forged, tries=(replace(forged.tries[0], result="right", mistakes=()),)))
    return tmp_path


def test_it_is_told_what_is_right_which_mistake_how_many_tries_and_how_long(folder: Path) -> None:
    marked = mark_folder(folder)
    ada, bea, cyd = marked.learners
    assert [(one.name, one.right, one.tries, one.doubts) for one in marked.learners] == [
        ("Ada", 2, 2, 0), ("Bea", 1, 3, 0), ("Cyd", 0, 1, 1),
    ]  # fmt: skip
    # 9:00 to 9:19 is work; the pause to 9:45 is longer than twenty minutes
    assert (ada.minutes, bea.minutes, cyd.minutes) == (5.0, 19.0, 0.0)
    assert PAUSE == 20
    assert [one.formulas for one in marked.learners] == [0, 1, 0]
    first, second = marked.difficulties
    assert (first.key, first.tried, first.right, first.at_once) == (KEYS[0], 2, 1, 1)
    assert (second.key, second.tried, second.right, second.at_once) == (KEYS[1], 2, 2, 1)
    assert second.mistakes == ((SLIP.words, 1),)
    # a learner counts once for a mistake that was made twice; the forged try is checked anew, with its mistake
    assert {one.words: one.learners for one in marked.mistakes}[SLIP.words] == 1
    assert len(marked.mistakes) == 2


def test_what_does_not_count_is_told_with_its_reason_and_the_rest_is_marked(folder: Path) -> None:
    whole = (folder / "ada.json").read_text(encoding="utf-8")
    (folder / "torn.json").write_text(whole[:200], encoding="utf-8")
    (folder / "changed.json").write_text(whole.replace('"Ada"', '"Dov"'), encoding="utf-8")
    (folder / "other.json").write_text('{"a": 1}', encoding="utf-8")
    (folder / "photo.jpg").write_bytes(b"\xff\xd8")
    (folder / "folder.json").mkdir()
    hand_in(folder, "ada_earlier.json", progress(" ADA ", (KEYS[0], "0", "08:00")))
    marked = mark_folder(folder)
    assert [one.name for one in marked.learners] == ["Ada", "Bea", "Cyd"]
    assert [file for file, _ in marked.left_out] == ["ada_earlier.json", "changed.json", "other.json", "torn.json"]
    said = dict(marked.left_out)
    assert said["ada_earlier.json"] == "ada_earlier.json is of  ADA , and ada.json is newer."
    assert "its seal does not fit" in said["changed.json"]
    assert "cannot be read" in said["torn.json"]


def test_a_folder_without_a_hand_in_is_refused(tmp_path: Path) -> None:
    with pytest.raises(EntryError, match="there is no file"):
        mark_folder(tmp_path)
    with pytest.raises(EntryError, match="There is no folder"):
        mark_folder(tmp_path / "nowhere")
    (tmp_path / "other.json").write_text("{}", encoding="utf-8")
    assert run("mark", [str(tmp_path)]) == FAILED
    assert not (tmp_path / "marked").exists()


def test_the_command_writes_a_page_a_workbook_and_a_csv_that_agree(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shots = (picture("../<i>.jpg"), Picture("forged.png", b"GIF89a"))
    hand_in(folder, "eve & co.json", progress("=1+1 <b>&", (KEYS[0], "right", "10:00")), {"<b>.toml": "x"}, *shots)
    assert run("mark", [str(folder), "--course", "Autumn & <i>"]) == CLEAN
    files = [folder / "marked" / f"class_table.{ending}" for ending in ("html", "xlsx", "csv")]
    assert capsys.readouterr().out.split() == list(map(str, files))
    page = Page(files[0].read_text(encoding="utf-8"))
    assert {"=1+1 <b>&", "Autumn & <i>", "Bea"} <= set(map(str.strip, page.root.itertext()))
    assert "svg" in page.html
    assert SLIP.words in page.text
    # what came with the tries: a small picture that leads to the one handed in, and a forged one told of
    assert "../<i>.jpg" in page.text
    assert "'forged.png' is neither a JPEG nor a PNG picture" in page.text
    links = [link.get("href") or "" for link in page.all("a")]
    assert links[-1] == "handed_in/bea_formula_1.toml"
    assert [(folder / "marked" / link).read_bytes() for link in links] == [b"x", shots[0].content, b"x"]
    assert len([one for one in page.all("img") if (one.get("src") or "").startswith("data:image/jpeg;base64,")]) == 1
    assert not page.faults()
    book = openpyxl.load_workbook(files[1])
    assert book.sheetnames == ["Learners", "Answers", "Mistakes", "Not counted"]
    assert all(cell.data_type != "f" for sheet in book for row in sheet for cell in row)
    by_name = {row[0]: row for row in book["Learners"].iter_rows(min_row=2, values_only=True)}
    assert by_name["Bea"] == ("Bea", 1, 1, 19, 0, None, 3, "bea.json")
    assert by_name["Cyd"] == ("Cyd", 0, 1, 0, 1, -1, None, "cyd.json")
    rows = list(csv.reader(io.StringIO(files[2].read_text(encoding="utf-8"))))
    answers = [[str(cell or "") for cell in row] for row in book["Answers"].iter_rows(values_only=True)]
    assert [row[1:8] for row in rows] == [row[1:8] for row in answers]
    assert rows[1][0] == "'=1+1 <b>&"


def test_two_hundred_are_marked_and_laid_out_within_five_seconds(tmp_path: Path) -> None:
    shot = picture("bottle.jpg")
    for at in range(200):
        steps = [(key, what, f"10:{2 * n:02d}") for n, key in enumerate(KEYS) for what in ("0", "right")]
        hand_in(tmp_path, f"{at}.json", progress(f"Learner {at}", *steps), {}, shot)
    begun = time.perf_counter()
    marked = mark_folder(tmp_path)
    html, book, text = written("class_table", marked).html, as_class_xlsx(marked), as_class_csv(marked)
    assert time.perf_counter() - begun < on_this_machine(5.0)
    assert len(marked.learners) == 200
    assert html.count("<tr>") > 400
    assert len(book) > 10_000
    assert text.count("\n") == 401


def test_a_file_with_strange_moments_is_marked_all_the_same(tmp_path: Path) -> None:
    given = progress("Ada", (KEYS[0], "right", "10:00"))
    odd = tuple(replace(given.tries[0], at=at) for at in ("", "yesterday", "2026-04-06", "9999-12-31T23:59:59Z"))
    hand_in(tmp_path, "ada.json", replace(given, tries=odd))
    assert json.loads((tmp_path / "ada.json").read_text(encoding="utf-8"))["name"] == "Ada"
    (ada,) = mark_folder(tmp_path).learners
    assert (ada.right, ada.minutes) == (1, 0.0)


def test_what_is_no_json_file_is_named(folder: Path) -> None:
    """Folders by which a school's system hands files on, zips and renamed files held hand-ins, and nothing was said."""
    (folder / "cut.zip").write_bytes(b"PK\x03\x04")
    (folder / "eva").mkdir()
    (folder / ".DS_Store").write_bytes(b"")
    assert run("mark", [str(folder), "--course", "x"]) == CLEAN
    assert mark_folder(folder).not_looked_at == ("cut.zip", "eva")  # neither what is hidden nor our own 'marked'
    page = (folder / "marked" / "class_table.html").read_text(encoding="utf-8")
    assert "cut.zip and eva" in page
    book = openpyxl.load_workbook(folder / "marked" / "class_table.xlsx")
    assert [row[0] for row in book["Not counted"].iter_rows(min_row=2, values_only=True)] == ["cut.zip", "eva"]


def test_what_is_right_only_in_an_earlier_file_is_told(tmp_path: Path) -> None:
    """One name, two computers or two people: each file has one exercise right that the other has not."""
    hand_in(tmp_path, "home.json", progress("Kim", (KEYS[0], "right", "10:00")))
    hand_in(tmp_path, "room.json", progress("Kim", (KEYS[1], "right", "11:00")))
    hand_in(tmp_path, "room (1).json", progress("Kim", (KEYS[1], "right", "11:00")))
    marked = mark_folder(tmp_path)
    assert [(one.file, one.right) for one in marked.learners] == [("room.json", 1)]
    said = dict(marked.left_out)
    assert "Only in home.json, and so not counted: 01·1 right." in said["home.json"]
    assert said["room (1).json"] == "room (1).json is of Kim, and says the same as room.json."


def test_tries_of_exercises_that_this_kit_does_not_have_are_told(tmp_path: Path) -> None:
    given = progress("Ada", (KEYS[0], "right", "10:00"))
    strange = replace(given.tries[0], key="77.of_another_kit")
    hand_in(tmp_path, "ada.json", replace(given, tries=(*given.tries, strange)))
    marked = mark_folder(tmp_path)
    assert marked.learners[0].right == 1
    assert [file for file, _ in marked.left_out] == ["ada.json"]
    assert "1 try does not count" in marked.told[0]
    assert "77.of_another_kit" in marked.told[0]


@pytest.mark.parametrize("where", ["name", "formulas", "pictures"])
def test_half_a_sign_in_one_file_does_not_stop_the_marking_of_a_class(folder: Path, where: str) -> None:
    half = "\ud83d"
    given = progress("Ada", (KEYS[0], "right", "10:00"))
    formulas, shots = (
        ({half: "x"} if where == "formulas" else {}),
        ([Picture(half, b"")] if where == "pictures" else []),
    )
    text = hand_in_text(HandIn(replace(given, name=half if where == "name" else "Zoe"), formulas, tuple(shots)))
    (folder / "half.json").write_text(json.dumps(json.loads(text.encode("utf-8", "surrogatepass"))), encoding="utf-8")
    assert run("mark", [str(folder), "--course", "x"]) == CLEAN
    marked = mark_folder(folder)
    assert [one.name for one in marked.learners] == ["Ada", "Bea", "Cyd"]
    assert [file for file, _ in marked.left_out] == ["half.json"]


def test_the_page_says_of_each_learner_what_is_not_right_yet_and_why(folder: Path) -> None:
    late = progress("Dov", (KEYS[1], "0", "09:00"), (KEYS[0], "right", "09:10"))
    strange = late.with_try(
        "01.divide_by_the_assay", 0, "777", check(exercise("01.divide_by_the_assay").task("Dov"), "777")
    )
    hand_in(folder, "dov.json", strange)
    hand_in(folder, "nameless.json", replace(progress("", (KEYS[1], "0", "09:00")), name=" "))
    page = Page(written("class_table", mark_folder(folder)).html)
    _, _, told = page.text.partition("What each learner has not right yet")
    dov = told[told.index("Dov") :]
    assert SLIP.words in dov
    assert "no usual mistake" in dov
    assert "Ada" not in told  # all of hers is right
    assert "without a name: nameless.json" in told


def test_the_answers_stand_in_the_order_of_the_lesson(tmp_path: Path) -> None:
    """By their keys the ninth exercise, 01.divide_by_the_assay, stood before the first, 01.stock_for_strength."""
    given = progress("Ada", ("01.divide_by_the_assay", "right", "10:00"), (KEYS[0], "right", "10:05"))
    hand_in(tmp_path, "ada.json", given)
    rows = list(csv.reader(io.StringIO(as_class_csv(mark_folder(tmp_path)))))
    assert [row[1] for row in rows] == ["number", "01·1", "01·9"]
