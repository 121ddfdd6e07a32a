"""The folder of one product: its formula, a notebook to work in, and whatever is kept beside them.

A folder is made once and never written over. What lies in it belongs to the maker: the formula, prices, label
particulars, the stability log with its photos, papers.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from kit.errors import StoreError
from kit.file_names import file_stem
from kit.formula.files import save_formula
from kit.workspace import FORMULA, NOTEBOOK

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from kit.formula.model import Formula

#: What else of a product's folder has a fixed name.
LOG, TRIALS, DOSES = "stability_log.db", "parting_trials.csv", "weighed_doses.csv"

#: What a cell is marked with that the app leaves out: how to run the others, which it has done, and what is asked for
#: now and then, for a page of Voilà gives up panels that are not all drawn within a few seconds.
NOT_IN_APP = {"tags": ["not-in-app"]}

#: The sections of the notebook: heading, a line below it, and its panels in the order of the job.
Section = tuple[str, str, tuple[str, ...]]
FIRST: tuple[Section, ...] = (
    (
        "Formula",
        "What it is, its phases and lines. Undo stands above the table; what is not saved stands at the head.",
        ("FormulaPanel(bench)", "FindingsPanel(bench)", "VersionsPanel(bench)"),
    ),
    (
        "Stocks and substances",
        "Solutions made ahead, and what everything comes to once blends and stocks are opened up.",
        ("StockPanel(bench)", "SubstancesPanel(bench)", "PhPanel(bench)"),
    ),
)
LAYERS: Section = (
    "Layers",
    "How much oil and how much water, how they stand in the bottle, how long they stay mixed, and the water's keeping.",
    ("RatioPanel(bench)", "RulesPanel(bench)", "PreservationPanel(bench)", "SeparationPanel(bench)",
     "DosingPanel(bench)", "FamilyPanel(bench)"),
)  # fmt: skip
PHASES: Section = (
    "Water and oil phase",
    "How much oil and how much water, rules of your own, how much of a preservative stays in the water, emulsifiers.",
    ("RatioPanel(bench)", "RulesPanel(bench)", "PreservationPanel(bench)", "EmulsifierPanel(bench)",
     "FamilyPanel(bench)"),
)  # fmt: skip
ONE_PHASE: Section = (
    "Rules, keeping, variants",
    "Rules of your own, what is known of its preservatives, and variants side by side.",
    ("RulesPanel(bench)", "PreservationPanel(bench)", "FamilyPanel(bench)"),
)
ON_THE_WAY: Section = (
    "In use and on the way",
    "What each dispenser gives and leaves, cold and warmth.",
    (f'DispensersPanel(bench, "{DOSES}")', "ColdAndWarmPanel(bench)"),
)
IN_USE: Section = (
    "The layers in use",
    "What becomes of them with the weeks, what passes between them, what each dispenser gives, trials, cold, warmth.",
    ("OverItsLifePanel(bench)", "MutualSolubilityPanel(bench)", "WanderingPanel(bench)",
     f'DispensersPanel(bench, "{DOSES}")', f'PartingTrialsPanel(bench, "{TRIALS}")', "ColdAndWarmPanel(bench)"),
)  # fmt: skip
MENDING: Section = (
    "Other amounts, other materials",
    "What would mend a broken rule, and what can take the place of a line. Nothing is changed until you take it.",
    ("RepairPanel(bench)", "SubstitutePanel(bench)"),
)
#: The sections of a product that stands in no layers, by what its description says.
MIDDLE: dict[str, tuple[Section, Section]] = {
    "emulsified": (PHASES, ON_THE_WAY),
    "one phase": (ONE_PHASE, ON_THE_WAY),
}
LAST: tuple[Section, ...] = (
    ("Batch", "How much to make, in which bottles, what to weigh, and how it is made.",
     ("ScalingPanel(bench)", "MakingPanel(bench)", "WeighingPanel(bench)", "ActualWeightsPanel(bench)")),
    ("Cost", "What a batch and a bottle cost, with prices of your own.", ("CostPanel(bench)",)),
    ("Label", "The text of the label, and what is missing in it.", ("LabelPanel(bench)",)),
    ("Stability", "Readings over months, in a log that is only ever added to, and how long they say that it keeps.",
     (f'StabilityPanel("{LOG}", product=bench)', f'OverviewPanel("{LOG}")', f'ShelfLifePanel("{LOG}")')),
    ("Papers", "Sheets and cards to print; each is one file.", ("PapersPanel(bench)",)),
)  # fmt: skip


def make_product_folder(parent: Path, formula: Formula) -> Path:
    """Make the folder of a product in ``parent``, named after its title; returns the folder.

    Raises
    ------
    StoreError
        There is a folder or file of that name, or it cannot be written to; nothing is left half made.
    """
    folder = parent / file_stem(formula.title)
    if folder.exists():
        msg = (
            f"{folder} is there already, and nothing in it was changed. Give the product another name, or open what "
            f"is there: python3 -m kit {folder}"
        )
        raise StoreError(msg)
    part = folder.with_name(f".{folder.name}.part")
    _remove(part)  # what a process that was killed left
    try:
        part.mkdir(parents=True)
        save_formula(formula, part / FORMULA)
        (part / NOTEBOOK).write_text(notebook_text(formula), encoding="utf-8")
        part.rename(folder)
    except OSError as error:
        msg = f"{folder} could not be made: {error.strerror or error}. Choose another place."
        raise StoreError(msg) from error
    finally:
        _remove(part)
    return folder


def notebook_text(formula: Formula) -> str:
    """The notebook of a product, as the file holds it: panels in the order of the job, their code folded away.

    What is asked for now and then stands at its end.
    """
    middle, in_use = MIDDLE.get(formula.description.layering, (LAYERS, IN_USE))
    job = [*FIRST, middle, *LAST]
    sections = [*job, in_use, MENDING]
    cells = [
        _words("head", f"# {formula.title}"),
        _words("run", "Run all cells, by the ▸▸ button, to take it in hand again.") | {"metadata": NOT_IN_APP},
        _code("open", "import kit\n\nbench = kit.open_product()\nkit.StatusPanel(bench)"),
    ]
    for number, (heading, line, panels) in enumerate(sections, start=1):
        made = [_words(f"section-{number}", f"## {number} · {heading}", line)]
        made += [_code(f"panel-{number}-{n}", f"kit.{panel}") for n, panel in enumerate(panels, start=1)]
        if number > len(job):
            for cell in made:
                cell["metadata"] = {**cell["metadata"], **NOT_IN_APP}
        cells += made
    metadata = {
        "kernelspec": {"display_name": "Python 3", "language": "python", "name": "python3"},
        "language_info": {"name": "python"},
    }
    return json.dumps({"cells": cells, "metadata": metadata, "nbformat": 4, "nbformat_minor": 5}, indent=1) + "\n"


def _words(name: str, *lines: str) -> dict[str, Any]:
    return {"cell_type": "markdown", "id": name, "metadata": {}, "source": _source("\n\n".join(lines))}


def _code(name: str, text: str) -> dict[str, Any]:
    folded = {"jupyter": {"source_hidden": True}}
    return {
        "cell_type": "code",
        "execution_count": None,
        "id": name,
        "metadata": folded,
        "outputs": [],
        "source": _source(text),
    }


def _source(text: str) -> list[str]:
    return text.splitlines(keepends=True)


def _remove(part: Path) -> None:
    """Take away what was begun and could not be finished."""
    paths: Iterable[Path] = sorted(part.rglob("*"), reverse=True) if part.exists() else ()
    for path in (*paths, *([part] if part.exists() else [])):
        if path.is_dir():
            path.rmdir()
        else:
            path.unlink()
