"""The formula table: type a formula, and see each finding beside the line it concerns."""

from __future__ import annotations

from kit.widgets.formula_table.table import (
    Edit,
    FindingView,
    FormulaTable,
    FormulaView,
    LineView,
    PhaseView,
    read_edit,
)

__all__ = ["Edit", "FindingView", "FormulaTable", "FormulaView", "LineView", "PhaseView", "read_edit"]
