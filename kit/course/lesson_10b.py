"""Exercises of lesson 10b: planned blends and their scores. All blends and scores are invented."""

from __future__ import annotations

from math import comb, sqrt
from typing import TYPE_CHECKING

from kit.course.catalogue import exercise_of
from kit.course.tasks import choice, find, number, order

if TYPE_CHECKING:
    from kit.course.draw import Draw
    from kit.course.tasks import Task


@exercise_of("10b", "number")
def bottles_of_a_lattice(draw: Draw) -> Task:
    """How many bottles a lattice takes."""
    parts, steps = draw.one((3, 2), (3, 3), (4, 2), (4, 3), (5, 2))
    answer = comb(parts + steps - 1, steps)
    return number(
        f"A trial of {parts} parts as a {{{parts}, {steps}}} simplex-lattice: how many different blends?",
        float(answer),
        "",
        [
            (float(parts**steps), "you counted ordered choices; a blend has no order"),
            (float(parts * steps), "you multiplied parts and steps"),
            (float(2**parts - 1), "you counted the simplex-centroid"),
        ],
        ["(q + m − 1)! / (m! (q − 1)!).", f"q is {parts}, m is {steps}."],
        f"{parts + steps - 1}! / ({steps}! × {parts - 1}!) = {answer} (Scheffé 1958).",
        0.5,
    )


@exercise_of("10b", "number")
def bottles_of_a_centroid(draw: Draw) -> Task:
    """How many bottles a centroid takes."""
    parts, twice = draw.step(3, 5, 1), draw.step(2, 4, 1)
    blends = 2**parts - 1
    return number(
        f"A trial of {parts:g} oils as a simplex-centroid, {twice:g} of its blends made twice: how many bottles?",
        blends + twice,
        "",
        [
            (blends, "you forgot the blends that are made twice"),
            (2**parts + twice, "you counted the blend of nothing"),
            (2 * parts + twice, "you took two for each oil; each may be in or out"),
        ],
        ["Each oil is in a blend or out of it.", f"2 multiplied {parts:g} times, less the one with nothing in it."],
        f"2^{parts:g} − 1 = {blends:g}, and {twice:g} more (Scheffé 1963).",
        0.5,
    )


@exercise_of("10b", "number")
def most_of_one_within_bounds(draw: Draw) -> Task:
    """The corner of a bounded trial."""
    parts, least = draw.one((3, 10.0), (3, 15.0), (3, 20.0), (4, 10.0), (4, 15.0), (5, 10.0))
    answer = 100 - (parts - 1) * least
    return number(
        f"A trial of {parts} oils asks for at least {least:g} % of each. How much can one of them be at most, in %?",
        answer,
        "%",
        [
            (100 - parts * least, "that is what is left to share; the oil has its own least besides"),
            (100 - least, "all the others need their least too"),
            (100 / parts, "that is the centre, not a corner"),
        ],
        ["All others stand at their least.", f"That is {parts - 1} × {least:g} %."],
        f"100 − {parts - 1} × {least:g} = {answer:g} %.",
        0.5,
    )


@exercise_of("10b", "number")
def pair_from_three_bottles(draw: Draw) -> Task:
    """What two oils add together."""
    first, second, more = draw.step(4, 8, 0.5), draw.step(4, 8, 0.5), draw.step(0.5, 2, 0.25)
    both = first / 2 + second / 2 + more
    return number(
        f"One oil scores {first:g}, another {second:g}, half and half {both:g}. What is the coefficient of the pair?",
        4 * more,
        "",
        [
            (more, "that is what half and half gains; it is a quarter of the coefficient"),
            (2 * more, "0.5 × 0.5 is a quarter, not a half"),
            (4 * both, "take off what the two score without the pair"),
        ],
        [
            f"Without the pair half and half would score {first / 2 + second / 2:g}.",
            "What is more than that is a quarter of the coefficient.",
        ],
        f"4 × ({both:g} − {first / 2 + second / 2:g}) = {4 * more:g} (Scheffé 1958).",
        0.5,
    )


@exercise_of("10b", "number")
def mean_of_a_pair(draw: Draw) -> Task:
    """What a model foretells for half and half."""
    first, second, pair = draw.step(4, 9, 0.5), draw.step(3, 8, 0.5), draw.step(2, 8, 0.5)
    answer = first / 2 + second / 2 + pair / 4
    return number(
        f"Scheffé's model of a score has {first:g} for one part, {second:g} for the other, and {pair:g} for the "
        "pair. What "
        "does it foretell for half and half?",
        answer,
        "",
        [
            (first / 2 + second / 2, "you forgot what the two add together"),
            (first / 2 + second / 2 + pair / 2, "you took half of the pair; 0.5 × 0.5 is a quarter"),
            (first + second + pair, "you took all of each"),
        ],
        ["Each coefficient times its parts.", "The pair counts 0.5 × 0.5."],
        f"{first:g} / 2 + {second:g} / 2 + {pair:g} / 4 = {answer:g}.",
        0.5,
    )


@exercise_of("10b", "number")
def left_to_judge_by(draw: Draw) -> Task:
    """How much is left to judge a model by."""
    bottles = draw.step(9, 16, 1)
    return number(
        f"{bottles:g} bottles of three oils are scored. A quadratic model is fitted, with one coefficient for each oil "
        "and one for each pair. How many bottles are left to judge the error by?",
        bottles - 6,
        "",
        [
            (bottles - 3, "you forgot the pairs"),
            (bottles - 1, "you took off one mean only"),
            (bottles, "each coefficient takes one"),
        ],
        ["Count the coefficients.", "Three oils, and three pairs of them."],
        f"{bottles:g} − 6 = {bottles - 6:g}.",
        0.5,
    )


@exercise_of("10b", "number")
def two_wishes(draw: Draw) -> Task:
    """Two wishes in one number."""
    slip, shine = draw.step(6.7, 7.9, 0.1), draw.step(4.4, 6.4, 0.1)
    a, b = (slip - 6.5) / 1.5, (shine - 4) / 2.5
    return number(
        f"Slip counts from 6.5 (0) to 8 (1), shine from 4 (0) to 6.5 (1). A blend has slip {slip:.1f} and shine "
        f"{shine:.1f}. How desirable is it, from 0 to 1?",
        sqrt(a * b),
        "",
        [
            ((a + b) / 2, "you took the plain mean; it is the geometric one"),
            (a * b, "you multiplied and forgot the root"),
            (min(a, b), "you took the worse of the two"),
        ],
        ["Each wish first, from 0 to 1.", f"{a:.2f} and {b:.2f}; the root of their product."],
        f"√({a:.3f} × {b:.3f}) = {sqrt(a * b):.3f} (Derringer and Suich 1980).",
        1.0,
    )


@exercise_of("10b", "choice")
def what_second_bottles_tell(draw: Draw) -> Task:
    """Why a blend is made twice."""
    twice = draw.step(3, 6, 1)
    return choice(
        draw,
        f"{twice:g} blends of a trial are made twice. What do those second bottles tell that no other bottle does?",
        "How much making and scoring scatter",
        {
            "Which blend is the best": "that is asked of the model, and of a new bottle",
            "What lies beyond the bounds": "nothing was made there",
            "What a single oil costs": "no score tells a price",
        },
        ["The two bottles of a blend are alike. Why do their scores differ?", "A model cannot be surer than that."],
        "Two bottles of the same blend differ by making and scoring alone; against that a lack of fit is judged.",
    )


@exercise_of("10b", "order")
def way_of_a_trial(draw: Draw) -> Task:
    """The way of a trial of blends."""
    return order(
        draw,
        "Put the steps of a trial of blends in order.",
        (
            "bounds for each part",
            "which blends to make",
            "bottles with codes",
            "scores",
            "a model",
            "the best, made anew",
        ),
        ["What is decided before anything is weighed?", "A model is believed once its best blend was made."],
        "Bounds, design, bottles, scores, fit, and a bottle that puts the fit to the proof.",
        "you began at the end",
    )


@exercise_of("10b", "find")
def the_blend_that_is_none(draw: Draw) -> Task:
    """A blend that does not add up."""
    names = ("1", "2", "3", "4")
    wrong = draw.one(*names)
    rows = []
    for name in names:
        first, second = draw.step(20, 50, 5), draw.step(10, 30, 5)
        third = 100 - first - second + (5 if name == wrong else 0)
        rows.append((name, f"{first:g}", f"{second:g}", f"{third:g}"))
    return find(
        "A making sheet of a trial, % w/w. Which blend is wrong?",
        [("blend", "squalane", "coco-caprylate", "jojoba oil"), *rows],
        wrong,
        {},
        ["The parts of a blend add to 100 %.", "Add each row."],
        f"Blend {wrong} comes to 105 %.",
    )
