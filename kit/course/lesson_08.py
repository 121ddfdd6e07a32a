"""Exercises of lesson 08: label, cost and papers. All products and prices are invented."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.bench.losses import expected_yield
from kit.course.catalogue import exercise_of
from kit.course.tasks import choice, find, number, order

if TYPE_CHECKING:
    from kit.course.draw import Draw
    from kit.course.tasks import Task

ARTICLE = "Regulation (EC) No 1223/2009, article 19(1)(g)"


@exercise_of("08", "number")
def water_on_the_list(draw: Draw) -> Task:
    """All the water on the list."""
    aqua, blend, stock = draw.step(60, 75, 1), draw.step(2, 8, 1), draw.step(3, 9, 1)
    answer = aqua + blend * 0.5 + stock * 0.9
    return number(
        f"A formula: Aqua {aqua:g} %, Sodium PCA (and) Aqua {blend:g} % (half water), a 10 % w/w citric acid stock "
        f"{stock:g} % (the rest water). How much Aqua counts for its place on the list, in %?",
        answer,
        "%",
        [
            (aqua, "you forgot the water of the stock and of the blend"),
            (aqua + blend + stock, "you counted stock and blend wholly as water"),
            (aqua + blend * 0.5, "you forgot the water of the stock"),
            (aqua + stock * 0.9, "you forgot the water of the blend"),
        ],
        ["A stock is not an ingredient: what is in it is.", "Three lines bring water."],
        f"{aqua:g} + {blend:g} × 0.5 + {stock:g} × 0.9 = {answer:.5g} % ({ARTICLE}).",
        0.1,
    )


@exercise_of("08", "number")
def allergen_in_a_perfume(draw: Draw) -> Task:
    """An allergen in a perfume."""
    parfum, share = draw.step(0.2, 0.8, 0.1), draw.step(0.5, 4, 0.5)
    return number(
        f"A product holds {parfum:g} % of a perfume that is {share:g} % linalool. "
        "How much linalool is in the product, in %?",
        parfum * share / 100,
        "%",
        [
            (share, "you gave its percent of the perfume"),
            (share / parfum / 100, "you divided by the perfume's share, not multiplied"),
            (parfum * share, "you forgot that percent of a percent is a ten-thousandth"),
        ],
        ["A percent of a percent.", f"{share:g} g in 100 g of perfume; {parfum:g} g of perfume in 100 g."],
        f"{parfum:g} × {share:g} / 100 = {parfum * share / 100:g} %.",
        0.5,
    )


@exercise_of("08", "number")
def perfume_below_the_threshold(draw: Draw) -> Task:
    """The most perfume without a name."""
    share = draw.step(0.5, 4, 0.5)
    kind, most, other = draw.one(("stays on", 0.001, 0.01), ("is rinsed off", 0.01, 0.001))
    return number(
        f"A perfume is {share:g} % limonene. Up to how much of it, in % of a product that {kind}, need limonene not be "
        "named in the European Union?",
        100 * most / share,
        "%",
        [
            (100 * other / share, "you took the threshold of the other kind of product"),
            (most * share / 100, "you multiplied by the perfume's share, not divided"),
        ],
        ["0.001 % where it stays on, 0.01 % where it is rinsed off.", f"Here {most:g} % of the product."],
        f"{most:g} / {share / 100:g} = {100 * most / share:.4g} % (Annex III of Regulation (EC) No 1223/2009).",
    )


@exercise_of("08", "number")
def fluid_ounces(draw: Draw) -> Task:
    """Fluid ounces on a label."""
    content = draw.step(30, 240, 10)
    return number(
        f"A bottle holds {content:g} mL. How many US fluid ounces is that (1 fl oz = 29.5735 mL)?",
        content / 29.5735,
        "",
        [
            (content / 28.4131, "you took the imperial ounce, 28.4131 mL"),
            (content / 28.3495, "you took the ounce of weight, 28.3495 g"),
            (content * 29.5735, "you multiplied, not divided"),
        ],
        ["How many times does 29.5735 go into it?", "A label may promise no more than is there: round down."],
        f"{content:g} / 29.5735 = {content / 29.5735:.4f} (16 CFR 500.19).",
        0.3,
    )


@exercise_of("08", "number")
def cost_of_a_bottle(draw: Draw) -> Task:
    """What a bottle costs."""
    batch, bottles, pack = draw.step(9, 24, 0.5), draw.step(5, 12, 1), draw.step(0.6, 1.4, 0.1)
    return number(
        f"The materials of a batch cost {batch:g} EUR; it fills {bottles:g} bottles; a bottle with its pump costs "
        f"{pack:g} EUR. What does a filled bottle cost, in EUR?",
        batch / bottles + pack,
        "",
        [
            (batch / bottles, "you forgot the bottle itself"),
            ((batch + pack) / bottles, "you bought one bottle for all of them"),
            (batch + bottles * pack, "you gave the whole batch"),
        ],
        ["The content's share first.", f"{batch / bottles:.4g} EUR of content in each."],
        f"{batch:g} / {bottles:g} + {pack:g} = {batch / bottles + pack:.4g} EUR.",
        0.4,
    )


@exercise_of("08", "number")
def bought_with_waste(draw: Draw) -> Task:
    """What must be taken from the packs."""
    need, waste = draw.step(150, 600, 50), draw.step(4, 12, 1)
    return number(
        f"{need:g} g must reach the vessel, and {waste:g} % of what is taken from the packs is wasted. "
        "How much must be taken?",
        need / (1 - waste / 100),
        "g",
        [
            (need * (1 + waste / 100), "you took the waste as a percent of what arrives; it is of what is taken"),
            (need * (1 - waste / 100), "you gave what would arrive"),
            (need, "you forgot the waste"),
        ],
        ["What arrives is what is taken, less the waste.", f"{100 - waste:g} % of what is taken is {need:g} g."],
        f"{need:g} / {1 - waste / 100:g} = {need / (1 - waste / 100):.5g} g.",
        0.05,
    )


@exercise_of("08", "number")
def yield_of_a_batch(draw: Draw) -> Task:
    """The least yield."""
    batch, loss, within = draw.step(500, 1500, 50), draw.one(5, 8, 10), draw.one(2, 3, 4)
    found = expected_yield(f"{batch:g} g", loss=loss, within=within)
    return number(
        f"{batch:g} g are weighed in; {loss:g} % is lost on the way; the yield may lie {within:g} % (of what is "
        "expected) either side. What is the least yield, in g?",
        found.low,
        "g",
        [
            (found.high, "you took the upper limit"),
            (found.grams, "you gave what is expected"),
            (batch * (1 - (loss + within) / 100), "you added the two percents; the second is of what is expected"),
        ],
        ["First what is expected.", f"{found.grams:g} g."],
        f"{batch:g} × {1 - loss / 100:g} × {1 - within / 100:g} = {found.low:.5g} g.",
        0.04,
    )


@exercise_of("08", "number")
def price_for_a_line(draw: Draw) -> Task:
    """What a line costs."""
    pack, price, percent, batch = draw.one(250, 500), draw.step(8, 24, 1), draw.step(2, 9, 1), draw.step(300, 900, 100)
    answer = batch * percent / 100 * price / pack
    return number(
        f"{pack:g} g of an ester cost {price:g} EUR. It is {percent:g} % of a batch of {batch:g} g. "
        "What does it cost in that batch, in EUR?",
        answer,
        "",
        [
            (price * percent / 100, "you took a percent of the pack's price, whatever the batch"),
            (batch * price / pack, "you let the whole batch be ester"),
            (batch * percent / 100 * price / 100, "you took the price of a pack for that of 100 g"),
        ],
        ["How many grams go in?", f"{batch * percent / 100:g} g of {pack:g} g."],
        f"{batch * percent / 100:g} × {price:g} / {pack:g} = {answer:.4g} EUR.",
    )


@exercise_of("08", "choice")
def exactly_one_percent(draw: Draw) -> Task:
    """Exactly one percent."""
    return choice(
        draw,
        "A cream holds exactly 1.0 % urea and 0.8 % allantoin. On a European list, may allantoin stand before urea?",
        "No: exactly 1 % still stands by weight",
        {
            "Yes: 1 % and less are free": "that holds in the United States; the European text says less than 1 %",
            "Yes: any order, always": "only what is below 1 % is free",
            "No: every ingredient stands by weight": "below 1 % the order is free",
        },
        ["What does the European text say: less than 1 %, or 1 % or less?", "Less than 1 %."],
        f"Less than 1 % may follow in any order; exactly 1 % is not less ({ARTICLE}).",
    )


@exercise_of("08", "order")
def order_of_the_list(draw: Draw) -> Task:
    """The order of the list."""
    oil, glycerin = draw.step(12, 20, 1), draw.step(4, 9, 1)
    return order(
        draw,
        "Put the list of ingredients in order (European Union).",
        ["Aqua, 72 %", f"Squalane, {oil:g} %", f"Glycerin, {glycerin:g} %", "Parfum, 0.3 %", "CI 77491, 0.5 %"],
        ["By weight down to 1 %.", "Colourants stand last."],
        f"By weight, then what is below 1 %, colourants last, whatever their weight ({ARTICLE}).",
        "you began with the last",
    )


@exercise_of("08", "find")
def the_wrong_cost(draw: Draw) -> Task:
    """The wrong line of a cost sheet."""
    lines = {"Glycerin": (10.0, 0.008), "Coco-Caprylate": (24.0, 0.04), "Squalane": (12.0, 0.06), "Parfum": (1.0, 0.4)}
    wrong = draw.one(*lines)
    rows = [
        [name, f"{grams:g}", f"{1000 * price:g}", f"{grams * price * (10 if name == wrong else 1):.2f}"]
        for name, (grams, price) in lines.items()
    ]
    grams, price = lines[wrong]
    return find(
        "Which line of the cost sheet is wrong?",
        [["line", "g", "EUR for 1 kg", "EUR"], *rows],
        wrong,
        {},
        ["Grams × price of a gram.", "One is ten times too much."],
        f"{wrong}: {grams:g} g × {1000 * price:g} EUR/kg is {grams * price:.2f} EUR.",
    )
