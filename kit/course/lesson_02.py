"""Exercises of lesson 02: products in two layers. All products are invented."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.course.catalogue import exercise_of
from kit.course.tasks import Goal, choice, draw_the_line, find, number, order
from kit.layers.density import mix_densities
from kit.layers.ratio import RatioPath

if TYPE_CHECKING:
    from kit.course.draw import Draw
    from kit.course.tasks import Task
    from kit.formula.model import Formula


@exercise_of("02", "choice")
def which_layer_is_below(draw: Draw) -> Task:
    """Which layer is below."""
    oil, water = draw.step(1.02, 1.08, 0.01), draw.step(0.9, 0.96, 0.01)
    return choice(
        draw,
        f"A water layer with much alcohol weighs {water:g} g/mL, an oil layer {oil:g} g/mL. What stands below?",
        "The oil layer",
        {
            "The water layer": "the denser layer is below, also when that is the oil",
            "They mix": "two layers that do not dissolve in one another stay two; density says only which is below",
        },
        ["Look at the densities, not at the names.", "The denser one sinks."],
        f"{oil:g} is more than {water:g}: the oil layer sinks.",
    )


@exercise_of("02", "number")
def density_of_a_blend(draw: Draw) -> Task:
    """Density of an oil blend."""
    share, light, heavy = draw.step(30, 70, 5), draw.step(0.76, 0.82, 0.01), draw.step(0.93, 0.96, 0.01)
    mixed = mix_densities([(share, light), (100 - share, heavy)])
    answer = mixed.density if mixed else 0.0
    return number(
        f"{share:g} % w/w of an oil of {light:g} g/mL and {100 - share:g} % of one of {heavy:g} g/mL. What is the "
        "density of the blend (ideal volumes), in g/mL to three digits?",
        answer,
        "g/mL",
        [
            ((share * light + (100 - share) * heavy) / 100, "you averaged densities by mass; it is volumes that add"),
            (100 / ((100 - share) / light + share / heavy), "the two oils are turned round"),
        ],
        ["Volumes add: what room does each take?", f"{share:g} g take {share / light:.4g} mL."],
        f"100 / ({share:g}/{light:g} + {100 - share:g}/{heavy:g}) = {answer:.4f} g/mL (ideal volumes).",
        0.06,
    )


@exercise_of("02", "number")
def oil_share_of_the_height(draw: Draw) -> Task:
    """Oil's share of the height."""
    oil, light, heavy = draw.step(20, 60, 5), draw.step(0.8, 0.9, 0.01), draw.step(1.01, 1.06, 0.01)
    high, low = oil / light, (100 - oil) / heavy
    return number(
        f"The oil layer is {oil:g} % by mass and {light:g} g/mL, the water layer {heavy:g} g/mL. What part of the "
        "height is oil in a straight bottle, in %?",
        100 * high / (high + low),
        "%",
        [
            (oil, "you took the percent by mass for the percent of the height"),
            (100 * oil * light / (oil * light + (100 - oil) * heavy), "you multiplied by the densities, not divided"),
            (100 * high / low, "you divided by the other layer, not by both"),
        ],
        ["In a straight bottle height is volume.", f"{oil:g} g of oil layer take {high:.4g} mL."],
        f"{high:.4g} mL of oil and {low:.4g} mL of water: {100 * high / (high + low):.4g} %.",
    )


@exercise_of("02", "number")
def level_in_a_smaller_layer(draw: Draw) -> Task:
    """What keeps its percent of the whole."""
    percent, before, after = draw.step(0.3, 0.6, 0.05), draw.step(10, 20, 1), draw.step(30, 45, 1)
    answer = 100 * percent / (100 - after)
    return number(
        f"Sodium benzoate keeps its {percent:g} % of the whole. The oil layer grows from {before:g} to {after:g} %. "
        "What percent of the water layer is it then?",
        answer,
        "%",
        [
            (percent, "you gave the percent of the whole"),
            (100 * percent / (100 - before), "you gave what it was before the layer shrank"),
            (100 * percent / after, "you took the other layer"),
            (percent * (100 - after) / 100, "you multiplied by the layer's share, not divided"),
        ],
        ["How large is the water layer then?", f"{100 - after:g} % of the whole."],
        f"100 × {percent:g} / (100 − {after:g}) = {answer:.4g} %.",
    )


@exercise_of("02", "number")
def where_a_rule_ends(draw: Draw) -> Task:
    """Where a rule ends the window."""
    percent, most = draw.step(0.3, 0.45, 0.05), draw.step(0.55, 0.75, 0.05)
    answer = 100 * (1 - percent / most)
    return number(
        f"A preservative keeps its {percent:g} % of the whole in the water layer and may be at most {most:g} % of that "
        "layer. Up to what percent of oil layer does the rule hold?",
        answer,
        "%",
        [
            (100 * percent / most, "you gave the water layer, not the oil layer"),
            (100 * percent, "you forgot the rule's own number"),
        ],
        ["How small may the water layer get?", f"{percent:g} must be at most {most:g} % of it."],
        f"Water layer at least 100 × {percent:g} / {most:g} %; so oil layer at most {answer:.4g} %.",
    )


@exercise_of("02", "number")
def what_keeps_its_share(draw: Draw) -> Task:
    """What keeps its share of the layer."""
    percent, before, after = draw.step(2, 6, 0.5), draw.step(10, 18, 1), draw.step(24, 40, 1)
    answer = percent * (100 - after) / (100 - before)
    return number(
        f"Glycerin is {percent:g} % of the whole and keeps its share of the water layer. The oil layer goes from "
        f"{before:g} to {after:g} %. What percent of the whole is glycerin then?",
        answer,
        "%",
        [
            (percent, "you let it keep its percent of the whole"),
            (percent * (100 - before) / (100 - after), "you turned the two ratios round"),
            (100 * percent / (100 - before), "you gave its percent of the layer"),
            (percent * (1 - (after - before) / 100), "you took off the points by which the layer shrank"),
        ],
        ["Its percent of the layer stays.", f"The water layer goes from {100 - before:g} to {100 - after:g} %."],
        f"{percent:g} × {100 - after:g} / {100 - before:g} = {answer:.4g} %.",
        0.4,
    )


@exercise_of("02", "draw")
def reach_a_level_in_the_water(draw: Draw) -> Task:
    """Reach a level in the water layer."""
    wanted = draw.step(0.46, 0.56, 0.02)

    def level(formula: Formula) -> float:
        rows = zip(formula.percents, formula.phases, strict=True)
        lines = [(row, phase) for row, phase in rows if phase.kind == "water"]
        water = sum(sum(filter(None, row)) for row, _ in lines)
        pairs = [pair for row, phase in lines for pair in zip(row, phase.lines, strict=True)]
        held = sum(percent or 0.0 for percent, line in pairs if line.material == "Sodium Benzoate")
        return 100 * held / water if water else 0.0

    def fault(formula: Formula) -> str:
        now = level(formula)
        return "" if abs(now - wanted) <= 0.003 else f"It is {now:.3f} % of the water layer, not {wanted:g} %."

    def reach(formula: Formula) -> Formula:
        whole = sum(
            percent or 0.0
            for row, phase in zip(formula.percents, formula.phases, strict=True)
            for percent, line in zip(row, phase.lines, strict=True)
            if line.material == "Sodium Benzoate"
        )
        return RatioPath.of(formula).at(100 - 100 * whole / wanted)

    return draw_the_line(
        f"Move the ratio of the shake so that sodium benzoate, which keeps its % of the whole, is {wanted:g} % of the "
        "water layer (within 0.003).",
        Goal(fault, reach),
        ["Does the water layer have to grow or to shrink?", "0.4 % of the whole, divided by the layer's share."],
        f"The water layer must be 100 × 0.4 / {wanted:g} % of the whole (where the line stands at 0.4 %).",
    )


@exercise_of("02", "order")
def by_density(draw: Draw) -> Task:
    """From the lightest to the densest."""
    return order(
        draw,
        "Put these in order as they would stand in a tube, the uppermost first (20 °C).",
        ["isododecane, 0.75 g/mL", "coco-caprylate, 0.86 g/mL", "an olive oil, 0.91 g/mL", "water", "glycerol"],
        ["What is light stands above.", "Glycerol weighs 1.26 g/mL."],
        "The lightest above: 0.75, 0.86, 0.91, 1.00 and 1.26 g/mL (whether they dissolve in one another is aside).",
        "you began with the densest; that one lies at the floor",
    )


@exercise_of("02", "find")
def the_line_that_moved_wrongly(draw: Draw) -> Task:
    """The line that moved wrongly."""
    after = draw.step(20, 30, 1)
    keep, grow = (100 - after) / 90, after / 10
    right = {"Glycerin": 4.5 * keep, "Sodium Benzoate": 0.4, "Squalane": 3.0 * grow, "Tocopherol": 0.2 * grow}
    said = {"Glycerin": 4.5, "Sodium Benzoate": 0.4, "Squalane": 3.0, "Tocopherol": 0.2}
    wrong = draw.one("Glycerin", "Squalane", "Tocopherol")
    holds = {name: "% of the whole" if name == "Sodium Benzoate" else "% of its layer" for name in said}
    rows = [
        [name, holds[name], f"{said[name]:g}", f"{said[name] if name == wrong else right[name]:.3f}"] for name in said
    ]
    return find(
        f"The oil layer went from 10 % to {after:g} %. Which line was not moved as it holds?",
        [["line", "keeps its", "before, %", "after, %"], *rows],
        wrong,
        {"Sodium Benzoate": "it keeps its percent of the whole, so it may stay"},
        ["What keeps its percent of a layer changes with the layer.", "Which line stayed and should not have?"],
        f"{wrong} keeps its percent of its layer: it had to come to {right[wrong]:.3f} %.",
    )
