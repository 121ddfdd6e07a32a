"""Every paper of the kit, made out with one text in every field that a person can fill."""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import date
from typing import TYPE_CHECKING

from kit.bench.making import from_pure
from kit.bench.price import PackItem, Price
from kit.bench.price_list import PriceList
from kit.findings import Finding
from kit.formula.expansion import Materials
from kit.formula.model import Formula, Line, Phase, Rule, Variant
from kit.label.particulars import Particulars
from kit.library.ingredient import Figure, Ingredient, Stock
from kit.library.library import Library
from kit.library.sources import OWN
from kit.papers.batch_sheet import BatchSheet, Control, SheetDetails, batch_sheet_html
from kit.papers.desk import Desk
from kit.papers.record_sheet import record_sheet_html
from kit.papers.stability_plan import stability_plan_html
from kit.papers.stability_report import stability_report_html
from kit.papers.stock_sheet import StockSheet, stock_sheet_html
from kit.stability.plan import Attribute, Condition, Plan, TimePoint
from kit.stability.study import Observation, Study

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

#: A text that harms nobody, for comparison. It must differ from every name that the papers hold themselves.
TAME = "zzz"


def stock_of(text: str) -> Stock:
    """A stock with the text in every field."""
    contents = {text: 10.0, "Aqua": 90.0}
    return Stock(
        text + " stock", contents, text, 10.0, density=Figure(1.04, OWN), made_on=text, keep_until=text, note=text
    )


def own_of(text: str) -> Ingredient:
    """An own ingredient with the text in every field."""
    return Ingredient(text + " own", text, (text,), (text,), "oil", density=Figure(0.9, OWN), note=text, own=True)


def formula_of(text: str) -> Formula:
    """A complete two-layer formula with the text in every field."""
    water = Phase(
        text,
        "water",
        (
            Line("Aqua", "q.s.", "fill", text),
            Line(text, "4", "share", text),
            Line(text + " stock", "3", "share", text),
            Line("Sodium Benzoate", "0.4", "level", text),
        ),
    )
    oil = Phase(text + " oil", "oil", (Line("Squalane", "14", "fill", text), Line(text + " own", "1", "share", text)))
    rules = (Rule(text, 1.0, 9.0, reason=text), Rule("Sodium Benzoate", 0.4, 0.6, "water", text))
    before = Formula(text, (water, oil), note=text, change_note=text)
    return Formula(
        text,
        (water, oil),
        version=2,
        body_part=text,
        materials=(stock_of(text), own_of(text)),
        rules=rules,
        steps=(text, text),
        note=text,
        change_note=text,
        variants=(Variant(text, (water, Phase(text + " oil", "oil", (Line(text, "15"),))), text),),
        earlier=(before,),
    )


def details_of(text: str) -> SheetDetails:
    """Everything that is written by hand."""
    return SheetDetails(text, text, text)


def prices_of(text: str) -> PriceList:
    """A price list with the text in every field."""
    prices = (Price("Aqua", 5, "L", 2.0, note=text), Price(text, 100, "g", 9.0, lot=text, note=text))
    return PriceList("EUR", prices, (PackItem(text, 10, 4.0, 1, note=text),), text)


def label_details_of(text: str) -> Particulars:
    """Everything that can be typed for a label."""
    words = {f.name: text for f in fields(Particulars) if f.type in ("str", str) and f.name != "content"}
    return Particulars(**words, imported=True)  # type: ignore[arg-type]


def study_of(text: str) -> tuple[Study, list[Observation]]:
    """A study and readings of it with the text in every field, one of them corrected and one beyond its limit."""
    conditions = (
        Condition(text, text + " label", 4, 8, 6, text, text, text),
        Condition("warm", text + " w", 40, 40, 40),
    )
    points = (TimePoint(text, 0, 1), TimePoint(text + " late", 28, 2), TimePoint(text + " last", 56, 2))
    attributes = (
        Attribute("ph", text, "number", text, text, 4.0, 5.0, source=text),
        Attribute("look", text + " look", "text", how=text, source=text),
        Attribute("smell", text + " smell", "grade", how=text, upper=1, scale=(text, text + "1", text + "2")),
        Attribute("colour", text + " colour", "colour", how=text, change=2.0),
    )
    plan = Plan(text, text, conditions, points, attributes, text, text)
    study = Study(1, text, plan, (text, text + " two"), date(2026, 1, 5), text)
    rows: list[Observation] = []

    def add(batch: str, condition: str, point: TimePoint, attribute: str, value: str, number: float | None) -> None:
        rows.append(
            Observation(
                len(rows) + 1,
                1,
                batch,
                condition,
                point.label,
                attribute,
                value,
                number,
                study.due_on(point),
                text,
                text,
            )
        )

    for batch in study.batches:
        for condition in plan.conditions:
            for n, point in enumerate(points):
                add(batch, condition.key, point, "ph", f"{4.6 + n / 4}", 4.6 + n / 4)
                add(batch, condition.key, point, "look", text, None)
                add(batch, condition.key, point, "smell", str(n), n)
                add(batch, condition.key, point, "colour", f"{60 + n}.0 4.5 18.0", None)
    first = rows[0]
    rows.append(
        Observation(
            len(rows) + 1, 1, first.batch, first.condition, first.time_point, "ph", "4.7", 4.7, first.observed_on, text,
            text, first.id, text, text, 1, text,
        )
    )  # fmt: skip
    return study, rows


def _batch_sheet(text: str) -> str:
    desk = Desk(formula_of(text))
    batch = desk.batch[0]
    assert batch is not None
    findings = [Finding("stop", text, source=text), Finding("note", text, source=text)]
    sheet = BatchSheet(
        batch, desk.size, desk.materials, findings, desk.standing, desk.bottle, desk.filled, details_of(text),
        ph=text, controls=[Control(text, text)], lots={text: text},
    )  # fmt: skip
    return batch_sheet_html(sheet)


def _stock_sheet(text: str) -> str:
    materials = Materials(Library.bundled(), (stock_of(text),))
    making = from_pure(stock_of(text), "250 g")
    return stock_sheet_html(StockSheet(making, materials, None, [Finding("stop", text, source=text)], details_of(text)))


def _report(text: str) -> str:
    study, rows = study_of(text)
    return stability_report_html(study, rows, today=date(2026, 4, 1), written_by=text)


#: Name → the paper, as HTML, with a text in every field.
PAPERS: Mapping[str, Callable[[str], str]] = {
    "batch sheet": _batch_sheet,
    "batch sheet that cannot be weighed": lambda text: (
        Desk(Formula(text, (Phase(text, "water", (Line(text, text, note=text), Line("Aqua", "5"))),), steps=(text,)))
        .batch_sheet(details_of(text), ph=text, lots={text: text})
        .html
    ),
    "formula card that cannot be weighed": lambda text: (
        Desk(Formula(text, (Phase(text, "water", (Line(text, text, note=text), Line("Aqua", "5"))),), steps=(text,)))
        .formula_card(keeping=text)
        .html
    ),
    "formula card": lambda text: Desk(formula_of(text)).formula_card(keeping=text).html,
    "stock labels": lambda text: Desk(formula_of(text)).stock_labels(details_of(text), copies=3).html,
    "stock sheet": _stock_sheet,
    "cost sheet": lambda text: Desk(formula_of(text), prices=prices_of(text)).cost_sheet(details_of(text)).html,
    "label text": lambda text: Desk(formula_of(text)).label_text(label_details_of(text)).html,
    "label text for the United States": lambda text: (
        Desk(formula_of(text), place="us").label_text(replace(label_details_of(text), content="80 g")).html
    ),
    "comparison": lambda text: Desk(formula_of(text), prices=prices_of(text)).comparison({text: formula_of(text)}).html,
    "stability plan": lambda text: stability_plan_html(study_of(text)[0]),
    "record sheet": lambda text: record_sheet_html(study_of(text)[0], text + " last", study_of(text)[1]),
    "stability report": _report,
}
