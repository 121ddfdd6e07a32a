"""Exercises of lesson 09: two layers in use. All products and weighings are invented."""

from __future__ import annotations

from math import log10
from typing import TYPE_CHECKING

from kit.course.catalogue import exercise_of
from kit.course.tasks import choice, find, number, order

if TYPE_CHECKING:
    from kit.course.draw import Draw
    from kit.course.tasks import Task

#: kPa at 20 °C and g/mol: the lesson's own table, from data/vapour-pressures.
VAPOURS = (("water", 2.34, 18.02), ("alcohol", 5.88, 46.07))
MONTH = 30.4


@exercise_of("09", "number")
def vapour_in_the_air_drawn_in(draw: Draw) -> Task:
    """What the air of a pump takes away."""
    name, kpa, molar = draw.one(*VAPOURS)
    millilitres = draw.step(40, 200, 10)
    milligrams = kpa * molar / (8.314 * 293.15) * millilitres
    return number(
        f"A pump has drawn {millilitres:g} mL of air into a bottle of pure {name} at 20 °C (vapour pressure "
        f"{kpa:g} kPa, "
        f"{molar:g} g/mol; R = 8.314 J/(mol K)). How many mg of vapour does that air take up at most?",
        milligrams,
        "mg",
        [
            (kpa * molar / (8.314 * 20) * millilitres, "you took degrees Celsius for kelvin"),
            (kpa / (8.314 * 293.15) * millilitres, "you forgot the molar mass: that is millimoles"),
            (101.325 * molar / (8.314 * 293.15) * millilitres, "you took the pressure of the air, not of the vapour"),
        ],
        [
            "Pressure × molar mass / (R × kelvin) is grams in a litre.",
            "Grams in a litre are milligrams in a millilitre.",
        ],
        f"{kpa:g} × {molar:g} / (8.314 × 293.15) × {millilitres:g} = {milligrams:.3g} mg (ideal gas).",
        2.0,
    )


@exercise_of("09", "number")
def loss_through_the_wall(draw: Draw) -> Task:
    """What a closed bottle loses in a month."""
    first, days, lost = draw.step(80, 140, 0.01), draw.step(28, 84, 7), draw.step(0.12, 0.6, 0.01)
    answer = lost / days * MONTH
    return number(
        f"A closed bottle weighs {first:.2f} g, and {first - lost:.2f} g after {days:g} days. What does it lose "
        "in a month "
        f"of {MONTH:g} days, in g?",
        answer,
        "g",
        [
            (lost, "you gave what it lost in all that time"),
            (lost / days, "you gave what it loses in a day"),
            (lost / MONTH * days, "you divided by the month and multiplied by the days"),
        ],
        ["First what it loses in a day.", f"{lost:.2f} g in {days:g} days."],
        f"{lost:.2f} / {days:g} × {MONTH:g} = {answer:.3g} g.",
        2.0,
    )


@exercise_of("09", "number")
def lever_on_a_tie_line(draw: Draw) -> Task:
    """How much of a mixture is its water layer."""
    rich, poor = draw.step(85, 95, 1), draw.step(1, 6, 1)
    whole = draw.step(20, 75, 5)
    answer = 100 * (whole - poor) / (rich - poor)
    return number(
        f"A mixture with {whole:g} % of water parts into a layer with {rich:g} % and one with {poor:g} % of "
        "water. How much "
        "of the mass is the layer that is rich in water, in %?",
        answer,
        "%",
        [
            (100 - answer, "the lever is turned round: that is the other layer"),
            (whole, "you gave the water of the whole"),
            (100 * whole / rich, "you forgot the water of the other layer"),
        ],
        ["The nearer end of the line is the larger layer.", f"The line is {rich:g} − {poor:g} long."],
        f"({whole:g} − {poor:g}) / ({rich:g} − {poor:g}) = {answer:.4g} %.",
        0.5,
    )


@exercise_of("09", "number")
def log_d_of_an_acid(draw: Draw) -> Task:
    """An acid between the layers."""
    log_p, pka, above = draw.step(1.5, 3, 0.1), draw.step(4, 5, 0.1), draw.step(0.6, 2, 0.2)
    answer = log_p - log10(1 + 10**above)
    return number(
        f"An acid has log P {log_p:.1f} and pKa {pka:.1f}. What is its log D at pH {pka + above:.1f}?",
        answer,
        "",
        [
            (log_p, "you gave log P: a part of it is charged and stays in the water"),
            (log_p - log10(1 + 10**-above), "you turned pH and pKa round, as for a base"),
            (log_p - above, "you took off the whole difference of pH and pKa; the uncharged part counts too"),
        ],
        ["Only the uncharged part goes over.", f"Of 1 + 10^{above:.1f} parts one is uncharged."],
        f"{log_p:.1f} − log (1 + 10^{above:.1f}) = {answer:.3g} (Scherrer and Howard 1977, from memory).",
        1.0,
    )


@exercise_of("09", "number")
def bottles_for_a_share(draw: Draw) -> Task:
    """How many trials bear out a share."""
    share = draw.one(80, 85, 90, 95)
    count = next(n for n in range(1, 200) if (share / 100) ** n <= 0.05)
    return number(
        "All bottles of a trial are mixed after eight shakes. How many must there be before one may say, with 95 "
        "%, that "
        f"at least {share} % of such shakings mix?",
        float(count),
        "",
        [
            (float(share), "you gave the share itself"),
            (float(round(0.05 * share, 0) or 1), "you took 5 % of the share"),
            (float(20), "one in twenty is the luck that is allowed, not the count of bottles"),
        ],
        ["By luck all of n mix with share × share × … , n times.", "That must be 0.05 or less."],
        f"{share / 100:g} multiplied {count} times with itself is {(share / 100) ** count:.4f}, not above 0.05 "
        "(Clopper and Pearson 1934).",
        0.5,
    )


@exercise_of("09", "number")
def first_dose_of_oil(draw: Draw) -> Task:
    """Which dose of an unshaken pump is oil."""
    area, water, tip, dose = draw.step(2, 4, 1), draw.step(50, 90, 2), draw.step(4, 12, 2), draw.step(1, 3, 1)
    held = area * tip
    doses = (water - held) / dose
    answer = float(int(doses) + 1)
    return number(
        f"A straight bottle has {area:g} mL to the millimetre. {water:g} mL of water layer stand under an oil "
        "layer; the "
        f"tube ends {tip:g} mm above the floor, a dose is {dose:g} mL, and nobody shakes. Which dose is the first "
        "with oil "
        "in it?",
        answer,
        "",
        [
            (float(int(water / dose) + 1), "you forgot what the tube leaves below its end"),
            (float(int(held / dose) + 1), "you counted what stays below the tube, not what comes out"),
            (float(int(doses) + 1 + int(held / dose) * 2), "you added what stays below the tube; it never comes out"),
        ],
        [
            "What stands below the end of the tube never comes out.",
            f"{held:g} mL stay; {water - held:g} mL come first.",
        ],
        f"({water:g} − {area:g} × {tip:g}) / {dose:g} = {doses:.4g}: the next dose, number {answer:.0f}, has oil "
        "in it.",
        0.4,
    )


@exercise_of("09", "number")
def frost_by_the_ideal_law(draw: Draw) -> Task:
    """Where a water layer begins to freeze."""
    name, molar = draw.one(("glycerin", 92.09), ("propylene glycol", 76.09), ("alcohol", 46.07))
    percent = draw.step(4, 12, 1)
    molal = 1000 * percent / molar / (100 - percent)
    return number(
        f"A water layer holds {percent:g} % w/w of {name} ({molar:g} g/mol) and water. By how many kelvin does "
        "the ideal law "
        "(1.86 K for a mole in a kilogram of water) lower the point at which it begins to freeze?",
        1.86 * molal,
        "",
        [
            (18.6 * percent / molar, "you took a kilogram of the layer, not of its water"),
            (1.86 * percent / 100, "you took percent for moles"),
            (molal, "you gave the moles in a kilogram of water"),
        ],
        ["Moles first: grams / molar mass.", f"{percent:g} g are in {100 - percent:g} g of water."],
        f"{percent:g} / {molar:g} / {(100 - percent) / 1000:g} × 1.86 = {1.86 * molal:.3g} K (Raoult 1882, from "
        "memory).",
        1.0,
    )


@exercise_of("09", "choice")
def what_rises_as_alcohol_leaves(draw: Draw) -> Task:
    """A level that rises by itself."""
    percent = draw.step(0.5, 0.9, 0.1)
    return choice(
        draw,
        f"A spirit layer is filled with {percent:g} % phenoxyethanol. After thirty weeks of use it holds more of it in "
        "percent. Why?",
        "Alcohol and water left, and it stayed",
        {
            "It came over from the light layer": "the light layer held none of it",
            "The balance was wrong": "nothing was weighed: a percent is a part of what is left",
            "It grows while the bottle stands": "nothing is added to a closed bottle",
        },
        ["A percent is a part of a whole.", "Which became smaller?"],
        "The whole became lighter by what evaporated; the phenoxyethanol stayed, so its part of it rose. What "
        "helped it, "
        "the alcohol, fell.",
    )


@exercise_of("09", "order")
def layers_at_the_line(draw: Draw) -> Task:
    """How clear the line is."""
    return order(
        draw,
        "Put these in order, the clearest parting first.",
        ("one thin sharp line", "haze within millimetres of it", "a net of drops along it", "a third, creamy layer"),
        ["Which of them is nearly none?", "A layer that does not go is the worst."],
        "Sharp, haze, lace, rag layer: the kit's words for the line between the layers.",
        "you began with the worst",
    )


@exercise_of("09", "find")
def the_trial_that_is_odd(draw: Draw) -> Task:
    """A sheet of trials with a slip."""
    names = ("A", "B", "C", "D")
    wrong = draw.one(*names)
    rows = []
    for name in names:
        minutes, seconds = draw.step(2, 6, 1), draw.step(5, 55, 5)
        total = 60 * minutes + seconds
        shown = total if name != wrong else 100 * minutes + seconds
        rows.append((name, f"{minutes:g} min {seconds:g} s", f"{shown:g}"))
    return find(
        "Times of parting, written down twice. Which line is wrong?",
        [("line", "by the watch", "in s"), *rows],
        wrong,
        {},
        ["A minute has sixty seconds.", "Work each line out: minutes × 60 + seconds."],
        f"In line {wrong} a minute was counted as a hundred seconds.",
    )
