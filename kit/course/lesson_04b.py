"""Exercises of lesson 04b: weighing. All products are invented."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.bench.balance import Balance
from kit.bench.premix import premix_amounts
from kit.bench.propagation import combined, rectangular
from kit.course.catalogue import exercise_of
from kit.course.tasks import choice, find, number, order

if TYPE_CHECKING:
    from kit.course.draw import Draw
    from kit.course.tasks import Task


@exercise_of("04b", "number")
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


@exercise_of("04b", "number")
def two_readings(draw: Draw) -> Task:
    """What two readings leave open."""
    step = draw.one(0.01, 0.1, 0.2, 0.5, 1.0, 2.0)
    answer = combined((rectangular(step / 2), rectangular(step / 2)))
    return number(
        f"A balance reads in steps of {step:g} g and rounds between. A weighing takes two readings, empty and full. "
        "What is its standard uncertainty from rounding alone, in g?",
        answer,
        "g",
        [
            (rectangular(step / 2), "you counted one reading; a weighing takes two"),
            (2 * rectangular(step / 2), "you added the two; their squares are added"),
            (step / 2, "that is the most that one reading is off; ask for the standard uncertainty"),
        ],
        ["One reading: d / (2√3).", "Two of them: √2 times that."],
        f"{step:g} / √6 = {answer:.4g} g (JCGM 100:2008, F.2.2.1).",
        1.0,
    )


@exercise_of("04b", "number")
def least_from_the_plate(draw: Draw) -> Task:
    """The least weight from the plate alone."""
    step, tolerance = draw.one(0.001, 0.01, 0.1), draw.one(0.5, 1.0, 2.0, 5.0)
    answer = Balance(step, 1000 * step).least_weight(tolerance)
    return number(
        f"Of a balance only its step is known, {step:g} g; its repeatability is then never taken below 0.41 of that. "
        f"What is the least that it weighs within {tolerance:g} %?",
        answer,
        "g",
        [
            (answer / 2, "you took the repeatability once; the rule takes it twice"),
            (answer / 0.41, "you forgot the 0.41"),
            (100 * step / tolerance, "you took one step for twice the repeatability"),
        ],
        ["Twice 0.41 d may be that part of the mass.", f"2 × 0.41 × {step:g} g is {tolerance:g} % of it."],
        f"2 × 0.41 × {step:g} / {tolerance / 100:g} = {answer:.4g} g (USP general chapter 41, tolerance chosen here).",
        0.5,
    )


@exercise_of("04b", "number")
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


@exercise_of("04b", "number")
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


@exercise_of("04b", "number")
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


@exercise_of("04b", "choice")
def which_balance(draw: Draw) -> Task:
    """What the plate does not promise."""
    return choice(
        draw,
        "Two balances read 0.01 g. One repeats within 0.005 g, the other within 0.02 g. Which least weight is smaller?",
        "That of the one that repeats within 0.005 g",
        {
            "Both are the same, for both read 0.01 g": "what is shown is not what repeats; the scatter decides",
            "That of the one that repeats within 0.02 g": "more scatter asks for a larger mass",
        },
        ["The least weight follows from the repeatability.", "Twice the repeatability is the tolerance's part of it."],
        "The least weight is twice the repeatability over the tolerance, and never less than 0.82 d over it.",
    )


@exercise_of("04b", "order")
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


@exercise_of("04b", "find")
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
