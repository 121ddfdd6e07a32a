"""A marked class as tables for a spreadsheet: CSV, and a workbook with learners, exercises, mistakes and files."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

from kit.course.catalogue import exercise, short_number
from kit.spreadsheet_text import in_workbook
from kit.tables import as_csv

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

    from kit.course.marking import ClassMarks

    Row = tuple[str | float, ...]

#: The most that a cell of a workbook holds. [characters] ECMA-376-1:2016, 18.3.1.4 as every spreadsheet holds it
MOST_CHARACTERS = 32_767
ANSWERS = ("learner", "number", "exercise", "title", "right", "tries", "hints", "mistakes", "in doubt")


def answers(marked: ClassMarks) -> list[Row]:
    """A row for each learner and exercise, below a row of headings."""
    place = {key: at for at, key in enumerate(marked.keys)}
    rows: list[Row] = [ANSWERS]
    for learner in marked.learners:
        for one in sorted(learner.marks, key=lambda mark: place[mark.key]):
            about = (learner.name, short_number(one.key), one.key, exercise(one.key).title)
            made = "; ".join(dict.fromkeys(one.mistakes))
            rows.append((*about, "yes" if one.right else "no", one.tries, one.hints, made, one.doubts))
    return rows


def learners(marked: ClassMarks) -> list[Row]:
    """A row for each learner, with a column for each exercise: the tries it took, or a minus sign before them."""
    keys = marked.keys
    rows: list[Row] = [("learner", "right", "tried", "minutes", "in doubt", *map(short_number, keys), "file")]
    for one in marked.learners:
        found = {mark.key: mark.tries if mark.right else -mark.tries for mark in one.marks}
        each = (found.get(key, "") for key in keys)
        rows.append((one.name, one.right, len(one.marks), round(one.minutes), one.doubts, *each, one.file))
    return rows


def as_class_csv(marked: ClassMarks) -> str:
    """:func:`answers` as the text of a CSV file."""
    return as_csv([[str(cell) for cell in row] for row in answers(marked)], by_hand=False)


def as_class_xlsx(marked: ClassMarks) -> bytes:
    """A workbook of four sheets: learners, answers, mistakes, and files that do not count."""
    import openpyxl

    book = openpyxl.Workbook()
    _fill(book.active, "Learners", learners(marked))
    _fill(book.create_sheet(), "Answers", answers(marked))
    made: list[Row] = [("mistake", "learners", "exercises")]
    made += [(one.words, one.learners, ", ".join(map(short_number, one.exercises))) for one in marked.mistakes]
    _fill(book.create_sheet(), "Mistakes", made)
    others = [(name, "Not looked at: only .json files are.") for name in marked.not_looked_at]
    _fill(book.create_sheet(), "Not counted", [("file", "why"), *marked.left_out, *others])
    data = io.BytesIO()
    book.save(data)
    return data.getvalue()


def _fill(sheet: Worksheet, title: str, rows: list[Row]) -> None:
    sheet.title = title
    for number, row in enumerate(rows, start=1):
        for column, value in enumerate(row, start=1):
            cell = sheet.cell(number, column)
            if isinstance(value, str):
                cell.value = in_workbook(value)[:MOST_CHARACTERS]
                cell.data_type = "s"  # text, also where it starts with "="
            else:
                cell.value = value
    sheet.freeze_panes = "B2"
    for column_cells in sheet.columns:
        widest = max(len(str(cell.value or "")) for cell in column_cells)
        sheet.column_dimensions[column_cells[0].column_letter].width = min(max(widest + 2, 8), 48)
