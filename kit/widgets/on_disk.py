"""What of a formula is on disk, and what is only in hand: said plainly wherever a version can be kept."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.formula.files import left_out
from kit.formula.files.telling import changes_in_words
from kit.formula.versions import frozen, version_label, versions
from kit.visible_text import listed

if TYPE_CHECKING:
    from collections.abc import Sequence

    from kit.formula.model import Formula
    from kit.widgets.bench import Bench


def disk_words(bench: Bench) -> str:
    """What is on disk and what is not, in a sentence or two."""
    label = version_label(bench.formula)
    if bench.saved is None or bench.file is None:
        where = f"{bench.file.name} is not written yet" if bench.file else "it has no file yet"
        then = (
            "; keeping a version writes it too" if bench.file else ", and from then on keeping a version saves it too"
        )
        return f"Nothing of this formula is on disk: {where}. Save, under the formula table, writes it{then}."
    notes = left_out(bench.saved, bench.file)
    there = numbers(versions(bench.saved)) if not notes else "what was in hand at the last save"
    said = [f"On disk in {bench.file.name}: {there}."]
    if bench.saved == bench.formula:
        said.append(f"What is in hand ({label}) is saved there too.")
    elif not notes and frozen(bench.formula) in versions(bench.saved):
        said.append(f"In hand is {label} of them; until you save, the file opens with {version_label(bench.saved)}.")
    else:
        said.append(f"Only in hand: {label}. Save writes it, and so does keeping a version.")
    return " ".join([*said, *(note.sentence for note in notes)])


def unsaved_words(bench: Bench) -> str:
    """Whether what is in hand is saved, and what of it is not, in a sentence."""
    if bench.saved is None or bench.file is None:
        return "Not saved yet: nothing of it is on disk."
    if bench.saved == bench.formula:
        return f"Saved in {bench.file.name}."
    changes = changes_in_words(bench.saved, bench.formula)
    return f"Not saved yet{f': {changes}' if changes else ''}".removesuffix(".") + "."


def kept_words(bench: Bench, kept: Formula) -> str:
    """How keeping went: as what, where it is, and what became of what is in hand."""
    if bench.file is None:
        said = f"Kept as version {kept.version}, in hand only: nothing is on disk until you save under a file name."
    else:
        notes = " ".join(note.sentence for note in left_out(bench.formula, bench.file))
        said = f"Kept as version {kept.version} and saved in {bench.file.name}. {notes}".strip()
    if bench.formula.changed:
        said += " Amounts that were worked out are rounded to 0.001 % in that version; what is in hand stays as it is."
    return said


def numbers(kept: Sequence[Formula]) -> str:
    """The numbers of versions, as words.

    Examples
    --------
    >>> from kit.demos import demo
    >>> numbers(versions(demo()))
    'versions 2 and 3'
    """
    told = [str(version.version) for version in kept]
    if not told:
        return "no version yet"
    return f"version {told[0]}" if len(told) == 1 else f"versions {listed(told)}"
