"""A formula as a plain record of tables, the shape that TOML and XLSX files share."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, cast

from kit.formula.model import Line, Phase
from kit.formula.steps import step_record
from kit.inputs import inputs_of
from kit.library.description import Description
from kit.library.ingredient import Ingredient, Stock
from kit.rounding import all_digits

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from kit.formula.model import Answer, Formula, MeasuredDensity, PhReading, Rule, Variant
    from kit.library.ingredient import PhaseKind

Record = dict[str, Any]

#: Where a rule counts: the word in the file and the word in the model.
RULE_OF = {"whole": "whole", "water layer": "water", "oil layer": "oil", "other layer": "other"}
_RULE_WORDS = {kind: word for word, kind in RULE_OF.items()}


def to_record(formula: Formula) -> Record:
    """A formula as plain tables, empty fields left out."""
    return _filled(
        {
            "title": formula.title,
            "version": None if formula.changed else formula.version,
            "changed_since_version": formula.version if formula.changed else None,
            "oil_layer_moved_to": formula.ratio.oil if formula.ratio else None,
            "other_layer_moved_to": formula.ratio.other if formula.ratio else None,
            **_description_record(formula.description),
            "written_for": f"{all_digits(formula.written_for)} g" if formula.written_for else "",
            "note": formula.note,
            "change_note": formula.change_note,
            "steps": [step_record(step) for step in formula.steps],
            "phase": [_phase_record(phase) for phase in formula.phases],
            "stock": [_stock_record(item) for item in formula.materials if isinstance(item, Stock)],
            "ingredient": [_ingredient_record(item) for item in formula.materials if isinstance(item, Ingredient)],
            "rule": [_rule_record(rule) for rule in formula.rules],
            "answer": [_answer_record(answer) for answer in formula.answers],
            "measured_ph": _ph_record(formula.measured_ph),
            "measured_density": [_density_record(measured) for measured in formula.densities],
            "variant": [_variant_record(variant) for variant in formula.variants],
            "earlier": [_earlier_record(old, formula) for old in formula.earlier],
        }
    )


def _description_record(description: Description) -> Record:
    """What a product is, each word as a rule reads it."""
    values = {one.name: getattr(description, one.name) for one in inputs_of(Description)}
    return {name: list(value) if isinstance(value, tuple) else value for name, value in values.items()}


def _answer_record(answer: Answer) -> Record:
    return _filled({"to": answer.matter, "because": answer.because, "day": answer.day})


def _filled(record: Record) -> Record:
    return {key: value for key, value in record.items() if value not in ("", None, [], {}, ())}


def _phase_record(phase: Phase) -> Record:
    lines = [
        _filled(
            {
                "ingredient": line.material,
                "amount": line.entry,
                "holds": line.hold,
                "note": line.note,
                "more": dict(line.more),
            }
        )
        for line in phase.lines
    ]
    return _filled({"name": phase.name, "layer": phase.kind, "colour": phase.colour, "line": lines})


def _stock_record(stock: Stock) -> Record:
    return _filled(
        {
            "name": stock.name,
            "active": stock.active,
            "strength": stock.strength,
            "basis": stock.basis,
            "layer": stock.phase,
            "contents": dict(stock.contents),
            "density": stock.density.value if stock.density else None,
            "made_on": stock.made_on,
            "keep_until": stock.keep_until,
            "note": stock.note,
        }
    )


def _ingredient_record(own: Ingredient) -> Record:
    return _filled(
        {
            "inci": own.inci,
            "plain_name": own.plain_name,
            "roles": list(own.roles),
            "layer": own.phase,
            "charge": own.charge,
            "density": own.density.value if own.density else None,
            "composition": dict(own.composition),
            "note": own.note,
        }
    )


def _rule_record(rule: Rule) -> Record:
    return _filled(
        {
            "ingredient": rule.material,
            "least": rule.low,
            "most": rule.high,
            "of": _RULE_WORDS[rule.of],
            "reason": rule.reason,
        }
    )


def _ph_record(measured: PhReading | None) -> float | Record:
    """The number alone, or with its day; an empty table where nothing was measured."""
    if measured is None:
        return {}
    return {"value": measured.value, "day": measured.day} if measured.day else measured.value


def _density_record(measured: MeasuredDensity) -> Record:
    return {
        "layer": measured.layer,
        "density": measured.value,
        "uncertainty": measured.uncertainty,
        "degrees": measured.celsius,
        "mix": dict(measured.mix),
    }


def _rows(phases: tuple[Phase, ...]) -> list[list[str]]:
    """Lines as rows; a line's note is a sixth cell, left out where there is none."""
    return [
        [phase.name, phase.kind, line.material, line.entry, line.hold, *([line.note] if line.note else [])]
        for phase in phases
        for line in phase.lines
    ]


def phases_of(rows: Iterable[Sequence[str]], current: Formula) -> tuple[Phase, ...]:
    """The phases of such rows; colours are those of the current formula."""
    phases: dict[tuple[str, str], list[Line]] = {}
    for name, kind, material, entry, hold, *note in rows:
        phases.setdefault((name, kind), []).append(Line(material, entry, hold, *note))  # type: ignore[arg-type]
    colours = {phase.name: phase.colour for phase in current.phases}
    return tuple(
        Phase(name, cast("PhaseKind", kind), tuple(lines), colours.get(name, ""))
        for (name, kind), lines in phases.items()
    )


def _variant_record(variant: Variant) -> Record:
    """A member of the family: its lines as rows, or as phases where they hold what no row can say."""
    about = {"name": variant.name, "note": variant.note}
    if any(line.more for phase in variant.phases for line in phase.lines):
        return _filled({**about, "phase": [_phase_record(phase) for phase in variant.phases]})
    return _filled({**about, "lines": _rows(variant.phases)})


def _earlier_record(old: Formula, current: Formula) -> Record:
    """An earlier version: its lines as rows, and what else was different then, also where it was empty."""
    written_for = f"{all_digits(old.written_for)} g" if old.written_for else ""
    record = _filled(
        {
            "version": old.version,
            "title": old.title,
            "change_note": old.change_note,
            "written_for": written_for,
            "lines": _rows(old.phases),
        }
    )
    if phases_of(record.get("lines", ()), current) != old.phases:  # rows cannot say all of it
        record.pop("lines", None)
        record["phase"] = [_phase_record(phase) for phase in old.phases]
    then, now = _about(old), _about(current)
    return {**record, **{key: value for key, value in then.items() if value != now[key]}}


def _about(formula: Formula) -> Record:
    """What an earlier version may have had otherwise, besides its lines."""
    return {
        **_description_record(formula.description),
        "note": formula.note,
        "steps": [step_record(step) for step in formula.steps],
        "stock": [_stock_record(item) for item in formula.materials if isinstance(item, Stock)],
        "ingredient": [_ingredient_record(item) for item in formula.materials if isinstance(item, Ingredient)],
        "rule": [_rule_record(rule) for rule in formula.rules],
        "measured_ph": _ph_record(formula.measured_ph),
        "measured_density": [_density_record(measured) for measured in formula.densities],
    }
