"""Exercises of lesson 04: scaling and weighing. All products are invented."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.bench.balance import Balance
from kit.bench.premix import premix_amounts
from kit.course.catalogue import exercise_of
from kit.course.tasks import choice, find, number, order

if TYPE_CHECKING:
    from kit.course.draw import Draw
    from kit.course.tasks import Task


@exercise_of("04", "number")
def least_weight(draw: Draw) -> Task:
    """The least weight."""
    scatter, tolerance = draw.step(0.006, 0.02, 0.002), draw.one(0.5, 1.0, 2.0, 5.0)
    answer = Balance(0.01, 500, repeatability=scatter).least_weight(tolerance)
    return number(
        f"A balance has a repeatability of {scatter:g} g. What is the least that it weighs within {tolerance:g} %?",
        answer,
        "g",
        [
            (answer / 2, "you took the repeatability once; the rule takes it twice"),
            (2 * scatter * tolerance, "you multiplied by the tolerance, not divided"),
        ],
        ["Twice the repeatability may be that part of the mass.", f"2 × {scatter:g} g is {tolerance:g} % of it."],
        f"2 × {scatter:g} / {tolerance / 100:g} = {answer:.4g} g (USP general chapter 41, with a chosen tolerance).",
    )


@exercise_of("04", "number")
def smallest_batch(draw: Draw) -> Task:
    """The smallest sound batch."""
    least, percent = draw.one(0.82, 0.41, 1.64), draw.step(0.1, 0.6, 0.05)
    return number(
        f"The smallest line of a formula is {percent:g} % w/w, and a balance weighs {least:g} g and more within the "
        "tolerance. How big must the batch be?",
        100 * least / percent,
        "g",
        [
            (least * percent, "you multiplied by the percent, not divided"),
            (100 * least / percent - least, "you gave the rest beside that line, not the whole"),
        ],
        ["That line has to weigh at least so much.", f"{least:g} g is {percent:g} % of the batch."],
        f"{least:g} / {percent / 100:g} = {100 * least / percent:.5g} g.",
        0.1,
    )


@exercise_of("04", "number")
def how_far_off(draw: Draw) -> Task:
    """How far off a weighing may be."""
    scatter, grams = draw.step(0.005, 0.02, 0.001), draw.step(0.2, 1.5, 0.1)
    answer = Balance(0.01, 500, repeatability=scatter).weighing_error(grams)
    return number(
        f"{grams:g} g are weighed on a balance with a repeatability of {scatter:g} g. How far off may it be, in %?",
        answer,
        "%",
        [(answer / 2, "you took the repeatability once; the rule takes it twice")],
        ["Twice the repeatability, as a part of the mass.", f"2 × {scatter:g} g of {grams:g} g."],
        f"100 × 2 × {scatter:g} / {grams:g} = {answer:.4g} % (USP general chapter 41).",
    )


@exercise_of("04", "number")
def diluent_of_a_premix(draw: Draw) -> Task:
    """The premix for a small line."""
    need, strength = draw.step(0.05, 0.2, 0.01), draw.one(5.0, 10.0, 20.0)
    made = premix_amounts(need, 1.0, strength)
    return number(
        f"{need:g} g of an antioxidant are needed. You make a premix of {strength:g} % w/w in an oil. "
        "How much of the premix is used?",
        made.use,
        "g",
        [
            (need * (100 / strength - 1), "you gave the oil in it, not the premix"),
            (need * strength / 100, "you multiplied by the strength, not divided"),
            (need, "you used the premix as if it were pure"),
            (need / (strength / (100 + strength)), "you took parts to 100 parts of oil for percent of the whole"),
        ],
        ["How much of the premix holds that much?", f"{strength:g} g of antioxidant lie in 100 g."],
        f"{need:g} / {strength / 100:g} = {made.use:.4g} g; it takes the place of as much less oil.",
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


@exercise_of("04", "order")
def into_one_vessel(draw: Draw) -> Task:
    """Into one vessel."""
    return order(
        draw,
        "All of these are weighed into one vessel on one balance. Which order is kindest to the small ones?",
        ["parfum, 0.3 g", "tocopherol, 0.9 g", "squalane, 12 g", "an ester, 60 g"],
        ["Balances scatter more under a heavy load.", "What is small goes first."],
        "The smallest first, into the light vessel (common practice).",
        "you began with the largest; the small ones then go into a heavy vessel",
    )


@exercise_of("04", "find")
def too_small_for_the_balance(draw: Draw) -> Task:
    """The weighing that is too small."""
    grams = {"Aqua": 180.0, "Glycerin": 9.0, "Squalane": 8.2, "Coco-Caprylate": 30.0}
    small = draw.one("Sodium Benzoate", "Tocopherol", "Parfum")
    grams[small] = draw.step(0.2, 0.7, 0.1)
    rows = [[name, f"{grams[name]:.2f}"] for name in draw.shuffled(list(grams))]
    return find(
        "A balance that reads 0.01 g; least weight at 1 % is 0.82 g. Which line needs a premix, or a larger batch?",
        [["line", "weigh, g"], *rows],
        small,
        dict.fromkeys(grams, "it is above the least weight"),
        ["Compare each with the least weight.", "It is the smallest."],
        f"{small}: {grams[small]:g} g is below 0.82 g (USP general chapter 41, with 1 % chosen).",
    )
