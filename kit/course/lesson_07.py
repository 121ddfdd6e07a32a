"""Exercises of lesson 07: what the readings support. All readings are invented."""

from __future__ import annotations

from math import exp, log
from typing import TYPE_CHECKING

from kit.course.catalogue import exercise_of
from kit.course.tasks import choice, find, number, order
from kit.stability.kinetics import q10_factor, time_to_share

if TYPE_CHECKING:
    from kit.course.draw import Draw
    from kit.course.tasks import Task

#: Student's t for 95 %: degrees of freedom -> (one side, two sides). Any printed table, such as the NIST/SEMATECH
#: e-Handbook of Statistical Methods, 1.3.6.7.2 (from memory).
STUDENT = {4: (2.132, 2.776), 6: (1.943, 2.447), 8: (1.860, 2.306), 10: (1.812, 2.228)}
Q1E = "ICH Q1E (2003)"


@exercise_of("07", "number")
def limit_of_the_mean(draw: Draw) -> Task:
    """The confidence limit of a line."""
    mean, error, df = draw.step(95.5, 97.5, 0.1), draw.step(0.3, 0.6, 0.05), draw.one(*STUDENT)
    one, two = STUDENT[df]
    return number(
        f"A line gives {mean:g} % of the label at 24 months, with a standard error of {error:g} and {df} degrees of "
        f"freedom. Potency can only fall. t is {one} for one side and {two} for two (95 %). What is the lower "
        "confidence limit of the mean, in %?",
        mean - one * error,
        "%",
        [
            (mean - two * error, "you asked on two sides where one is asked"),
            (mean + one * error, "you took the upper limit"),
            (mean - error, "you forgot t"),
        ],
        ["Mean less t times its standard error.", f"It may only fall: one side, t = {one}."],
        f"{mean:g} − {one} × {error:g} = {mean - one * error:.3f} % ({Q1E}).",
        0.04,
    )


@exercise_of("07", "number")
def where_the_line_meets_the_limit(draw: Draw) -> Task:
    """Where a line meets its limit."""
    start, least, slope = draw.step(5.2, 5.5, 0.05), draw.step(4.6, 4.9, 0.05), draw.step(0.004, 0.009, 0.001)
    answer = (start - least) / slope
    return number(
        f"The pH of a batch follows {start:g} − {slope:g} per day. On which day does the line meet {least:g}?",
        answer,
        "",
        [
            (start / slope, "you let it fall to nothing, not to the limit"),
            ((start - least) * slope, "you multiplied by the slope, not divided"),
            (least / slope, "you took the limit for the way to it"),
        ],
        ["How far may it fall?", f"By {start - least:.2f}."],
        f"({start:g} − {least:g}) / {slope:g} = {answer:.4g} days. An estimate ends earlier: at the confidence limit.",
    )


@exercise_of("07", "number")
def times_as_fast(draw: Draw) -> Task:
    """How much faster when warm."""
    factor, cold, warm = draw.one(2.0, 2.5, 3.0), draw.one(20.0, 22.5, 25.0), draw.one(35.0, 40.0, 45.0)
    answer = q10_factor(factor, warm, cold)
    steps = (warm - cold) / 10
    return number(
        f"A change goes {factor:g} times as fast for each 10 K. How many times as fast is it at {warm:g} °C as at "
        f"{cold:g} °C?",
        answer,
        "",
        [
            (factor * steps, "you multiplied by the steps; it is a power"),
            (1 / answer, "you turned it round: warm is faster"),
            (factor, "you took one step of 10 K"),
        ],
        ["How many steps of 10 K?", f"{steps:g}."],
        f"{factor:g}^{steps:g} = {answer:.4g}.",
    )


@exercise_of("07", "number")
def zero_order(draw: Draw) -> Task:
    """The same amount each month."""
    k, left = draw.step(0.6, 1.5, 0.1), draw.step(85, 95, 1)
    return number(
        f"A vitamin starts at 100 % and loses {k:g} points a month, always the same. After how many months are "
        f"{left:g} % left?",
        time_to_share(left, k, order="zero", start=100.0),
        "",
        [
            (left / k, "you divided what is left, not what is lost"),
            (log(100 / left) / (k / 100), "you took the same share, not the same amount"),
        ],
        ["How many points go?", f"{100 - left:g}."],
        f"({100} − {left:g}) / {k:g} = {(100 - left) / k:.4g} months (zero order).",
        0.5,
    )


@exercise_of("07", "number")
def first_order(draw: Draw) -> Task:
    """The same share each month."""
    k, left = draw.step(0.01, 0.04, 0.005), draw.one(50, 60, 70, 75)
    answer = time_to_share(left, k, order="first")
    return number(
        f"An active is lost in first order, k = {k:g} a month. After how many months are {left:g} % left?",
        answer,
        "",
        [
            ((1 - left / 100) / k, "you took the same amount each month, not the same share"),
            (answer / log(10), "you took the logarithm to 10, not the natural one"),
            (log(1 / (1 - left / 100)) / k, "you took what is lost for what is left"),
        ],
        ["ln(100 / left) = k t.", f"ln(100/{left:g}) = {log(100 / left):.4g}."],
        f"{log(100 / left):.4g} / {k:g} = {answer:.4g} months; exp(−{k:g} × {answer:.4g}) = {exp(-k * answer):.2f}.",
        0.5,
    )


@exercise_of("07", "number")
def how_far_it_may_reach(draw: Draw) -> Task:
    """How far an estimate may reach."""
    months = draw.one(6, 9, 15, 18, 24, 36)
    answer = min(2 * months, months + 12)
    return number(
        f"Readings at room temperature reach {months:g} months; warm storage showed no significant change, and the "
        "trend was analysed. The line meets its limit after 70 months. How far may the estimate reach, in months?",
        answer,
        "",
        [
            (70, "you took the crossing; nobody has been there"),
            (months, "you stopped at the last reading; with no change in warm storage it may reach on"),
            (max(2 * months, months + 12), "you took the longer of the two bounds; both hold"),
        ],
        ["Twice as far, and not more than twelve months beyond.", f"{2 * months:g} and {months + 12:g}."],
        f"The smaller of 2 × {months:g} and {months:g} + 12: {answer:g} months ({Q1E}; factors from memory).",
        0.5,
    )


@exercise_of("07", "number")
def limit_of_a_change(draw: Draw) -> Task:
    """The allowed change of a bottle."""
    start, percent = draw.step(800, 2400, 100), draw.one(10.0, 15.0, 20.0)
    return number(
        f"A lotion had {start:g} mPa·s at first; the plan allows a change of {percent:g} %. Which is the lower limit?",
        start * (1 - percent / 100),
        "mPa·s",
        [
            (start / (1 + percent / 100), "you divided; the change is counted of the start"),
            (start * percent / 100, "you gave the change, not the limit"),
            (start * (1 + percent / 100), "you gave the upper limit"),
        ],
        ["The change is a percent of the start.", f"{start * percent / 100:g} mPa·s."],
        f"{start:g} × (1 − {percent / 100:g}) = {start * (1 - percent / 100):g} mPa·s.",
        0.2,
    )


@exercise_of("07", "choice")
def kinetic_mean(draw: Draw) -> Task:
    """The mean kinetic temperature."""
    return choice(
        draw,
        "A cupboard swings between 15 and 30 °C. Where does the mean kinetic temperature lie?",
        "Above the ordinary mean",
        {
            "At the ordinary mean": "warm hours count more than cool ones",
            "Below the ordinary mean": "it is the warm hours that count more",
            "At the highest temperature": "cool hours count too, if less",
        },
        ["Which hours do more harm?", "The rate grows faster than the temperature."],
        "Warm hours count more (USP <1160>), so it lies above the mean and below the highest.",
    )


@exercise_of("07", "choice")
def what_an_estimate_is(draw: Draw) -> Task:
    """What an estimate is."""
    return choice(
        draw,
        "pH supports 14.8 months by the confidence limit of its line. What follows?",
        "The readings of pH support 14 whole months; the rest is still to be judged",
        {
            "Best before: 15 months": "months are rounded down, and one attribute is no shelf life",
            "The product keeps 14.8 months": "one attribute in closed bottles is not the product; microbes above all",
            "Period after opening: 14 months": "that needs packs that were opened and used again and again",
        },
        ["Of what does it speak?", "Of the mean of one attribute, in one storage."],
        "Rounded down, of one attribute. A date needs every attribute and a qualified person.",
    )


@exercise_of("07", "order")
def tests_of_pooling(draw: Draw) -> Task:
    """The steps of an estimate."""
    return order(
        draw,
        "Put the steps of an estimate after ICH Q1E in order, the first first.",
        [
            "fit a line to each batch",
            "test whether the slopes are equal",
            "test whether the starts are equal",
            "find where the confidence limit meets the limit",
            "cap it and round down to whole months",
        ],
        ["First each batch alone.", "Slopes before starts."],
        f"Lines, slopes, starts, crossing, cap ({Q1E}).",
        "you began at the end",
    )


@exercise_of("07", "find")
def the_batch_that_decides(draw: Draw) -> Task:
    """The batch that decides."""
    worst = draw.one("TL-01", "TL-02", "TL-03")
    days = {name: draw.step(90, 140, 1) for name in ("TL-01", "TL-02", "TL-03")}
    days[worst] = draw.step(40, 80, 1)
    return find(
        "The slopes differ (p = 0.001), so each batch has its own line. Which batch decides?",
        [["batch", "confidence limit meets the limit on day"], *([name, f"{day:g}"] for name, day in days.items())],
        worst,
        dict.fromkeys(days, "another one meets its limit earlier"),
        ["Every bottle should keep so long.", "The earliest."],
        f"{worst}, on day {days[worst]:g}: where lines differ, the worst batch decides ({Q1E}).",
    )
