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
def level_after_evaporation(draw: Draw) -> Task:
    """What stays grows stronger."""
    level, alcohol, water = draw.step(0.5, 0.9, 0.05), draw.step(4, 12, 1), draw.step(1, 5, 0.5)
    left = 100 - alcohol - water
    answer = 100 * level / left
    return number(
        f"100 g of a spirit layer hold {level:g} % of a preservative that does not evaporate. {alcohol:g} g of alcohol "
        f"and {water:g} g of water leave the bottle. How much of the layer is the preservative then, in %?",
        answer,
        "%",
        [
            (level * left / 100, "you multiplied by what is left; the same grams stand in less"),
            (100 * level / (100 - alcohol), "you forgot the water that left"),
            (level + level * (alcohol + water), "you added the loss as if it were percent of a percent"),
        ],
        [f"{level:g} g stay, whatever leaves.", f"They stand in {left:g} g."],
        f"{level:g} / {left:g} × 100 = {answer:.4g} %.",
        0.8,
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
def what_the_air_takes_most_of(draw: Draw) -> Task:
    """What evaporates first."""
    return order(
        draw,
        "A litre of air at 20 °C stood over each of these alone. Put them in order, the most grams of vapour first.",
        ("alcohol", "water", "cyclopentasiloxane", "squalane"),
        ["Vapour pressure times molar mass.", "5.88 × 46, 2.34 × 18, 0.013 × 371, and squalane hardly at all."],
        "Alcohol 0.111 g, water 0.0173 g, the silicone 0.002 g, squalane next to nothing (data/vapour-pressures).",
        "you began with the least",
    )


@exercise_of("09", "find")
def the_bottle_that_grew(draw: Draw) -> Task:
    """A slip in a sheet of weighings."""
    start, loss = draw.step(118, 142, 0.5), draw.step(0.008, 0.016, 0.002)
    days = (14, 28, 42, 56)
    wrong = draw.one(*days[1:])
    rows = [(f"day {day}", f"{start - loss * day + (0.9 if day == wrong else 0):.2f} g") for day in days]
    return find(
        f"A closed bottle weighed {start:.2f} g on day 0. One of these weighings was written down wrong. Which?",
        [("when", "on the balance"), *rows],
        f"day {wrong}",
        {},
        ["A closed bottle only loses.", "Take each weighing from the one before it."],
        f"On day {wrong} it would have gained; the others fall by {14 * loss:.2f} g each time.",
    )


@exercise_of("09", "number")
def ratio_after_unequal_doses(draw: Draw) -> Task:
    """Doses that take too little oil."""
    oil, dosed = draw.step(20, 40, 2), draw.step(10, 40, 5)
    water = 100 - oil
    taken = dosed * (oil / 2) / (water + oil / 2)
    left = oil - taken
    answer = 100 * left / (100 - dosed)
    return number(
        f"A bottle holds {water:g} mL of water layer and {oil:g} mL of oil layer. {dosed:g} mL are drawn at once, and "
        "the oil counts only half of its part in that. How much of what is left is oil layer, in % of the volume?",
        answer,
        "%",
        [
            (oil, "you took the ratio as it was; the bottle keeps what the dose lacked"),
            (
                100 * (oil - dosed * oil / 200) / (100 - dosed),
                "the parts are counted anew: half the oil to all the water",
            ),
            (left, "you gave the millilitres of oil that are left"),
        ],
        [f"The parts are {water:g} to {oil / 2:g}.", f"Of {dosed:g} mL drawn, {taken:.3g} mL are oil."],
        f"({oil:g} − {taken:.4g}) / {100 - dosed:g} = {answer:.4g} %.",
        0.4,
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
def share_that_went_over(draw: Draw) -> Task:
    """How much is in the oil."""
    k, water, oil = draw.one(0.2, 0.5, 2.0, 5.0, 8.0), draw.step(60, 90, 5), draw.step(10, 35, 5)
    answer = 100 * k * oil / (water + k * oil)
    return number(
        f"A dye is {k:g} times as concentrated in the oil as in the water at rest. {oil:g} mL of oil stand over "
        f"{water:g} mL of water. How much of all the dye is in the oil, in %?",
        answer,
        "%",
        [
            (100 * k / (1 + k), "you left out that there is less oil than water"),
            (100 * oil / (water + oil), "you shared it out by volume alone, as if both layers held it alike"),
            (100 - answer, "that is what stays in the water"),
        ],
        ["Count each mL of oil as so many mL of water.", f"{oil:g} mL of oil hold as much as {k * oil:g} mL of water."],
        f"{k * oil:g} / ({water:g} + {k * oil:g}) = {answer:.3g} %.",
    )
