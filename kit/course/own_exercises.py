"""Exercises of a lecturer's own: a Python file of hers, written as the kit's own lessons are, run when named."""

from __future__ import annotations

import importlib.util
from typing import TYPE_CHECKING

from kit.course.catalogue import lessons
from kit.errors import EntryError

if TYPE_CHECKING:
    from pathlib import Path


def take_own_exercises(file: Path) -> tuple[str, ...]:
    """Take the exercises of a file into the catalogue, and say which lessons came with it.

    The file is run: name only one that you wrote or read yourself. What learners hand in is never such a file.

    Raises
    ------
    EntryError
        There is no such file, it cannot be run, or it has no exercise.
    """
    before = lessons()
    spec = importlib.util.spec_from_file_location(f"own_exercises_{file.stem}", file)
    if spec is None or spec.loader is None or not file.is_file():
        msg = f"There is no Python file (.py) {str(file)!r}. Name the one with your exercises."
        raise EntryError(msg)
    try:
        spec.loader.exec_module(importlib.util.module_from_spec(spec))
    except Exception as error:  # whatever a lecturer's own lines raise
        msg = f"{file.name} cannot be run: {type(error).__name__}: {error}"
        raise EntryError(msg) from error
    fresh = tuple(one for one in lessons() if one not in before)
    if not fresh:
        msg = f"{file.name} brings no lesson of its own. Put @exercise_of(NAME, KIND) above each of its functions."
        raise EntryError(msg)
    return fresh
