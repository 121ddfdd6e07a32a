"""Exercises of lesson 10: blends, substitutes and repair. All blends and scores are invented."""

from __future__ import annotations

from math import comb, exp, log, sqrt
from typing import TYPE_CHECKING

from kit.course.catalogue import exercise_of
from kit.course.tasks import choice, find, number, order

if TYPE_CHECKING:
    from kit.course.draw import Draw
    from kit.course.tasks import Task

GRIFFIN = "Griffin, J. Soc. Cosmetic Chemists 1 (1949) 311"


@exercise_of("10", "number")
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


@exercise_of("10", "number")
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


@exercise_of("10", "number")
def hlb_that_is_asked_for(draw: Draw) -> Task:
    """The HLB that an oil phase asks for."""
    (a, ha), (b, hb) = (draw.step(10, 30, 2), draw.step(10, 14, 0.5)), (draw.step(5, 20, 1), draw.step(5, 8, 0.5))
    answer = (a * ha + b * hb) / (a + b)
    return number(
        f"An emulsion holds {a:g} % of an oil that asks for HLB {ha:g} and {b:g} % of one that asks for {hb:g}. "
        "For what does "
        "its oil phase ask?",
        answer,
        "",
        [
            ((ha + hb) / 2, "you took the plain mean, as if there were as much of each"),
            ((a * ha + b * hb) / 100, "you divided by the whole product, not by the oils"),
            ((a * hb + b * ha) / (a + b), "each oil was given the other's share"),
        ],
        ["The mean by mass, of the oils alone.", f"There are {a + b:g} % of oils."],
        f"({a:g} × {ha:g} + {b:g} × {hb:g}) / {a + b:g} = {answer:.4g} ({GRIFFIN}).",
        0.5,
    )


@exercise_of("10", "number")
def share_of_an_emulsifier(draw: Draw) -> Task:
    """Two emulsifiers to an HLB."""
    high, low, asked = draw.step(14, 17, 0.1), draw.step(3, 5, 0.1), draw.step(7, 12, 0.5)
    answer = 100 * (asked - low) / (high - low)
    return number(
        f"Two emulsifiers have HLB {high:.1f} and {low:.1f}. How much of the first makes a pair of HLB {asked:g}, "
        "in % of "
        "the pair?",
        answer,
        "%",
        [
            (100 - answer, "the alligation is turned round: that is the share of the second"),
            (100 * asked / high, "you counted the second as if it had none"),
            (100 * asked / (high + low), "you divided by the sum, not by the difference"),
        ],
        ["As with two stocks: alligation.", f"{asked:g} lies {asked - low:.1f} above the weaker."],
        f"({asked:g} − {low:.1f}) / ({high:.1f} − {low:.1f}) = {answer:.4g} % ({GRIFFIN}).",
        0.5,
    )


@exercise_of("10", "number")
def viscosity_of_half_and_half(draw: Draw) -> Task:
    """How thick half and half is."""
    thin, thick = draw.step(5, 15, 1), draw.step(40, 90, 5)

    def index(viscosity: float) -> float:
        return 14.534 * log(log(viscosity + 0.8)) + 10.975

    mean = (index(thin) + index(thick)) / 2
    answer = exp(exp((mean - 10.975) / 14.534)) - 0.8
    return number(
        f"Half of an oil of {thin:g} mm²/s and half of one of {thick:g} mm²/s, by mass. How thick is the blend by "
        "blending "
        "numbers, in mm²/s?",
        answer,
        "",
        [
            ((thin + thick) / 2, "you took the plain mean; viscosities do not blend so"),
            (sqrt(thin * thick), "you took the mean of the logarithms once; it goes through the logarithm twice"),
            (mean, "you gave the blending number; go backwards from it"),
        ],
        ["14.534 × ln (ln (ν + 0.8)) + 10.975 for each.", f"Their mean is {mean:.2f}; backwards from there."],
        f"Numbers {index(thin):.2f} and {index(thick):.2f}, mean {mean:.2f}: {answer:.3g} mm²/s (Maples 2000).",
        1.0,
    )


@exercise_of("10", "number")
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


@exercise_of("10", "number")
def what_a_change_counts(draw: Draw) -> Task:
    """How small a change is."""
    there, limit = draw.step(42, 50, 1), draw.step(35, 40, 1)
    moved = there - limit
    return number(
        f"At most {limit:g} % of an oil is wanted, and {there:g} % are there: it carries its layer, so each "
        "percent of it "
        "counts half. Another oil takes up what it gives and counts whole. How much does the smallest change count?",
        moved * 1.5,
        "",
        [
            (moved, "you counted one of the two lines only"),
            (moved * 2, "you counted both lines whole"),
            (moved * 0.5, "you forgot the line that takes it up"),
        ],
        ["What leaves one line goes into another.", f"{moved:g} % move."],
        f"{moved:g} × 0.5 + {moved:g} × 1 = {moved * 1.5:g}.",
        0.5,
    )


@exercise_of("10", "choice")
def price_of_a_rule_not_in_the_way(draw: Draw) -> Task:
    """The price of a rule."""
    there, most = draw.step(10, 20, 1), draw.step(25, 40, 1)
    return choice(
        draw,
        f"A rule allows at most {most:g} % of an oil, of which there is {there:g} %. What would one percent more "
        "room in it "
        "save?",
        "Nothing",
        {
            "One percent of change": "nothing has to move for a rule that holds",
            f"{most - there:g} % of change": "that is the room that is left in it, not what it costs",
            "It cannot be told": "a rule that is not in the way costs nothing",
        },
        ["Is the rule in the way?", "The answer stays the same with more room in it."],
        "The rule holds without any change, so more room in it changes nothing: its shadow price is 0.",
    )


@exercise_of("10", "choice")
def hlb_of_two_layers(draw: Draw) -> Task:
    """What HLB is for."""
    oil = draw.step(20, 40, 5)
    return choice(
        draw,
        f"A hair mist stands in two layers, {oil:g} % oil, and is shaken before each use. Which HLB does it ask for?",
        "None: it has no emulsifier",
        {
            "The mean of what its oils ask for": "that is for emulsions; here an emulsifier would keep it from parting",
            "7, the middle": "no HLB fits a product that is to part",
            "The same as water": "water has no HLB",
        },
        ["What is HLB a number of?", "What would an emulsifier do to it?"],
        f"HLB is for emulsions ({GRIFFIN}). A product that is to stand in two layers holds no emulsifier.",
    )


@exercise_of("10", "order")
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


@exercise_of("10", "find")
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
