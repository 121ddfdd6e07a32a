"""Exercises of lesson 09b: trials, doses, cold and warm. All products, times and weighings are invented."""

from __future__ import annotations

from math import sqrt
from typing import TYPE_CHECKING

from kit.course.catalogue import exercise_of
from kit.course.tasks import choice, find, number, order

if TYPE_CHECKING:
    from kit.course.draw import Draw
    from kit.course.tasks import Task


@exercise_of("09b", "number")
def times_by_their_middles(draw: Draw) -> Task:
    """Two variants of two bottles each."""
    a, b, c, d = draw.step(60, 90, 2), draw.step(110, 150, 2), draw.step(180, 240, 4), draw.step(250, 400, 10)
    answer = sqrt(a * b) / sqrt(c * d)
    return number(
        f"Two bottles with salt parted after {a:g} and {b:g} s, two without after {c:g} and {d:g} s. How many times as "
        "long do those with salt take, by the geometric means?",
        answer,
        "",
        [
            (1 / answer, "you turned the two round: that is without against with"),
            (answer**2, "you multiplied and forgot the roots"),
            (sqrt(c * d) - sqrt(a * b), "you took the difference, in seconds; a ratio is asked"),
        ],
        ["Multiply the two of a kind, and draw the square root.", f"√({a:g} × {b:g}) = {sqrt(a * b):.4g} s."],
        f"{sqrt(a * b):.4g} / {sqrt(c * d):.4g} = {answer:.3g}.",
    )


@exercise_of("09b", "number")
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


@exercise_of("09b", "number")
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


@exercise_of("09b", "choice")
def whose_first_dose_is_oil(draw: Draw) -> Task:
    """What comes first."""
    oil = draw.step(15, 30, 5)
    return choice(
        draw,
        f"A bottle stands in two layers, {oil:g} % oil layer on top, and nobody shakes. Whose first dose is oil?",
        "That of who tilts the bottle and pours",
        {
            "That of the pump whose tube ends near the floor": "a tube takes what stands at its end, the lower layer",
            "That of the spray with the same tube": "a spray draws through a tube like a pump",
            "Nobody's": "what is poured comes from the top",
        },
        ["Which end of the column does each take?", "The oil stands on top."],
        "A tilted bottle gives its top first; a tube gives what stands at its end, and the oil comes last.",
    )


@exercise_of("09b", "number")
def where_layers_change_places(draw: Draw) -> Task:
    """Where the layers change places."""
    cold, warm = draw.step(1.0, 6.0, 0.5), draw.step(1.5, 7.0, 0.5)
    answer = 20 + 20 * cold / (cold + warm)
    return number(
        f"At 20 °C the silicone of a mist is denser than its spirit by {cold / 1000:.4f} g/mL, at 40 °C the spirit is "
        f"denser by {warm / 1000:.4f} g/mL. At how many °C do they weigh the same, by a straight line?",
        answer,
        "",
        [
            (answer - 20, "that is how far above 20 °C"),
            (20 + 20 * warm / (cold + warm), "the lever is turned round: it is the same from the warm end"),
            (30.0, "you took the middle, as if both gaps were equal"),
        ],
        [f"Over 20 K the gap moves by {(cold + warm) / 1000:.4f} g/mL.", f"It has to move by {cold / 1000:.4f}."],
        f"20 + 20 × {cold / 1000:.4f} / {(cold + warm) / 1000:.4f} = {answer:.4g} °C.",
        0.8,
    )


@exercise_of("09b", "number")
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


@exercise_of("09b", "number")
def ice_in_brine(draw: Draw) -> Task:
    """How much of it is ice."""
    salt, then = draw.step(2, 6, 1), draw.step(10, 16, 1)
    kept = salt * (100 - then) / then
    answer = 100 - salt - kept
    return number(
        f"100 g of brine with {salt:g} % salt stand so cold that brine of {then:g} % would just begin to freeze. How "
        "many grams of it are ice, which is pure water?",
        answer,
        "g",
        [
            (kept, "that is the water which stays liquid"),
            (100 - salt * 100 / then - salt, "the salt was taken off twice"),
            (100 - salt, "you froze all of its water; the salt keeps some of it liquid"),
        ],
        ["The salt stays in what is liquid.", f"{salt:g} g of it make brine of {then:g} % with {kept:.3g} g of water."],
        f"100 − {salt:g} − {salt:g} × {100 - then:g} / {then:g} = {answer:.3g} g.",
        0.6,
    )


@exercise_of("09b", "number")
def pressure_on_the_cap(draw: Draw) -> Task:
    """How hard a warm bottle presses."""
    then, grown = draw.step(9, 20, 0.5), draw.step(1, 2, 0.1)
    now = then - grown
    dry = 99.0 * 323 / 293 * then / now
    answer = dry + 12.35 - 101.3
    return number(
        f"A bottle of water is closed at 20 °C (293 K) with {then:g} mL of air, and warmed to 50 °C (323 K), where "
        f"{now:.1f} mL of air are left. The dry air had 99.0 kPa; the vapour has 12.35 kPa at 50 °C; outside are 101.3 "
        "kPa. What presses on the cap, in kPa over the air outside?",
        answer,
        "kPa",
        [
            (99.0 * 323 / 293 + 12.35 - 101.3, "you forgot that the liquid squeezes the air"),
            (dry - 101.3, "you forgot the vapour"),
            (99.0 * 50 / 20 * then / now + 12.35 - 101.3, "you took degrees Celsius for kelvin"),
            (dry + 12.35, "that is with the air outside, which presses from the other side"),
        ],
        ["First the dry air, warmer and squeezed.", f"99.0 × 323 / 293 × {then:g} / {now:.1f} = {dry:.4g} kPa."],
        f"{dry:.4g} + 12.35 − 101.3 = {answer:.3g} kPa (gas law and Dalton's law).",
        1.0,
    )


@exercise_of("09b", "order")
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


@exercise_of("09b", "find")
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
