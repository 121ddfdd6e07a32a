"""Both schools' own graders mark a lesson: ``python tests/course/marked_by_schools.py [LESSON]``. A step of a release.

An environment of its own gets nbgrader, Otter and the kit from this clone, and is thrown away. A learner answers every
second exercise rightly; both must give exactly the points of those. The usual tests hold the cells to the conventions'
documents (``test_school.py``); this asks the graders themselves, which bring more packages than the tests should.
"""

from __future__ import annotations

import csv
import json
import os
import subprocess
import sys
import tempfile
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from kit.course import assignment, exercises_of, right_answer  # noqa: E402

GRADERS = ("nbgrader==0.9.*", "otter-grader==7.*")
LEARNER = "Ada"
#: What Otter says of all tests of a notebook, after its last cell.
OTTER_SAYS = """
import json, sys
from nbclient import NotebookClient
import nbformat
book = nbformat.read(sys.argv[1], as_version=4)
book.cells.append(nbformat.v4.new_code_cell(
    "found = grader.check_all()\\nprint('POINTS', found.total, found.possible)"))
NotebookClient(book, timeout=300).execute()
print("".join(one.get("text", "") for one in book.cells[-1].outputs))  # it may come in pieces
"""


def answered(text: str, lesson: str) -> tuple[str, int]:
    """A notebook with the learner's name and every second answer, and how many that are."""
    asked = [one for one in exercises_of(lesson) if one.kind != "draw"]
    book, right = json.loads(text), 0
    for cell in book["cells"]:
        source = "".join(cell["source"])
        for at, one in enumerate(asked, start=1):
            if source.startswith(f"answer_{at} =") and at % 2:
                source, right = f"answer_{at} = {right_answer(one.key, LEARNER)!r}", right + 1
        cell["source"] = f"name = {LEARNER!r}" if source.startswith("name =") else source
    return json.dumps(book), right


def run(folder: Path, *command: str) -> str:
    """Run a command in a folder; what it printed."""
    programs = os.pathsep.join([str(Path(command[0]).parent), os.environ.get("PATH", "")])  # nbgrader calls alembic
    own = {"PATH": programs, "PYTHONPATH": str(ROOT), "JUPYTER_CONFIG_DIR": str(folder / "none")}
    surroundings = {**os.environ, **own}
    done = subprocess.run(command, cwd=folder, env=surroundings, capture_output=True, text=True, check=False)
    if done.returncode != 0:
        sys.exit(f"{' '.join(command[:4])} failed:\n{done.stdout[-2000:]}\n{done.stderr[-4000:]}")
    return done.stdout


def by_nbgrader(python: str, folder: Path, lesson: str) -> tuple[float, float, int]:
    """Points, most points, and right answers."""
    source = folder / "source" / "week" / "exercises.ipynb"
    source.parent.mkdir(parents=True)
    source.write_text(assignment(lesson, "nbgrader"), encoding="utf-8")
    (folder / "nbgrader_config.py").write_text('c = get_config()\nc.CourseDirectory.course_id = "evening"\n')
    grade = (python, "-m", "nbgrader")
    run(folder, *grade, "generate_assignment", "week")
    text, right = answered((folder / "release" / "week" / "exercises.ipynb").read_text(encoding="utf-8"), lesson)
    handed_in = folder / "submitted" / "ada" / "week" / "exercises.ipynb"
    handed_in.parent.mkdir(parents=True)
    handed_in.write_text(text, encoding="utf-8")
    run(folder, *grade, "autograde", "week")
    run(folder, *grade, "export")
    with (folder / "grades.csv").open(encoding="utf-8", newline="") as file:
        (row,) = csv.DictReader(file)
    return float(row["score"]), float(row["max_score"]), right


def by_otter(python: str, folder: Path, lesson: str) -> tuple[float, float, int]:
    """Points, most points, and right answers."""
    folder.mkdir()
    text, right = answered(assignment(lesson, "otter"), lesson)
    (folder / "exercises.ipynb").write_text(text, encoding="utf-8")
    said = run(folder, python, "-c", OTTER_SAYS, "exercises.ipynb")
    points, most = said.split("POINTS", 1)[1].split()[:2]
    return float(points), float(most), right


def main(lesson: str = "01") -> int:
    """Print what both graders gave; 1 where it is not what was right."""
    with tempfile.TemporaryDirectory(prefix="shakewell-schools-") as scratch:
        there = Path(scratch) / "environment"
        venv.create(there, with_pip=True)
        python = str(there / ("Scripts" if os.name == "nt" else "bin") / "python")
        run(there, python, "-m", "pip", "install", "-q", str(ROOT), *GRADERS)
        wrong = 0
        for name, grader in (("nbgrader", by_nbgrader), ("otter", by_otter)):
            folder = Path(scratch) / name
            points, most, right = grader(python, folder, lesson)
            print(f"{name}: {points:g} of {most:g} points for {right} right answers")
            wrong += points != right or not 0 < points < most
    return int(wrong > 0)


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:2]))
