"""Open and save formulas: TOML keeps everything, XLSX most of it, CSV the lines."""

from __future__ import annotations

from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

from kit.errors import Fault, FileFaultsError
from kit.findings import Finding
from kit.visible_text import listed

if TYPE_CHECKING:
    from kit.formula.model import Formula
    from kit.saving import Seen

SUFFIXES = (".toml", ".csv", ".xlsx")


def read_formula(path: str | Path, notes: list[Finding] | None = None) -> Formula:
    """Read a formula from a TOML, CSV or XLSX file.

    Parameters
    ----------
    notes
        Gets what is to be said of how it was read, such as which mark the file has for decimals; without it, that is
        said as a warning.

    Raises
    ------
    FileFaultsError
        The file is missing, of another kind, or has faults: all of them, each with its line and field.
    """
    path = Path(path)
    suffix = _suffix(path)
    if not path.is_file():
        raise FileFaultsError(
            path.name, [Fault("file", f"there is no file {path.name} in {path.parent.name or 'this folder'}")]
        )
    if suffix == ".toml":
        from kit.formula.files.toml_file import read_toml

        return read_toml(path)
    from kit.formula.files.tables import read_csv, read_xlsx

    return (read_csv if suffix == ".csv" else read_xlsx)(path, notes)


def save_formula(
    formula: Formula, path: str | Path, *, seen: Seen | None = None, like: Path | None = None
) -> list[Finding]:
    """Save a formula to a TOML, CSV or XLSX file, whole or not at all; what the file held goes to its earlier saves.

    A file that says the same already keeps every byte.

    Parameters
    ----------
    seen
        What was read of the file; with it, what came into the file since is not passed over.
    like
        The file that the formula came from; a new TOML file takes over the comments of one.

    Returns
    -------
    A note about anything that this kind of file cannot hold.

    Raises
    ------
    FileFaultsError
        The kind of file is not known.
    ChangedOnDiskError
        The file is not as it was ``seen``; nothing was written.
    StoreError
        The disk refused; what was there before is untouched.
    """
    path = Path(path)
    suffix = _suffix(path)
    if suffix == ".toml":
        from kit.formula.files.toml_file import save_toml

        save_toml(formula, path, seen=seen, like=like)
        return left_out(formula, path)
    from kit.formula.files.tables import save_csv, save_xlsx

    (save_csv if suffix == ".csv" else save_xlsx)(formula, path, seen=seen)
    return left_out(formula, path)


def _suffix(path: Path) -> str:
    suffix = path.suffix.lower()
    if suffix not in SUFFIXES:
        problem = f"files of this kind cannot be used; name it with one of {', '.join(SUFFIXES)}"
        raise FileFaultsError(path.name, [Fault("file name", problem)])
    return suffix


def left_out(formula: Formula, path: Path) -> list[Finding]:
    """A note about anything of the formula that this kind of file cannot hold."""
    suffix = path.suffix.lower()
    if suffix == ".toml":
        return []
    parts = {
        "the amounts as they were typed before the ratio was moved": formula.ratio,
        "stocks and own ingredients": formula.materials,
        "rules": formula.rules,
        "measured densities": formula.densities,
        "the measured pH": formula.measured_ph,
        "steps": formula.steps,
        "variants": formula.variants,
        "versions that were kept": formula.earlier,
    }
    held = {"stocks and own ingredients", "rules", "steps"} if suffix == ".xlsx" else set()
    missing = [name for name, items in parts.items() if items and name not in held]
    if suffix == ".csv" and formula.written_for:
        missing.append("the batch for which grams are written")
    if suffix == ".csv":
        missing.insert(0, "title, version and product kind")
    kind, told = suffix[1:].upper(), []
    if missing:
        told.append(f"A {kind} file does not hold {' or '.join(missing)}. Save as TOML to keep everything.")
    names = Counter((phase.name, phase.kind) for phase in formula.phases if phase.lines)
    if several := listed(repr(name) for (name, _), times in names.items() if times > 1):
        told.append(
            f"Several phases are called {several}: in a {kind} file they become one. Give each a name of its own, or "
            "save as TOML."
        )
    return [Finding("note", sentence) for sentence in told]
