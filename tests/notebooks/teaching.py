"""What a lesson must be like for somebody who came for the maths: its parts, its code, its words.

Each rule returns sentences that say what is wrong and what to do; no sentence, no fault.
"""

from __future__ import annotations

import ast
import json
import re
from typing import TYPE_CHECKING, Any

from kit.resources import load_table
from tests.notebooks.rules import is_picture, source_of

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path


#: The parts of a lesson in their order, each by the words with which it begins.
PARTS = (
    "**After this lesson you can**", "**How long:** about ", "**You need:**", "**By hand", "kit.",
    "second example", "## Exercises", "### Where it goes wrong in practice", "### Key words", "### Sources",
)  # fmt: skip

#: Panels that are tools and teach no idea of their own.
TOOLS = {"Compare", "Exercises", "Family", "Formula", "Library", "NewProduct", "Papers", "Stability", "Versions"}

MOST_LINES = 2
#: What a page of 1024 px shows, with the list of files beside it, of a line that was printed. [signs]
PRINTED = 72
#: What it shows of a folded cell, which is its first line and three dots. [signs]
FOLDED = 68

#: What Python shows of a thing that was not made to be read: a list, a dict, a tuple, a quoted text, Name(...).
_RAW = re.compile(
    r"""^\s*(?:[\[{(]['"\d\[({\]})-]|<[a-zA-Z]|(['"])[^'"\n]*\1$|[A-Z]\w*\(\w+=|array\()""", re.MULTILINE
)
_MINUTES = re.compile(r"\*\*How long:\*\* about (\d+) minutes")

#: American spelling → British spelling.
AMERICAN = {
    "aluminum": "aluminium", "analyze": "analyse", "behavior": "behaviour", "catalog": "catalogue", "center": "centre",
    "centered": "centred", "centimeter": "centimetre", "color": "colour", "colored": "coloured", "colorant": "colourant",
    "colors": "colours", "counterclockwise": "anticlockwise", "enroll": "enrol", "favorite": "favourite",
    "fiber": "fibre", "flavor": "flavour", "fulfill": "fulfil", "gray": "grey", "honor": "honour", "jewelry": "jewellery",
    "labeled": "labelled", "labeling": "labelling", "labor": "labour", "leveled": "levelled", "leveling": "levelling",
    "liter": "litre", "liters": "litres", "milliliter": "millilitre", "milliliters": "millilitres",
    "millimeter": "millimetre", "modeled": "modelled", "modeling": "modelling", "mold": "mould", "molds": "moulds",
    "neighbor": "neighbour", "neighboring": "neighbouring", "neighbors": "neighbours", "odor": "odour",
    "odors": "odours", "organize": "organise", "recognize": "recognise", "skillful": "skilful", "stabilize": "stabilise",
    "theater": "theatre", "traveled": "travelled", "vapor": "vapour", "vapors": "vapours",
}  # fmt: skip
_AMERICAN = re.compile(rf"\b({'|'.join(AMERICAN)})\b", re.IGNORECASE)
#: Where a word may stand as a title, a name or in code spells it.
_QUOTED = re.compile(r"`[^`]*`|```.*?```|\*[^*\n]+\*|<[^>]+>", re.DOTALL)


def lesson_faults(path: Path) -> list[str]:
    """What keeps a lesson from being learnt from."""
    notebook = json.loads(path.read_text(encoding="utf-8"))
    found = [*_part_faults(path, notebook["cells"])]
    for number, cell in enumerate(notebook["cells"], start=1):
        if cell["cell_type"] == "code":
            found += [f"cell {number} {sentence}" for sentence in (*_code_faults(cell), *_shown_faults(cell))]
    return [f"{path.name}: {sentence}" for sentence in found]


def spelling_faults(name: str, text: str) -> list[str]:
    """American spellings in a text; what stands between back-ticks or asterisks is a name or a title."""
    words = _AMERICAN.findall(_QUOTED.sub(" ", text.replace("\\*", "")))
    return [f"{name}: {word!r} is American. Write {AMERICAN[word.lower()]!r}." for word in words]


def _part_faults(path: Path, cells: list[dict[str, Any]]) -> Iterator[str]:
    text = "\n".join(
        source_of(cell)
        for cell in cells
        if cell["cell_type"] == "markdown" or (is_picture(cell) and "Panel(" in source_of(cell)) or "kit." in source_of(cell)
    )
    at = 0
    for part in PARTS:
        if (found := text.find(part, at)) < 0:
            yield f"{part!r} is missing, or stands before what it should follow."
        else:
            at = found
    yield from _panel_faults(cells)
    sources = [source_of(cell) for cell in cells]
    panel = next((n for n, cell in enumerate(cells) if is_picture(cell)), len(cells))
    if not any("**By hand" in source for source in sources[:panel]):
        yield "a panel stands before anything was worked by hand."
    if not any(re.search(r"\*\*(?:Before you read on|Predict)", source) for source in sources):
        yield "no question asks the reader to predict. Begin one with **Before you read on** or **Predict**."
    lesson = path.stem.partition("_")[0]
    planned = next((row["minutes"] for row in load_table("lessons").rows if row["lesson"] == lesson), "none")
    if (said := _MINUTES.search(text)) and said[1] != planned:
        yield f"it says about {said[1]} minutes; the table of what comes when says {planned}."
    if f'key_words("{lesson}")' not in "\n".join(sources):
        yield f'it does not show kit.course.key_words("{lesson}").'


def _panel_faults(cells: list[dict[str, Any]]) -> Iterator[str]:
    """Panels in whose section nothing is worked by hand before them."""
    section = ""
    for number, cell in enumerate(cells, start=1):
        source = source_of(cell)
        if cell["cell_type"] == "markdown":
            section = source.rpartition("\n## ")[2] if "\n## " in f"\n{source}" else section + source
        elif is_picture(cell) and not any(f"kit.{tool}Panel(" in source for tool in TOOLS):
            if "by hand" not in section.lower():
                yield f"cell {number} shows a panel, and nothing in its section is worked by hand before it."


def _code_faults(cell: dict[str, Any]) -> Iterator[str]:
    source = source_of(cell)
    lines = source.splitlines()
    code = [line for line in lines if not line.startswith("# ")]
    if len(code) > MOST_LINES:
        yield f"has {len(code)} lines; a student reads {MOST_LINES} aloud. Let the kit do the rest."
    if len(lines[0]) > FOLDED:
        yield f"folds to a line of {len(lines[0])} signs, wider than the page. Put a caption of one line above: # ..."
    if not cell["metadata"].get("jupyter", {}).get("source_hidden"):
        yield "is not folded. Set jupyter.source_hidden in its metadata."
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Lambda):
            yield "has a lambda. Name the thing, or let the kit do it."
        elif isinstance(node, ast.ImportFrom) or (isinstance(node, ast.Import) and node.names[0].name != "kit"):
            yield "imports something else than kit. Let the kit bring it."
        elif isinstance(node, ast.ListComp | ast.DictComp | ast.SetComp):
            yield "builds a list in brackets, which nobody reads aloud. Let the kit do it, or write for … in …"


def _shown_faults(cell: dict[str, Any]) -> Iterator[str]:
    for output in cell["outputs"]:
        data = output.get("data", {})
        text = output.get("text") or data.get("text/plain", "")
        shown = text if isinstance(text, str) else "".join(text)
        if "text/html" not in data and (raw := _RAW.search(shown)):
            line = shown[raw.start() :].strip().splitlines()[0]
            yield f"shows a raw object: {line[:50]!r}. Print a sentence, or show a table."
        wide = max(map(len, shown.splitlines()), default=0)
        if output.get("name") == "stdout" and wide > PRINTED:
            yield f"prints a line of {wide} signs, wider than the page ({PRINTED}). Let kit.course.tell print it."
