"""Formulation maths for small-batch hair and skin products.

The names below are what a notebook needs: ``from kit import Formula, open_bench``. Each is fetched from its
room when it is first used, so ``import kit`` itself costs next to nothing.
"""

from __future__ import annotations

import sys

# Jupyter checks its files with jsonschema, which imports an optional checker of international web addresses,
# rfc3987_syntax, wherever it is installed. That import builds some 35 grammars: about one second, and up to
# seven inside a running kernel, before the first picture shows. No Jupyter file needs it. An entry of None
# makes jsonschema take it as not installed; it works only before jsonschema is imported, so it stands first.
sys.modules.setdefault("rfc3987_syntax", None)  # type: ignore[arg-type]

from typing import TYPE_CHECKING  # noqa: E402

if TYPE_CHECKING:
    from kit.bench.balance import Balance as Balance
    from kit.bench.dilution import make_stock as make_stock
    from kit.bench.weighing import weigh as weigh
    from kit.demos import demo as demo
    from kit.formula.files import read_formula as read_formula
    from kit.formula.files import save_formula as save_formula
    from kit.formula.model import Formula as Formula
    from kit.formula.model import Line as Line
    from kit.formula.model import Phase as Phase
    from kit.layers.bottle import Bottle as Bottle
    from kit.layers.window import window as window
    from kit.library.ingredient import Ingredient as Ingredient
    from kit.library.ingredient import Stock as Stock
    from kit.library.library import Library as Library
    from kit.stability.log.store import StabilityLog as StabilityLog
    from kit.widgets.actual_weights_panel import ActualWeightsPanel as ActualWeightsPanel
    from kit.widgets.bench import Bench as Bench
    from kit.widgets.bench import open_bench as open_bench
    from kit.widgets.bottle_panel import BottlePanel as BottlePanel
    from kit.widgets.compare_panel import ComparePanel as ComparePanel
    from kit.widgets.cost_panel import CostPanel as CostPanel
    from kit.widgets.dilution_panel import DilutionPanel as DilutionPanel
    from kit.widgets.dosing_panel import DosingPanel as DosingPanel
    from kit.widgets.family_panel import FamilyPanel as FamilyPanel
    from kit.widgets.findings_panel import FindingsPanel as FindingsPanel
    from kit.widgets.formula_panel import FormulaPanel as FormulaPanel
    from kit.widgets.label_panel import LabelPanel as LabelPanel
    from kit.widgets.library_panel import LibraryPanel as LibraryPanel
    from kit.widgets.overview_panel import OverviewPanel as OverviewPanel
    from kit.widgets.papers_panel import PapersPanel as PapersPanel
    from kit.widgets.ph_panel import PhPanel as PhPanel
    from kit.widgets.preservation_panel import PreservationPanel as PreservationPanel
    from kit.widgets.ratio_panel import RatioPanel as RatioPanel
    from kit.widgets.rules_panel import RulesPanel as RulesPanel
    from kit.widgets.scaling_panel import ScalingPanel as ScalingPanel
    from kit.widgets.separation_panel import SeparationPanel as SeparationPanel
    from kit.widgets.shelf_life_panel import ShelfLifePanel as ShelfLifePanel
    from kit.widgets.stability_panel import StabilityPanel as StabilityPanel
    from kit.widgets.stock_panel import StockPanel as StockPanel
    from kit.widgets.stock_panel import SubstancesPanel as SubstancesPanel
    from kit.widgets.triangle_panel import TrianglePanel as TrianglePanel
    from kit.widgets.versions_panel import VersionsPanel as VersionsPanel
    from kit.widgets.weighing_panel import WeighingPanel as WeighingPanel

#: public name -> the module it lives in.
_HOMES = {
    "ActualWeightsPanel": "kit.widgets.actual_weights_panel",
    "Balance": "kit.bench.balance",
    "Bench": "kit.widgets.bench",
    "Bottle": "kit.layers.bottle",
    "BottlePanel": "kit.widgets.bottle_panel",
    "ComparePanel": "kit.widgets.compare_panel",
    "CostPanel": "kit.widgets.cost_panel",
    "DilutionPanel": "kit.widgets.dilution_panel",
    "DosingPanel": "kit.widgets.dosing_panel",
    "FamilyPanel": "kit.widgets.family_panel",
    "FindingsPanel": "kit.widgets.findings_panel",
    "Formula": "kit.formula.model",
    "FormulaPanel": "kit.widgets.formula_panel",
    "Ingredient": "kit.library.ingredient",
    "LabelPanel": "kit.widgets.label_panel",
    "Library": "kit.library.library",
    "LibraryPanel": "kit.widgets.library_panel",
    "Line": "kit.formula.model",
    "OverviewPanel": "kit.widgets.overview_panel",
    "PapersPanel": "kit.widgets.papers_panel",
    "PhPanel": "kit.widgets.ph_panel",
    "Phase": "kit.formula.model",
    "PreservationPanel": "kit.widgets.preservation_panel",
    "RatioPanel": "kit.widgets.ratio_panel",
    "RulesPanel": "kit.widgets.rules_panel",
    "ScalingPanel": "kit.widgets.scaling_panel",
    "SeparationPanel": "kit.widgets.separation_panel",
    "ShelfLifePanel": "kit.widgets.shelf_life_panel",
    "StabilityLog": "kit.stability.log.store",
    "StabilityPanel": "kit.widgets.stability_panel",
    "Stock": "kit.library.ingredient",
    "StockPanel": "kit.widgets.stock_panel",
    "SubstancesPanel": "kit.widgets.stock_panel",
    "TrianglePanel": "kit.widgets.triangle_panel",
    "VersionsPanel": "kit.widgets.versions_panel",
    "WeighingPanel": "kit.widgets.weighing_panel",
    "demo": "kit.demos",
    "make_stock": "kit.bench.dilution",
    "open_bench": "kit.widgets.bench",
    "read_formula": "kit.formula.files",
    "save_formula": "kit.formula.files",
    "weigh": "kit.bench.weighing",
    "window": "kit.layers.window",
}

#: The rooms of calculations, each with public names of its own: ``kit.bench.alligate``, ``dir(kit.bench)``.
_ROOMS = ("bench", "formula", "label", "layers", "library", "liquids", "stability")

__all__ = tuple(_HOMES)


def __getattr__(name: str) -> object:
    """Fetch a public name from its room, or a room itself, on first use."""
    from importlib import import_module

    if name in _ROOMS:
        return import_module(f"kit.{name}")
    if name not in _HOMES:
        raise AttributeError(_unknown(name))
    home = import_module(_HOMES[name])
    found = getattr(home, name)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    return sorted({*__all__, *_ROOMS})


def _unknown(name: str) -> str:
    from difflib import get_close_matches

    sentence = f"kit has no name {name!r}."
    homes = {public.lower(): (public, room) for room in reversed(_ROOMS) for public in _names_of(room)}
    homes |= {public.lower(): (public, "") for public in (*_ROOMS, *__all__)}
    near = get_close_matches(name.lower(), homes, n=1)
    if not near:
        return sentence
    public, room = homes[near[0]]
    if not room:
        return f"{sentence} Did you mean {public!r}?"
    if public == name:
        return f"{sentence} It lives in kit.{room}: write from kit.{room} import {name}."
    return f"{sentence} Did you mean {public!r}, which lives in kit.{room}?"


def _names_of(room: str) -> list[str]:
    import re
    from pathlib import Path

    offered = (Path(__file__).parent / room / "__init__.pyi").read_text(encoding="utf-8")
    return re.findall(r"^from \S+ import (\w+)", offered, re.MULTILINE)
