"""Exercises of lesson 04: scaling a batch. All products are invented."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.course.catalogue import exercise_of
from kit.course.tasks import choice, find, number

if TYPE_CHECKING:
    from kit.course.draw import Draw
    from kit.course.tasks import Task


@exercise_of("04", "number")
def scale_a_line(draw: Draw) -> Task:
    """A line in another batch."""
    old, new, grams = draw.step(200, 400, 50), draw.step(500, 900, 50), draw.step(6, 24, 1)
    return number(
        f"A batch of {old:g} g took {grams:g} g of glycerin. How much goes into {new:g} g of the same formula?",
        grams * new / old,
        "g",
        [
            (grams * old / new, "you turned the factor round: more is made, so more goes in"),
            (grams + new - old, "you added the difference of the batches; every line is multiplied"),
        ],
        ["Every line is multiplied by the same factor.", f"{new:g} / {old:g} = {new / old:.4g}."],
        f"{grams:g} × {new:g} / {old:g} = {grams * new / old:.4g} g.",
        0.3,
    )


@exercise_of("04", "number")
def batch_for_bottles(draw: Draw) -> Task:
    """A batch for bottles."""
    bottles, fill, density, loss = draw.step(6, 24, 2), draw.one(50, 100, 150), draw.step(0.9, 1.06, 0.02), 5
    net = bottles * fill * density
    answer = net / (1 - loss / 100)
    return number(
        f"{bottles:g} bottles of {fill:g} mL; the product weighs {density:g} g/mL; {loss} % of what is made stays in "
        "the vessel. How much must be made, in g?",
        answer,
        "g",
        [
            (net, "you forgot what stays in the vessel"),
            (net * (1 + loss / 100), "you added the loss to what is filled; it is a part of what is made"),
            (bottles * fill / (1 - loss / 100), "you took millilitres for grams"),
            (bottles * fill / density / (1 - loss / 100), "you divided by the density, not multiplied"),
        ],
        ["What do the bottles hold, in g?", f"That is {100 - loss} % of what is made."],
        f"{bottles:g} × {fill:g} × {density:g} / {1 - loss / 100:g} = {answer:.5g} g.",
        0.05,
    )


@exercise_of("04", "number")
def exactly_back(draw: Draw) -> Task:
    """Put a slip right."""
    batch, percent, over = draw.step(200, 500, 50), draw.step(2, 6, 0.5), draw.step(5, 20, 1)
    planned = batch * percent / 100
    slip = planned * over / 100
    answer = batch * over / 100 - slip
    return number(
        f"{batch:g} g were planned with {percent:g} % panthenol. {planned + slip:g} g of it went in, all else as "
        "planned. How much of the other lines must be added to be exactly right?",
        answer,
        "g",
        [
            (slip, "you gave how much too much went in"),
            (batch * over / 100, "you gave how much the batch grows; the slip itself is in already"),
            (batch * (1 + over / 100), "you gave the whole batch"),
        ],
        ["The batch grows until the slip is a slip no more.", f"It becomes {batch * (1 + over / 100):g} g in all."],
        f"{batch * (1 + over / 100):g} − {batch + slip:g} = {answer:.4g} g.",
        0.3,
    )


@exercise_of("04", "number")
def what_is_left_decides(draw: Draw) -> Task:
    """What is left decides."""
    first, second = draw.step(20, 60, 5), draw.step(8, 20, 1)
    wide, narrow = draw.step(8, 12, 1), draw.step(3, 5, 0.5)
    batches = (100 * first / wide, 100 * second / narrow)
    return number(
        f"On hand: {first:g} g of an ester that is {wide:g} % of a formula, and {second:g} g of glycerin, "
        f"{narrow:g} %. How big can the batch be?",
        min(batches),
        "g",
        [
            (max(batches), "for that much one of the two is missing; the scarcer decides"),
            (sum(batches), "you added the two; both are needed in each gram"),
            (sum(batches) / 2, "you took the mean; the scarcer decides"),
        ],
        ["How big a batch does each allow?", f"{batches[0]:.5g} g and {batches[1]:.5g} g."],
        f"The smaller of {batches[0]:.5g} and {batches[1]:.5g} g.",
    )


@exercise_of("04", "number")
def water_to_add_back(draw: Draw) -> Task:
    """Water that has gone."""
    batch, lost, percent = draw.step(300, 600, 50), draw.step(15, 45, 5), draw.step(3, 8, 0.5)
    answer = percent * batch / (batch - lost)
    return number(
        f"A batch of {batch:g} g with {percent:g} % glycerin lost {lost:g} g of water while it was hot. "
        "What percent is glycerin now?",
        answer,
        "%",
        [
            (percent, "the whole has become smaller, so the percent changes"),
            (percent * (batch - lost) / batch, "it became stronger, not weaker"),
            (percent + 100 * lost / batch, "you added the lost percent to the glycerin"),
        ],
        ["The glycerin stayed, the whole shrank.", f"{batch * percent / 100:g} g are left in {batch - lost:g} g."],
        f"{percent:g} × {batch:g} / {batch - lost:g} = {answer:.4g} %. Adding {lost:g} g of water back mends it.",
        0.5,
    )


@exercise_of("04", "number")
def does_it_fit(draw: Draw) -> Task:
    """The largest batch for a beaker."""
    beaker, density, full = draw.one(400, 600, 800, 1000), draw.step(0.9, 1.1, 0.02), draw.one(70, 75, 80)
    answer = beaker * full / 100 * density
    return number(
        f"A beaker of {beaker:g} mL may be {full:g} % full, for stirring needs room. The product weighs {density:g} "
        "g/mL. How big may the batch be, in g?",
        answer,
        "g",
        [
            (beaker * density, "you filled it to the brim"),
            (beaker * full / 100, "you took millilitres for grams"),
            (beaker * full / 100 / density, "you divided by the density, not multiplied"),
        ],
        ["How many millilitres may be in it?", f"{beaker * full / 100:g} mL."],
        f"{beaker:g} × {full / 100:g} × {density:g} = {answer:.5g} g.",
        0.3,
    )


@exercise_of("04", "number")
def between_two_readings(draw: Draw) -> Task:
    """The dose between two readings."""
    first, step = draw.step(1, 2.5, 0.5), 0.5
    high, fall, part = draw.step(4.9, 5.3, 0.1), draw.one(0.3, 0.4, 0.5), draw.one(0.25, 0.5, 0.75)
    wanted, answer = high - fall * part, first + step * part
    return number(
        f"With {first:g} g of acid stock the pH is {high:g}, with {first + step:g} g it is {high - fall:g}. At how "
        f"many grams does it pass pH {wanted:g}, on the straight line between?",
        answer,
        "g",
        [
            (first + step * (1 - part), "you counted from the other reading"),
            (step * part, "you gave what comes on top of the first reading"),
            (first + step / 2, "you took the middle, wherever the pH lies"),
        ],
        ["Which part of the fall is done there?", f"{high - wanted:.4g} of {fall:g}."],
        f"{first:g} + {step:g} × {high - wanted:.4g} / {fall:g} = {answer:.4g} g.",
        1.0,
    )


@exercise_of("04", "choice")
def spoon_or_scale(draw: Draw) -> Task:
    """Spoons and drops."""
    return choice(
        draw,
        "A recipe says 10 drops of a preservative. What do you do?",
        "Ask for its percent w/w and weigh it",
        {
            "Count 10 drops": "a drop depends on the dropper, the liquid and the hand",
            "Take 0.5 mL, since a drop is 0.05 mL": "that holds for no dropper in particular, and mass is what counts",
            "Weigh one drop and take ten times that": "a single drop scatters; and a preservative is never dropped in",
        },
        ["What does a drop weigh?", "It is known only roughly."],
        "Preservatives, acids, lye and actives are weighed, by their percent.",
    )


@exercise_of("04", "find")
def the_line_not_scaled(draw: Draw) -> Task:
    """The line that was not scaled."""
    factor = draw.one(1.5, 2.0, 2.5, 3.0)
    old = {"Aqua": 150.0, "Glycerin": 8.0, "Coco-Caprylate": 36.0, "Squalane": 5.0, "Tocopherol": 1.0}
    wrong = draw.one("Glycerin", "Coco-Caprylate", "Squalane", "Tocopherol")
    rows = [[name, f"{grams:g}", f"{grams * (1 if name == wrong else factor):g}"] for name, grams in old.items()]
    return find(
        f"A batch of 200 g was scaled to {200 * factor:g} g. Which line was forgotten?",
        [["line", "200 g", f"{200 * factor:g} g"], *rows],
        wrong,
        {},
        ["Every line grows by the same factor.", f"The factor is {factor:g}."],
        f"{wrong} stands as it was; {old[wrong]:g} × {factor:g} = {old[wrong] * factor:g} g.",
    )
