"""Every paper of the kit, made out with one text in every field that a person can fill."""

from __future__ import annotations

from dataclasses import fields, replace
from datetime import date
from typing import TYPE_CHECKING, Any

from kit.bench.making import from_pure
from kit.bench.price import PackItem, Price
from kit.bench.price_list import PriceList
from kit.blends.bottles import weigh_bottles
from kit.blends.designs import Bottle
from kit.course.enclosed import Enclosed
from kit.course.hand_in import Mark
from kit.course.marking import ClassMarks, Learner
from kit.findings import Finding
from kit.formula.expansion import Materials
from kit.formula.model import Formula, Line, Phase, Rule, Variant
from kit.formula.versions import version_label
from kit.label.particulars import Particulars
from kit.library.description import Description
from kit.library.ingredient import Figure, Ingredient, Stock
from kit.library.library import Library
from kit.library.sources import OWN
from kit.papers.batch_sheet import Control
from kit.papers.blend_bottles import TrialInMaking
from kit.papers.comparison import beside
from kit.papers.paper import StudyRecord
from kit.papers.registry import filled, make_paper, spec_of
from kit.papers.stock_sheet import StockInMaking
from kit.product.product import Product
from kit.stability.plan import Attribute, Condition, Plan, TimePoint
from kit.stability.study import Observation, Study

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from kit.papers.paper import Paper

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
        description=Description(body_part=text),
        materials=(stock_of(text), own_of(text)),
        rules=rules,
        steps=(text, text),
        note=text,
        change_note=text,
        variants=(Variant(text, (water, Phase(text + " oil", "oil", (Line(text, "15"),))), text),),
        earlier=(before,),
    )


def details_of(text: str) -> dict[str, str]:
    """Everything that is written by hand."""
    return {"lot": text, "made_by": text, "made_on": text}


def written(name: str, about: object, **options: Any) -> Paper:
    """A paper with these options."""
    return make_paper(name, about, spec_of(name).options(**options))


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
    product, spec = Product(formula_of(text)), spec_of("batch_sheet")
    assert product.batch is not None
    options = spec.options(**details_of(text), ph=text, controls=[Control(text, text)], lots={text: text})
    findings = [Finding("stop", text, source=text), Finding("note", text, source=text)]
    return filled(spec, spec.context(product, options) | {"findings": findings}).html


def _class(text: str) -> ClassMarks:
    """A class with the text in every name, mistake and reason."""
    mark = Mark("01.stock_for_strength", right=False, tries=2, mistakes=(text,), hints=1, doubts=1)
    return ClassMarks((Learner(text, text, (mark,), 5.0, _enclosed(text)),), ((text, text),))


def _enclosed(text: str) -> tuple[Enclosed, ...]:
    return (
        Enclosed("formula", text, "a_formula_1.toml", text.encode(errors="replace")),
        Enclosed("picture", text, "a_1.jpg", b"", b"\xff\xd8"),
        Enclosed("picture", text, "", fault=text),
    )


def _half(text: str) -> Product:
    """A formula that cannot be weighed."""
    line = Line(text, text, note=text)
    return Product(Formula(text, (Phase(text, "water", (line, Line("Aqua", "5"))),), steps=(text,)))


def _stock_sheet(text: str) -> str:
    materials = Materials(Library.bundled(), (stock_of(text),))
    making = from_pure(stock_of(text), "250 g")
    about = StockInMaking(making, materials, None, [Finding("stop", text, source=text)])
    return written("stock_sheet", about, **details_of(text)).html


def trial_of(text: str) -> TrialInMaking:
    """Bottles of a trial with the text in every field."""
    bottles = [Bottle(1, text, (60.0, 40.0)), Bottle(2, text + " two", (0.0, 100.0))]
    made = weigh_bottles(bottles, (text, text + " own"), "20 g", base={"Tocopherol": 0.2})
    return TrialInMaking(made, Materials(Library.bundled(), (own_of(text),)), text, (text, text + " shine"))


def _comparison(text: str) -> str:
    product = Product(formula_of(text), prices=prices_of(text))
    versions = beside({text: formula_of(text)}, version_label(product.formula), product.formula)
    return written("comparison", product, versions=versions).html


def _study(text: str) -> StudyRecord:
    study, rows = study_of(text)
    return StudyRecord(study, tuple(rows))


#: Name → the paper, as HTML, with a text in every field.
PAPERS: Mapping[str, Callable[[str], str]] = {
    "batch sheet": _batch_sheet,
    "batch sheet that cannot be weighed": lambda text: (
        written("batch_sheet", _half(text), **details_of(text), ph=text, lots={text: text}).html
    ),
    "formula card that cannot be weighed": lambda text: written("formula_card", _half(text), keeping=text).html,
    "formula card": lambda text: written("formula_card", Product(formula_of(text)), keeping=text).html,
    "stock labels": lambda text: written("stock_labels", Product(formula_of(text)), **details_of(text), copies=3).html,
    "stock sheet": _stock_sheet,
    "bottles of a trial": lambda text: written("blend_bottles", trial_of(text), **details_of(text)).html,
    "cost sheet": lambda text: (
        written("cost_sheet", Product(formula_of(text), prices=prices_of(text)), **details_of(text)).html
    ),
    "label text": lambda text: (
        written("label_text", Product(formula_of(text), particulars=label_details_of(text))).html
    ),
    "label text for the United States": lambda text: (
        written(
            "label_text",
            Product(formula_of(text), jurisdiction="us", particulars=replace(label_details_of(text), content="80 g")),
        ).html
    ),
    "formula card in its long form": lambda text: (
        written("formula_card", Product(formula_of(text)), keeping=text, long=True).html
    ),
    "label text in its long form": lambda text: (
        written("label_text", Product(formula_of(text), particulars=label_details_of(text)), long=True).html
    ),
    "class table": lambda text: written("class_table", _class(text), course=text, marked_on=text).html,
    "comparison": _comparison,
    "stability plan": lambda text: written("stability_plan", _study(text)).html,
    "record sheet": lambda text: written("record_sheet", _study(text), pull=text + " last").html,
    "stability report in its long form": lambda text: (
        written("stability_report", _study(text), today="2026-04-01", written_by=text, long=True).html
    ),
    "stability report": lambda text: (
        written("stability_report", _study(text), today="2026-04-01", written_by=text).html
    ),
}
