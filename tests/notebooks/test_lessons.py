"""Every lesson has its parts in their order, code that can be read aloud, and words as in Britain."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

from kit.course import exercises_of, lessons
from kit.resources import load_table
from tests.notebooks.rules import source_of
from tests.notebooks.sums import sum_faults, sums_in
from tests.notebooks.teaching import lesson_faults, spelling_faults

if TYPE_CHECKING:
    from kit.course import Exercise

ROOT = Path(__file__).resolve().parent.parent.parent
NOTEBOOKS = sorted((ROOT / "notebooks").glob("*.ipynb"))
LESSONS = [path for path in NOTEBOOKS if path.stem[0].isdigit()]


def test_a_lesson_is_written_to_be_learnt_from() -> None:
    assert [fault for path in LESSONS for fault in lesson_faults(path)] == []


def _spoilt(folder: Path, *cells: tuple[str, str], shown: str = "") -> list[str]:
    """What is said of the first lesson with these cells, of a type and a source, put at its end."""
    notebook = json.loads(LESSONS[0].read_text(encoding="utf-8"))
    for kind, source in cells:
        outputs: list[Any] = [{"output_type": "stream", "name": "stdout", "text": shown}] if shown else []
        notebook["cells"].append({"cell_type": kind, "metadata": {}, "source": source, "outputs": outputs})
    path = folder / LESSONS[0].name
    path.write_text(json.dumps(notebook), encoding="utf-8")
    return lesson_faults(path)


def test_each_rule_of_a_lesson_says_what_is_wrong(tmp_path: Path) -> None:
    bad = {
        "a = 1\nb = 2\nprint(a)": "has 3 lines",
        "sorted([2], key=lambda x: x)": "has a lambda",
        "from math import log10": "imports something else",
        "import numpy": "imports something else",
        "print([x for x in (1, 2)])": "builds a list in brackets",
        "print(1)": "is not folded",
    }
    for source, sentence in bad.items():
        assert any(sentence in fault for fault in _spoilt(tmp_path, ("code", source))), sentence
    raw = ("{'Aqua': 74.4}", "[1.0, 2.0]", "Aliquot(weigh=120.0)", "'Aqua'", "<object>")
    assert [
        text for text in raw if not any("raw object" in x for x in _spoilt(tmp_path, ("code", "1"), shown=text))
    ] == []
    assert not any("raw object" in x for x in _spoilt(tmp_path, ("code", "1"), shown="[Annex V] Aqua (water) 3 %"))
    assert any("prints a line of 80 signs" in fault for fault in _spoilt(tmp_path, ("code", "1"), shown="a" * 80))
    assert any("folds to a line of 70 signs" in fault for fault in _spoilt(tmp_path, ("code", "1" * 70)))
    assert not any("has 3 lines" in fault for fault in _spoilt(tmp_path, ("code", "# a caption\n1\n2")))
    notebook = json.loads(LESSONS[0].read_text(encoding="utf-8"))
    notebook["cells"] = [cell for cell in notebook["cells"] if "**By hand" not in source_of(cell)]
    (tmp_path / LESSONS[0].name).write_text(json.dumps(notebook), encoding="utf-8")
    faults = lesson_faults(tmp_path / LESSONS[0].name)
    assert any("before anything was worked by hand" in fault for fault in faults)
    assert any("is missing, or stands before" in fault for fault in faults)
    assert any("nothing in its section is worked by hand" in fault for fault in faults)


def test_what_is_read_is_spelt_as_in_britain() -> None:
    texts = {name: (ROOT / name).read_text(encoding="utf-8") for name in ("README.md", "DEVELOPERS.md")}
    texts |= {f"data/{name}": "\n".join(map(str, load_table(name).rows)) for name in ("glossary", "lessons")}
    for path in NOTEBOOKS:
        cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
        texts[path.name] = "\n\n".join(source_of(cell) for cell in cells if cell["cell_type"] == "markdown")
    assert [fault for name, text in texts.items() for fault in spelling_faults(name, text)] == []
    said = spelling_faults("here", "Its Color, `color`, and *The Color Book*.")
    assert said == ["here: 'Color' is American. Write 'colour'."]


def test_every_sum_that_a_text_works_by_hand_comes_to_what_it_says() -> None:
    faults, count = list[str](), 0
    for path in NOTEBOOKS:
        cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
        texts = [source_of(cell) for cell in cells if cell["cell_type"] == "markdown"]
        count += sum(1 for text in texts for _ in sums_in(text))
        faults += [fault for text in texts for fault in sum_faults(path.name, text)]
    assert faults == []
    assert count > 150
    wrong = (
        "20 / 1.08 = **18.6 %**; √(9 + 16) = 5, 212 × 198 = 41 976, and 10 g × 4 / 100 = 0.4; ln (42.7 / 38.25) = 0.11"
    )
    assert sum_faults("here", wrong) == ["here: 20 / 1.08 is 18.5185, not 18.6. Work it out again."]
    solutions = [(each.key, each.task(f"learner {n}").solution) for each in every() for n in range(10)]
    assert [fault for key, text in solutions for fault in sum_faults(key, text, units=1.5)] == []


def test_what_a_text_points_to_is_there() -> None:
    lost = []
    for path in NOTEBOOKS:
        cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
        text = "\n".join(source_of(cell) for cell in cells if cell["cell_type"] == "markdown")
        lost += [name for name in re.findall(r"`(\d\d\w*_\w+)`", text) if not (path.parent / f"{name}.ipynb").is_file()]
        lost += [name for name in re.findall(r"`(data/[\w/.-]+)`", text) if not (ROOT / name).exists()]
        lost += [number for number in re.findall(r"[Ll]esson (\d\d\w?)\b", text) if number not in lessons()]
    assert lost == []


def every() -> list[Exercise]:
    return [each for lesson in lessons() for each in exercises_of(lesson)]


def test_every_lesson_stands_in_the_table_of_what_comes_when_and_every_term_has_its_lesson() -> None:
    planned = load_table("lessons").rows
    assert {row["notebook"] for row in planned} == {path.stem for path in LESSONS}
    terms = load_table("glossary").rows
    assert {row["lesson"] for row in terms} == {row["lesson"] for row in planned}
    assert len({row["term"] for row in terms}) == len(terms)
    assert [row["term"] for row in terms if not row["meaning"].endswith(".")] == []
    texts = {path.stem.partition("_")[0]: _plain(path.read_text(encoding="utf-8")) for path in LESSONS}
    assert [row["term"] for row in terms if _plain(row["term"]) not in texts[row["lesson"]]] == []


def _plain(text: str) -> str:
    """Letters and figures alone, so that a term is found however it is set."""
    cells = json.loads(text)["cells"] if text.startswith("{") else []
    told = "\n".join(source_of(cell) for cell in cells if cell["cell_type"] == "markdown") or text
    return "".join(filter(str.isalnum, told.casefold()))


def test_the_lecturers_guide_names_every_lesson_and_the_glossary_shows_every_term() -> None:
    cells = json.loads((ROOT / "notebooks" / "lecturers_guide.ipynb").read_text(encoding="utf-8"))["cells"]
    guide = "\n".join(source_of(cell) for cell in cells)
    weeks = [row for row in load_table("lessons").rows if row["week"] != "more"]
    assert [row["lesson"] for row in weeks if f"**{row['lesson']}.**" not in guide] == []
    stored = (ROOT / "notebooks" / "glossary.ipynb").read_text(encoding="utf-8")
    assert [row["term"] for row in load_table("glossary").rows if f"term: {row['term']}" not in stored] == []
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    rows = (f"| {row['week']} | `{row['notebook']}` | {row['minutes']} |" for row in load_table("lessons").rows)
    assert [row for row in rows if row not in readme] == []
