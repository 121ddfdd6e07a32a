"""Exercises of lesson 05: shaking and dosing. All products are invented."""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.course.catalogue import exercise_of
from kit.course.tasks import choice, find, number, order
from kit.layers.velocity import hindrance, stokes_velocity

if TYPE_CHECKING:
    from kit.course.draw import Draw
    from kit.course.tasks import Task

STOKES = "Stokes, Trans. Camb. Phil. Soc. 9 (1851) 8"


@exercise_of("05", "number")
def how_many_times_longer(draw: Draw) -> Task:
    """Smaller drops stay longer."""
    large, small = draw.step(90, 200, 10), draw.step(30, 80, 10)
    return number(
        f"Drops of {small:g} µm instead of {large:g} µm: how many times as long does one take to rise?",
        (large / small) ** 2,
        "",
        [
            (large / small, "you forgot the square"),
            ((large / small) ** 3, "you cubed it; the drag grows with the drop, too"),
            ((small / large) ** 2, "you turned it round: that is how fast, not how long"),
        ],
        ["Speed grows with the square of the diameter.", f"The sizes are {large / small:.4g} to 1."],
        f"({large:g}/{small:g})² = {(large / small) ** 2:.4g} ({STOKES}).",
    )


@exercise_of("05", "number")
def speed_of_a_drop(draw: Draw) -> Task:
    """The speed of one drop."""
    size, oil, thick = draw.step(40, 100, 10), draw.step(0.82, 0.92, 0.01), draw.one(1.2, 2.0, 3.0, 5.0)
    answer = stokes_velocity(size, oil, 1.02, thick)
    return number(
        f"An oil drop of {size:g} µm diameter, {oil:g} g/mL, in water of 1.02 g/mL and {thick:g} mPa·s. "
        "How fast does it rise (Stokes, g = 9.807 m/s²), in mm/s?",
        answer,
        "mm/s",
        [
            (4 * answer, "you put the diameter where the radius belongs"),
            (answer / 4, "you put the radius where the diameter belongs"),
            (answer * 1.02 / (1.02 - oil), "you took one density for the gap between the two"),
        ],
        ["v = g × gap × d² / (18 × viscosity).", f"The gap is {1000 * (1.02 - oil):.0f} kg/m³."],
        f"9.807 × {1000 * (1.02 - oil):.0f} × ({size:g}e-6)² / (18 × {thick:g}e-3) m/s = {answer:.4g} mm/s ({STOKES}).",
        1.5,
    )


@exercise_of("05", "number")
def in_the_crowd(draw: Draw) -> Task:
    """Slower in the crowd."""
    alone, share = draw.step(0.2, 0.8, 0.1), draw.step(8, 24, 2)
    answer = alone * hindrance(share / 100)
    return number(
        f"Alone a drop rises {alone:g} mm/s. Now {share:g} % of the volume is drops. How fast is it in the crowd "
        "(exponent 4.65), in mm/s?",
        answer,
        "mm/s",
        [
            (alone * (1 - share / 100), "you forgot the exponent"),
            (alone * (share / 100) ** 4.65, "you took the share of drops for the share of liquid"),
            (alone * (1 - 4.65 * share / 100), "you multiplied by the exponent, not raised to it"),
        ],
        ["(1 − share)^4.65.", f"1 − {share / 100:g} = {1 - share / 100:g}."],
        f"{alone:g} × {1 - share / 100:g}^4.65 = {answer:.4g} mm/s (Richardson and Zaki 1954).",
        1.5,
    )


@exercise_of("05", "number")
def time_to_the_top(draw: Draw) -> Task:
    """Time to the top."""
    height, speed = draw.step(40, 110, 10), draw.step(0.1, 0.5, 0.05)
    answer = height / speed / 60
    return number(
        f"A drop at the floor has {height:g} mm to go at {speed:g} mm/s. How many minutes does it take?",
        answer,
        "min",
        [
            (60 * answer, "you gave seconds"),
            (height * speed / 60, "you multiplied by the speed, not divided"),
            (answer / 2, "you took half the way; that is how long a drop takes that begins in the middle"),
        ],
        ["Way divided by speed is seconds.", f"{height / speed:.5g} s."],
        f"{height:g} / {speed:g} = {height / speed:.5g} s = {answer:.4g} min.",
    )


@exercise_of("05", "number")
def thicker_water(draw: Draw) -> Task:
    """A thicker water layer."""
    before, old, new = draw.step(4, 12, 1), draw.one(1.0, 1.2, 1.5), draw.one(4.0, 6.0, 9.0)
    return number(
        f"A shake has parted after {before:g} min, with a water layer of {old:g} mPa·s. A gum makes it {new:g} mPa·s, "
        "all else the same. After how many minutes now?",
        before * new / old,
        "min",
        [
            (before * old / new, "you turned it round: what is thicker takes longer"),
            (before * (new / old) ** 2, "you squared it; it is the drop size that counts squared"),
            (before + new - old, "you added the difference"),
        ],
        ["Speed falls as viscosity grows.", f"It is {new / old:.4g} times as thick."],
        f"{before:g} × {new:g} / {old:g} = {before * new / old:.4g} min ({STOKES}).",
    )


@exercise_of("05", "number")
def doses_in_a_bottle(draw: Draw) -> Task:
    """Doses in a bottle."""
    fill, left, dose = draw.one(100, 150, 200), draw.step(4, 10, 1), draw.one(0.5, 0.8, 1.2)
    return number(
        f"A bottle of {fill:g} mL, of which {left:g} mL stay below the tube, is used up in doses of {dose:g} mL. "
        "How many does it give? (Not rounded.)",
        (fill - left) / dose,
        "",
        [
            (fill / dose, "you forgot what stays below the tube"),
            ((fill - left) * dose, "you multiplied by the dose, not divided"),
            ((fill + left) / dose, "you added what stays"),
        ],
        ["How much can be drawn at all?", f"{fill - left:g} mL."],
        f"({fill:g} − {left:g}) / {dose:g} = {(fill - left) / dose:.4g}.",
        0.5,
    )


@exercise_of("05", "choice")
def which_liquid_is_the_drops(draw: Draw) -> Task:
    """Which liquid is the drops."""
    share = draw.step(10, 24, 2)
    return choice(
        draw,
        f"Oil is {share:g} % of the volume of a shake. After shaking, which liquid is the drops?",
        "The oil",
        {
            "The water": f"drops fill at most about 74 % of a space, and the water is {100 - share:g} %",
            "Either, by how it is shaken": "that holds between about 26 and 74 %",
        },
        ["Equal balls fill at most 0.74 of a space.", f"Water is {100 - share:g} % of it."],
        "What is below about 26 % of the volume is the drops (close packing; Ostwald, from memory).",
    )


@exercise_of("05", "choice")
def who_never_shakes(draw: Draw) -> Task:
    """Who never shakes."""
    return choice(
        draw,
        "The oil floats, the tube reaches to the floor, and a user never shakes. What does the pump give?",
        "Water layer at first, oil layer at the end",
        {
            "What the label says, always": "only what has been shaken is mixed",
            "Oil layer at first, water layer at the end": "the tube draws at the floor, and there stands the water",
            "Less and less of both": "a pump gives its dose until the tube draws air",
        },
        ["Where does the tube draw?", "At the floor, where the denser layer stands."],
        "The tube draws what stands at its tip: water until the line between the layers has sunk to it.",
    )


@exercise_of("05", "order")
def what_clears_first(draw: Draw) -> Task:
    """What clears first."""
    return order(
        draw,
        "One thing is changed at a time. Put these in order, the one that parts first first.",
        ["drops twice as large", "gap of densities twice as large", "nothing changed", "water five times as thick"],
        ["Speed: gap × diameter² / viscosity.", "4 times, 2 times, 1, one fifth."],
        f"Speeds 4, 2, 1 and 0.2 times ({STOKES}).",
        "you began with the one that stays longest",
    )


@exercise_of("05", "find")
def the_reading_that_contradicts(draw: Draw) -> Task:
    """The reading that contradicts."""
    minutes, values = ["1 min", "2 min", "3 min", "5 min", "8 min"], [6.0, 12.0, 18.0, 28.0, 40.0]
    at = 1 + draw.below(4)
    values[at] = values[at - 1] - draw.one(2.0, 3.0, 4.0)
    return find(
        "Height of the clear layer after shaking. Which reading contradicts the others?",
        [["after", "clear, mm"], *([name, f"{value:g}"] for name, value in zip(minutes, values, strict=True))],
        minutes[at],
        {},
        ["A clear layer does not shrink.", "Which one is less than the one before it?"],
        f"{minutes[at]}: the clear layer had been taller before.",
    )
