"""From the state of the bench to the words and numbers that the two drawn widgets show. No arithmetic of its own."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from kit.bench.weighing import SMALL
from kit.errors import KitError
from kit.findings import worst_first
from kit.formula.amounts import read_amount
from kit.formula.versions import stands_as, version_label
from kit.layers.ratio import stacked_bands
from kit.rounding import percent_text

if TYPE_CHECKING:
    from collections.abc import Iterable

    from kit.findings import Finding
    from kit.formula.model import Formula, Line
    from kit.layers.bottle import Standing
    from kit.layers.window import End
    from kit.library.ingredient import PhaseKind
    from kit.widgets.bench import Bench
    from kit.widgets.formula_table.table import FindingView, FormulaView, LineView, PhaseView
    from kit.widgets.ratio_view.view import LayerView, RatioPicture


_LONG_NUMBER = re.compile(r"-?\d+\.\d{5,}(?:e-?\d+)?")

#: Of the places that a finding can name, those that the ratio view shows.
HANDLE_STEP = 0.5


def shown_entry(entry: str) -> str:
    """An entry as the table shows it: a long number is cut to four decimals, or to three digits where it is small.

    Examples
    --------
    >>> shown_entry("7.43870967741935"), shown_entry("0.0000123456"), shown_entry("3,5 %")
    ('7.4387', '1.23e-05', '3,5 %')
    """
    if not _LONG_NUMBER.fullmatch(entry):
        return entry
    return f"{float(entry):.4f}" if abs(float(entry)) >= 0.01 else f"{float(entry):.3g}"


def finding_view(finding: Finding) -> FindingView:
    """One finding for the browser."""
    return {"severity": finding.severity, "sentence": finding.sentence, "source": finding.source}


def change_text(percent: float | None, before: float | None) -> str:
    """How far a percent has moved, or nothing where it has not.

    Examples
    --------
    >>> change_text(4.25, 4.0), change_text(4.0, 4.0), change_text(1.0, None)
    ('+0.25', '', 'new')
    """
    if percent is None:
        return ""
    if before is None:
        return "new"
    moved = percent - before
    return "" if abs(moved) < 5e-5 else f"{moved:+.2f}" if abs(moved) >= 0.005 else f"{moved:+.4f}"


def formula_view(bench: Bench) -> FormulaView:
    """The formula table's view."""
    formula = bench.formula
    findings = bench.product.findings + _batch_findings(bench)
    grams, grams_head = _grams(bench)
    small = _small(bench)
    before = _percents_before(bench)
    moved = not stands_as(formula, bench.start)
    phases: list[PhaseView] = []
    lines: list[list[LineView]] = []
    for p, phase in enumerate(formula.phases):
        phases.append(
            {
                "name": phase.name,
                "kind": phase.kind,
                "total": percent_text(formula.phase_total(p)),
                "colour_index": sum(other.kind == phase.kind for other in formula.phases[:p]),
                "findings": [finding_view(f) for f in findings if f.place.phase == p and f.place.line is None],
            }
        )
        lines.append(
            [
                _line_view(
                    f"{p}.{i}",
                    bench,
                    line,
                    formula.percents[p][i],
                    formula.ratio is not None and formula.percents[p][i] != formula.typed.percents[p][i],
                    grams.get((p, i), ""),
                    change_text(formula.percents[p][i], before.get((p, i))) if moved and not line.is_blank else "",
                    [f for f in findings if (f.place.phase, f.place.line) == (p, i)],
                    is_small=(p, i) in small,
                )
                for i, line in enumerate(phase.lines)
            ]
        )
    whole = [f for f in findings if f.place.phase is None]
    total = next((f for f in whole if f.place.field == "total" and f.severity == "stop"), None)
    return {
        "title": formula.title,
        "subtitle": _subtitle(bench),
        "phases": phases,
        "lines": lines,
        "total": f"{formula.total:.2f} %" if formula.is_complete else f"{formula.total:.6g} %",
        "total_state": "ok" if formula.is_complete else "stop",
        "total_sentence": total.sentence if total else "",
        "findings": [finding_view(f) for f in whole if f is not total],
        "grams_head": grams_head,
        "can_undo": bench.can_undo,
        "can_redo": bench.can_redo,
        "add_name": "",
    }


def _percents_before(bench: Bench) -> dict[tuple[int, int], float | None]:
    """What each line was at the start, found by phase and material; the first of two alike goes with the first."""
    start, now = bench.start, bench.formula
    names = {phase.name for phase in start.phases}
    renamed = [phase.name for phase in start.phases if phase.name not in {phase.name for phase in now.phases}]
    old: dict[tuple[str, str], list[float | None]] = {}
    for p, _, line, percent in start.each_line():
        old.setdefault((start.phases[p].name, line.material), []).append(percent)
    found = {}
    for p, phase in enumerate(now.phases):
        at_its_place = start.phases[p].name if p < len(start.phases) else ""
        name = at_its_place if phase.name not in names and at_its_place in renamed else phase.name
        for i, line in enumerate(phase.lines):
            if known := old.get((name, line.material)):
                found[p, i] = known.pop(0)
    return found


def _line_view(
    key: str,
    bench: Bench,
    line: Line,
    percent: float | None,
    is_moved: bool,
    grams: str,
    change: str,
    findings: Iterable[Finding],
    *,
    is_small: bool,
) -> LineView:
    known = bench.product.materials.ingredient(line.material) if line.material else None
    findings = worst_first(findings)
    return {
        "key": key,
        "material": line.material,
        "plain": known.plain_name if known else "",
        "entry": shown_entry(repr(percent) if is_moved and read_amount(line.entry).kind != "rest" else line.entry),
        "percent": "" if line.is_blank else percent_text(percent),
        "grams": grams,
        "hold": line.hold,
        "change": change,
        "findings": [finding_view(finding) for finding in findings],
        "field_marks": {f.place.field: f.severity for f in reversed(findings)}
        | ({"grams": "caution"} if is_small else {}),
    }


def _grams(bench: Bench) -> tuple[dict[tuple[int, int], str], str]:
    try:
        batch = bench.product.batch
    except KitError:
        return {}, "g"
    grams = {(w.phase, w.line): w.text for w in batch.weighings}
    return grams, f"g in {batch.mass:.10g} g"


def _batch_findings(bench: Bench) -> list[Finding]:
    try:
        return bench.product.weighing_findings
    except KitError:
        return []


def _small(bench: Bench) -> set[tuple[int, int]]:
    """The lines that are marked as too small to weigh; in words it is said once, for all of them."""
    told = any(finding.matter == SMALL for finding in _batch_findings(bench))
    return {(w.phase, w.line) for w in bench.product.batch.small} if told else set()


def _subtitle(bench: Bench) -> str:
    formula = bench.formula
    parts = [formula.description.words, version_label(formula), moved_words(formula)]
    if formula.note:
        parts.append(formula.note)
    return " · ".join(part for part in parts if part)


def moved_words(formula: Formula) -> str:
    """Where the layers were moved to, beside the amounts as typed; empty while they are as typed."""
    if formula.ratio is None:
        return ""
    was = formula.typed.percents
    layers: tuple[PhaseKind, ...] = ("oil",) if formula.ratio.other is None else ("oil", "other")
    moved = []
    for kind in layers:
        places = [p for p, phase in enumerate(formula.phases) if phase.kind == kind]
        now, typed = sum(map(formula.phase_total, places)), sum(x or 0.0 for p in places for x in was[p])
        moved.append(f"{kind} layer moved from {typed:.6g} % as typed to {now:.6g} %")
    return ", ".join(moved)


def ratio_picture(bench: Bench, serial: int = 0) -> RatioPicture:
    """The ratio view's view; only a message where there is nothing to draw."""
    try:
        path, window, standing = bench.path, bench.window, bench.product.standing
    except KitError as error:
        return {"message": str(error), "serial": serial}
    colours = {phase.kind: phase.colour for phase in reversed(bench.formula.phases)}
    oil, surface = bench.product.oil, standing[-1].top
    one = bench.formula.description.is_one_piece
    drag = "" if one else "; drag the line between the layers"
    seen = "" if one else f" · {bench.heights.height_share(oil):.1f} % of the {surface:.0f} mm seen"
    return {
        "subtitle": f"{bench.bottle.name}, {bench.fill:g} mL in it{drag}",
        "axis": f"oil {'phase' if one else 'layer'}, % of the whole by mass · outside the window is hatched",
        "outline": bench.bottle.half_widths(),
        "height": bench.bottle.height,
        "layers": [_layer_view(layer, colours) for layer in standing],
        "room_label": f"{'air' if one else 'room to shake'}, {100 * (1 - bench.fill / bench.bottle.brimful):.0f} %",
        "grip": standing[-1].bottom if len(standing) == 2 else None,
        "most": path.most,
        "now": round(oil, 6),
        "now_label": f"{oil:.1f} % now{seen}",
        "step": HANDLE_STEP,
        "bands": [
            {"name": b.name, "kind": b.kind, "points": list(b.points), "colour": colours[b.kind]}
            for b in stacked_bands(path)
        ],
        "low": {"at": window.low, "label": _end_label(window.low_end)},
        "high": {"at": window.high, "label": _end_label(window.high_end)},
        "is_open": window.is_open,
        "crossings": [{"at": end.at, "label": _end_label(end)} for end in window.ends],
        "serial": serial,
    }


def _layer_view(standing: Standing, colours: dict[PhaseKind, str]) -> LayerView:
    layer = standing.layer
    return {
        "kind": layer.kind,
        "name": layer.name,
        "bottom": standing.bottom,
        "top": standing.top,
        "label": f"{standing.height:.0f} mm · {layer.density:.3f} g/mL",
        "colour": colours[layer.kind],
    }


def _end_label(end: End) -> str:
    habit = " (a habit of the trade)" if end.kind == "habit" else ""
    return f"{end.word} {end.at:.1f} %: {end.rule}{habit}"


def materials_names(bench: Bench) -> list[list[Any]]:
    """The names for type-ahead: the formula's own materials first."""
    own = [[material.name, getattr(material, "plain_name", "own stock")] for material in bench.formula.materials]
    return own + [list(pair) for pair in bench.library.names()]
