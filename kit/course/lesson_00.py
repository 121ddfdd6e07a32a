"""Exercises of lesson 00: from percentages on paper to a bottle. All products are invented."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.course.catalogue import exercise_of
from kit.course.tasks import Goal, choice, draw_the_line, find, number, order
from kit.layers.ratio import RatioPath

if TYPE_CHECKING:
    from kit.course.draw import Draw
    from kit.course.tasks import Task
    from kit.formula.model import Formula


@exercise_of("00", "number")
def grams_of_a_line(draw: Draw) -> Task:
    """Grams of a line."""
    percent, batch = draw.step(1.5, 9, 0.5), draw.step(150, 900, 50)
    return number(
        f"A toner holds {percent:g} % w/w glycerin. How much of it goes into a batch of {batch:g} g?",
        batch * percent / 100,
        "g",
        [
            (batch * percent / (100 - percent), "you took percent of the rest for percent of the whole"),
            (batch / percent, "you divided by the percent"),
        ],
        ["% w/w says grams in 100 g of the whole.", f"{percent:g} g in 100 g: how many hundreds has the batch?"],
        f"{batch:g} g × {percent:g} / 100 = {batch * percent / 100:g} g.",
        0.3,
    )


@exercise_of("00", "number")
def what_q_s_comes_to(draw: Draw) -> Task:
    """What q.s. comes to."""
    oil, glycerin, stock, salt = draw.step(10, 30, 1), draw.step(3, 8, 0.5), draw.step(2, 6, 0.5), 0.5
    water = 100 - oil - glycerin - stock - salt
    return number(
        f"The oil layer is {oil:g} % of the whole. The water layer holds glycerin {glycerin:g} %, citric acid stock "
        f"{stock:g} %, sodium chloride {salt:g} % (each of the whole) and Aqua q.s. How many percent is Aqua?",
        water,
        "%",
        [
            (100 - glycerin - stock - salt, "you left the oil layer out"),
            (100 - oil - glycerin - salt, "you forgot that the stock takes room too"),
        ],
        ["Everything together is 100 %.", "q.s. is what the others leave, the oil layer among them."],
        f"100 − {oil:g} − {glycerin:g} − {stock:g} − {salt:g} = {water:g} %.",
        0.3,
    )


@exercise_of("00", "number")
def percent_of_a_layer(draw: Draw) -> Task:
    """Percent of a layer."""
    oil, parfum = draw.step(10, 30, 1), draw.step(0.1, 0.3, 0.05)
    return number(
        f"A shake is {oil:g} % oil layer; parfum is {parfum:g} % of the whole and lies in the oil layer. "
        "What percent of the oil layer is it?",
        100 * parfum / oil,
        "%",
        [
            (parfum, "you gave the percent of the whole"),
            (parfum * oil / 100, "you multiplied: that turns percent of the layer into percent of the whole"),
            (100 * parfum / (100 - oil), "you took the other layer"),
        ],
        ["Think of 100 g of the shake.", f"{parfum:g} g of parfum lie in {oil:g} g of oil layer."],
        f"{parfum:g} g in {oil:g} g: 100 × {parfum:g} / {oil:g} = {100 * parfum / oil:.4g} %.",
    )


@exercise_of("00", "number")
def percent_from_grams(draw: Draw) -> Task:
    """Percent from grams."""
    part, rest = draw.step(4, 20, 1), draw.step(100, 240, 20)
    return number(
        f"You stirred {part:g} g of an ester into {rest:g} g of other oils. What percent of the blend is the ester?",
        100 * part / (part + rest),
        "%",
        [(100 * part / rest, "you divided by the remaining mass, not by the whole")],
        ["Percent w/w is of the whole, the ester included.", f"The whole is {part + rest:g} g."],
        f"100 × {part:g} / ({part:g} + {rest:g}) = {100 * part / (part + rest):.4g} %.",
        0.5,
    )


@exercise_of("00", "number")
def substance_by_way_of_a_stock(draw: Draw) -> Task:
    """Substance by way of a stock."""
    strength, level = draw.one(10.0, 20.0, 25.0), draw.step(1.5, 6, 0.5)
    return number(
        f"A formula holds {level:g} % of a citric acid stock that is {strength:g} % w/w. "
        "How much citric acid is that, in % of the formula?",
        level * strength / 100,
        "%",
        [(level, "you took the stock for its active"), (100 * level / strength, "you divided by the strength")],
        ["The stock is mostly water.", f"Of each gram of stock, {strength / 100:g} g is citric acid."],
        f"{level:g} % × {strength:g} / 100 = {level * strength / 100:g} %.",
        0.3,
    )


@exercise_of("00", "draw")
def move_the_ratio(draw: Draw) -> Task:
    """Move the ratio to a place."""
    wanted = draw.one(12.0, 13.0, 18.0, 20.0, 22.0, 24.0, 26.0, 28.0)

    def fault(formula: Formula) -> str:
        oil = sum(
            sum(filter(None, row))
            for row, each in zip(formula.percents, formula.phases, strict=True)
            if each.kind == "oil"
        )
        return "" if abs(oil - wanted) <= 0.05 else f"The oil layer is {oil:.2f} % of the whole, not {wanted:g} %."

    return draw_the_line(
        f"On the bench above, move the ratio so that the oil layer is {wanted:g} % of the whole.",
        Goal(fault, lambda formula: RatioPath.of(formula).at(wanted)),
        ["Use the round handle, or type the number.", "The arrow keys move the handle in small steps."],
        f"The line between the layers stands at {wanted:g} %; every line moved along its own straight line.",
    )


@exercise_of("00", "choice")
def what_a_finding_says(draw: Draw) -> Task:
    """What silence says."""
    return choice(
        draw,
        "The list of findings of a formula is empty. What follows?",
        "None of the rules that were looked up is broken by these numbers",
        {
            "The product withstands microbes": "only a challenge test in a laboratory (ISO 11930) shows that",
            "The product may be sold": "that takes an assessment by a qualified person, and more",
            "The product is fit for all skin": "no arithmetic can say that; people who are qualified test it",
        },
        ["What does the kit look at?", "It counts percents and compares them with rules."],
        "The kit computes; it tests nothing. Findings say which rules are broken by the numbers, and no more.",
    )


@exercise_of("00", "order")
def the_job_in_order(draw: Draw) -> Task:
    """The job in order."""
    return order(
        draw,
        "Put the job in order, the first first.",
        ["describe the product", "write the formula", "choose the ratio", "weigh the batch", "read the bottles"],
        ["What must be known before a limit can be looked up?", "Weighing comes before reading."],
        "Describe, write, choose the ratio, weigh, and then read the bottles at the days of the plan.",
        "you began at the end",
    )


@exercise_of("00", "find")
def the_wrong_line_of_a_sheet(draw: Draw) -> Task:
    """The wrong line of a batch sheet."""
    batch = draw.step(200, 500, 50)
    lines = {"Aqua": 78.0, "Glycerin": 5.0, "Coco-Caprylate": 12.0, "Squalane": 4.4, "Tocopherol": 0.6}
    wrong = draw.one("Glycerin", "Squalane", "Tocopherol")
    grams = {name: batch * percent / 100 * (0.1 if name == wrong else 1) for name, percent in lines.items()}
    rows = [[name, f"{lines[name]:g}", f"{grams[name]:.2f}"] for name in lines]
    return find(
        f"A batch sheet for {batch:g} g. Which line is wrong?",
        [["line", "% w/w", "weigh, g"], *rows],
        wrong,
        {},
        ["Add up the grams.", f"One percent of the batch is {batch / 100:g} g."],
        f"{wrong}: {lines[wrong]:g} % of {batch:g} g are {batch * lines[wrong] / 100:g} g; a tenth of it stands there.",
    )
