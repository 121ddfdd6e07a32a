"""Exercises of lesson 10: substitutes, blends and repair. All products are invented."""

from __future__ import annotations

from math import exp, log, sqrt
from typing import TYPE_CHECKING

from kit.course.catalogue import exercise_of
from kit.course.tasks import choice, find, number

if TYPE_CHECKING:
    from kit.course.draw import Draw
    from kit.course.tasks import Task

GRIFFIN = "Griffin, J. Soc. Cosmetic Chemists 1 (1949) 311"


@exercise_of("10", "number")
def how_unlike_two_oils_are(draw: Draw) -> Task:
    """How unlike two oils are."""
    gap, ratio = draw.step(0.01, 0.06, 0.005), draw.step(1.2, 2.6, 0.2)
    density, viscosity = gap / 0.1, log(ratio) / log(10)
    answer = (density + 2 * viscosity + 0.5) / 4
    return number(
        f"Two oils differ by {gap:.3f} g/mL, where 0.1 counts as wholly unlike, and one is {ratio:g} times as thick, "
        "where ten times counts so, by logarithms. Of the second, log P is not known. Density counts 1, viscosity 2, "
        "log P 1. How unlike are they, from 0 to 1?",
        answer,
        "",
        [
            ((density + viscosity + 0.5) / 3, "you took the plain mean; viscosity counts twice"),
            ((density + 2 * viscosity) / 4, "what is not known counts as half, not as nothing"),
            ((density + 2 * viscosity) / 3, "you left out what is not known; it counts as half"),
        ],
        ["Each of the three from 0 to 1 first.", f"Density {density:.3g}, viscosity {viscosity:.3g}, log P 0.5."],
        f"({density:.3g} × 1 + {viscosity:.3g} × 2 + 0.5 × 1) / 4 = {answer:.3g} (Gower 1971).",
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
def share_of_the_richer_oil(draw: Draw) -> Task:
    """How much of the richer oil."""
    low, high = draw.step(20, 25, 0.5), draw.step(30, 35, 0.5)
    wanted = draw.step(26, 29, 0.5)
    answer = 100 * (wanted - low) / (high - low)
    return number(
        f"A light oil has the blending number {low:g}, a rich one {high:g}. How much of the rich one makes a blend of "
        f"number {wanted:g}, in %?",
        answer,
        "%",
        [
            (100 - answer, "the alligation is turned round: that is the share of the light one"),
            (100 * wanted / (low + high), "you divided by the sum, not by the difference"),
            (100 * low / high, "you divided the two numbers"),
        ],
        ["Blending numbers blend by mass: alligation.", f"{wanted:g} lies {wanted - low:g} above the light one."],
        f"({wanted:g} − {low:g}) / ({high:g} − {low:g}) = {answer:.3g} % (Maples 2000).",
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


@exercise_of("10", "find")
def the_change_that_is_none(draw: Draw) -> Task:
    """A repair that does not add up."""
    names = ("A", "B", "C", "D")
    wrong = draw.one(*names)
    rows = []
    for name in names:
        first, second = draw.step(1, 4, 0.5), draw.step(1, 4, 0.5)
        back = first + second - (1 if name == wrong else 0)
        rows.append((name, f"−{first + second:g}", f"+{first:g}", f"+{back - first:g}"))
    return find(
        "Four ways to mend a formula, in % of the whole. With one of them it no longer adds up to 100 %. Which?",
        [("way", "coco-caprylate", "squalane", "jojoba oil"), *rows],
        wrong,
        {},
        ["What leaves one line goes into others.", "Add each row: it must come to 0."],
        f"The changes of {wrong} come to −1 %.",
    )
