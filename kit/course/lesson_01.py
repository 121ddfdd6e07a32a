"""Exercises of lesson 01: stock solutions and dilutions. All products are invented."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.bench.alligation import alligate, medial
from kit.bench.conversion import convert
from kit.bench.dilution import dilute
from kit.course.catalogue import exercise_of
from kit.course.tasks import choice, find, number, order

if TYPE_CHECKING:
    from kit.course.draw import Draw
    from kit.course.tasks import Task


@exercise_of("01", "number")
def stock_for_strength(draw: Draw) -> Task:
    """Stock for a weaker solution."""
    stock, wanted, amount = draw.step(20, 60, 5), draw.step(2, 9, 0.5), draw.step(100, 500, 50)
    made = dilute(stock, wanted, amount)
    return number(
        f"How much of a {stock:g} % w/w stock makes {amount:g} g of a {wanted:g} % w/w solution?",
        made.stock,
        "g",
        [
            (made.diluent, "you gave the diluent"),
            (amount * wanted / 100, "you gave the pure substance, not the stock that brings it"),
            (amount * wanted / (stock - wanted), "you counted the amount as diluent; it is the whole"),
        ],
        ["C₁m₁ = C₂m₂.", f"The solution is to hold {amount * wanted / 100:g} g of substance."],
        f"{amount:g} g × {wanted:g} / {stock:g} = {made.stock:.4g} g (C₁m₁ = C₂m₂; OpenStax, Chemistry 2e, 3.4).",
    )


@exercise_of("01", "number")
def volume_basis_to_mass_basis(draw: Draw) -> Task:
    """From w/v to w/w."""
    strength, density = draw.step(10, 40, 2), draw.step(1.06, 1.2, 0.02)
    answer = float(convert(f"{strength:g} % w/v", "% w/w", density=density).value)
    return number(
        f"A solution is {strength:g} % w/v and weighs {density:g} g/mL. What is it in % w/w?",
        answer,
        "%",
        [(strength, "you took w/v for w/w"), (strength * density, "you multiplied by the density, not divided")],
        ["w/v: grams in 100 mL of finished solution.", f"What do those 100 mL weigh? {100 * density:g} g."],
        f"{strength:g} g lie in {100 * density:g} g: {strength:g} / {density:g} = {answer:.4g} % w/w.",
    )


@exercise_of("01", "number")
def mass_basis_to_volume_basis(draw: Draw) -> Task:
    """From w/w to w/v."""
    strength, density = draw.step(20, 50, 2), draw.step(1.08, 1.3, 0.02)
    answer = float(convert(f"{strength:g} % w/w", "% w/v", density=density).value)
    return number(
        f"A stock is {strength:g} % w/w and weighs {density:g} g/mL. What is it in % w/v?",
        answer,
        "%",
        [(strength, "you took w/w for w/v"), (strength / density, "you divided by the density, not multiplied")],
        ["Take 100 mL of it and ask what they weigh.", f"They weigh {100 * density:g} g."],
        f"100 mL weigh {100 * density:g} g and hold {strength:g} % of that: {answer:.4g} g, so {answer:.4g} % w/v.",
    )


@exercise_of("01", "number")
def two_stocks_to_a_strength(draw: Draw) -> Task:
    """Two stocks to a strength between."""
    weak, strong = draw.step(5, 20, 5), draw.step(40, 70, 5)
    wanted, amount = weak + draw.step(6, 14, 1), draw.step(100, 400, 50)
    made = alligate(strong, weak, wanted, amount)
    more, less = float(made.stronger_amount), float(made.weaker_amount)
    return number(
        f"How much of a {strong:g} % stock makes, with a {weak:g} % one, {amount:g} g of {wanted:g} %?",
        more,
        "g",
        [
            (less, "the alligation is turned round: that much of the weaker"),
            (amount * wanted / strong, "you counted the weaker stock as if it held nothing"),
        ],
        ["Each takes as many parts as the other lies away from what is wanted.", f"Parts: {wanted - weak:g} of it."],
        f"Parts {wanted - weak:g} : {strong - wanted:g}; {amount:g} × {wanted - weak:g} / {strong - weak:g} = "
        f"{more:.4g} g.",
    )


@exercise_of("01", "number")
def mixed_strength(draw: Draw) -> Task:
    """The strength of a mixture."""
    first, second = draw.step(20, 90, 10), draw.step(100, 200, 10)
    low, high = draw.step(2, 6, 1), draw.step(12, 30, 2)
    answer = medial([(first, high), (second, low)])
    return number(
        f"{first:g} g of a {high:g} % solution are stirred into {second:g} g of a {low:g} % one. What % is that?",
        answer,
        "%",
        [
            ((low + high) / 2, "you took the plain mean, as if there were as much of each"),
            (medial([(first, low), (second, high)]), "the two strengths are turned round"),
            (low + high, "you added the strengths"),
        ],
        ["How many grams of substance does each bring?", "Divide by the mass of both together."],
        f"({first:g} × {high:g} + {second:g} × {low:g}) / {first + second:g} = {answer:.4g} %.",
    )


@exercise_of("01", "number")
def parts_per_million(draw: Draw) -> Task:
    """Parts per million in a batch."""
    ppm, batch = draw.step(50, 900, 50), draw.step(200, 800, 100)
    return number(
        f"A batch of {batch:g} g is to hold {ppm:g} ppm of a colourant, by mass. How many milligrams is that?",
        ppm * batch / 1000,
        "mg",
        [(ppm * batch / 100, "you took ppm for a percent of a percent: a million is ten thousand hundreds")],
        ["1 ppm is 1 mg in 1 kg.", f"{batch:g} g are {batch / 1000:g} kg."],
        f"{ppm:g} mg/kg × {batch / 1000:g} kg = {ppm * batch / 1000:g} mg.",
        0.5,
    )


@exercise_of("01", "number")
def diluent_to_what_is_there(draw: Draw) -> Task:
    """Thin what is there."""
    have, strong = draw.step(80, 300, 20), draw.step(20, 40, 2)
    weak = draw.step(5, 15, 1)
    answer = have * (strong / weak - 1)
    return number(
        f"You have {have:g} g of a {strong:g} % w/w solution. How much water makes it {weak:g} %?",
        answer,
        "g",
        [
            (have * strong / weak, "you gave the whole that it becomes, not what is added"),
            (have * weak / strong, "you took what is there for what is wanted"),
            (have * (1 - weak / strong), "you replaced a part of it, rather than adding to it"),
        ],
        ["The substance stays what it is.", f"It becomes {have * strong / weak:.5g} g in all."],
        f"{have:g} × {strong:g} / {weak:g} − {have:g} = {answer:.4g} g.",
    )


@exercise_of("01", "number")
def water_beside_a_stock(draw: Draw) -> Task:
    """The water that a stock brings."""
    level, strength, other = draw.step(4, 15, 1), draw.one(10.0, 20.0, 25.0), draw.step(5, 20, 1)
    fill = 100 - level - other
    answer = fill + level * (1 - strength / 100)
    return number(
        f"A toner: Panthenol stock ({strength:g} % w/w, the rest water) {level:g} %, glycols {other:g} %, Aqua q.s. "
        "How much water does the toner hold in all, in %?",
        answer,
        "%",
        [
            (fill, "you forgot the water in the stock"),
            (fill + level, "you counted the whole stock as water"),
            (100 - other - level * (1 - strength / 100), "you counted the stock's water as something else"),
        ],
        ["Aqua q.s. is what the lines leave.", f"Of the stock, {100 - strength:g} % is water too."],
        f"q.s. is {fill:g} %; the stock brings {level:g} × {1 - strength / 100:g}; together {answer:.5g} %.",
        0.15,
    )


@exercise_of("01", "number")
def divide_by_the_assay(draw: Draw) -> Task:
    """A raw material that is not pure."""
    wanted, assay = draw.step(20, 90, 5), draw.step(80, 95, 1)
    return number(
        f"A stock needs {wanted:g} g of pure acid. The certificate says {assay:g} % (assay). How much is weighed?",
        100 * wanted / assay,
        "g",
        [
            (wanted * assay / 100, "you multiplied by the assay; an impure material takes more"),
            (wanted * (2 - assay / 100), "you added the missing percent of the pure mass"),
            (wanted, "you weighed it as if it were pure"),
        ],
        ["More or less than the pure mass?", f"Of each gram, {assay / 100:g} g counts."],
        f"{wanted:g} / {assay / 100:g} = {100 * wanted / assay:.4g} g. Divide, never multiply.",
        0.15,
    )


@exercise_of("01", "order")
def strengths_in_order(draw: Draw) -> Task:
    """Strengths in order."""
    return order(
        draw,
        "Put these in order, the weakest first (all by mass).",
        ["50 ppm", "0.02 %", "1 in 1000", "1 + 99", "3 parts in 10"],
        ["Turn each into percent.", "50 ppm is 0.005 %; 1 in 1000 is 0.1 %."],
        "0.005 %, 0.02 %, 0.1 %, 1 %, 30 %.",
        "you began with the strongest",
    )


@exercise_of("01", "find")
def the_wrong_dilution(draw: Draw) -> Task:
    """The wrong line of a dilution table."""
    stock = draw.one(10.0, 20.0, 40.0)
    wrong = draw.one("B", "C", "D")
    rows = []
    for name, wanted, amount in (("A", 1.0, 100.0), ("B", 2.0, 250.0), ("C", 0.5, 400.0), ("D", 4.0, 50.0)):
        right = dilute(stock, wanted, amount).stock
        grams = amount * wanted / 100 if name == wrong else right
        rows.append([name, f"{wanted:g}", f"{amount:g}", f"{grams:g}"])
    return find(
        f"Dilutions of a {stock:g} % w/w stock. Which line is wrong?",
        [["line", "wanted, % w/w", "amount, g", "stock, g"], *rows],
        wrong,
        {},
        ["Multiply: stock × its strength is wanted × amount.", "In one line somebody weighed the pure substance."],
        f"Line {wrong} gives the pure substance, not the stock that brings it.",
    )


@exercise_of("01", "choice")
def when_volumes_shrink(draw: Draw) -> Task:
    """Volumes that shrink."""
    return choice(
        draw,
        "50 mL of alcohol and 50 mL of water are mixed. What is measured?",
        "Less than 100 mL, and just the mass of both",
        {
            "100 mL, for volumes add": "masses add, volumes need not: alcohol and water shrink (OIML R 22)",
            "More than 100 mL": "the two shrink on mixing; they do not swell (OIML R 22)",
            "Less than 100 mL, and less mass": "no mass is lost; only the room gets less",
        },
        ["What is sure to add up?", "Mass does."],
        "96.5 mL at 20 °C (OIML R 22); the mass is the sum. Make up to volume, or weigh.",
    )
