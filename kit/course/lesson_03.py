"""Exercises of lesson 03: the stability log. All readings are invented."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

from kit.course.catalogue import exercise_of
from kit.course.tasks import choice, find, number, order
from kit.stability.colour_difference import delta_e_76

if TYPE_CHECKING:
    from kit.course.draw import Draw
    from kit.course.tasks import Task

START = date(2026, 1, 12)


@exercise_of("03", "number")
def how_many_bottles(draw: Draw) -> Task:
    """How many bottles a study takes."""
    batches, places, pulls = draw.one(2, 3, 4), draw.one(3, 4, 5), draw.one(5, 6, 7)
    return number(
        f"{batches} batches stand in {places} places. At each of {pulls} pulls a bottle of each batch in each place is "
        "opened and thrown away. How many bottles are filled?",
        batches * places * pulls,
        "",
        [
            (batches * places, "you counted the bottles of one pull"),
            (places * pulls, "you counted one batch"),
            (batches + places + pulls, "you added; each of them is needed for each of the others"),
        ],
        ["How many for one pull?", f"{batches} × {places} for each pull."],
        f"{batches} × {places} × {pulls} = {batches * places * pulls}.",
        0.1,
    )


@exercise_of("03", "number")
def day_of_a_pull(draw: Draw) -> Task:
    """On which day of the study."""
    weeks = draw.one(4, 8, 12, 16)
    begun = START + timedelta(days=int(draw.step(0, 60, 1)))
    late = int(draw.step(3, 9, 1))
    seen = begun + timedelta(days=7 * weeks + late)
    return number(
        f"A study began on {begun.isoformat()}. The pull of week {weeks} was read on {seen.isoformat()}. "
        "How many days late was that?",
        late,
        "",
        [
            (late + 1, "you counted the first day too; the day it begins is day 0"),
            (7 * weeks + late, "you gave the age, not how late it is"),
            ((seen - begun).days - 30 * weeks / 4, "you counted a month as 30 days; the plan counts weeks"),
        ],
        [f"Week {weeks} is day {7 * weeks}.", f"It is due on {(begun + timedelta(days=7 * weeks)).isoformat()}."],
        f"Due on day {7 * weeks}, read on day {7 * weeks + late}: {late} days late.",
        0.1,
    )


@exercise_of("03", "number")
def lost_mass(draw: Draw) -> Task:
    """Mass lost by a bottle."""
    bottle, filled = draw.step(18, 30, 1), draw.step(80, 120, 5)
    lost = draw.step(1, 4, 0.2)
    return number(
        f"An empty bottle weighs {bottle:g} g, full {bottle + filled:g} g. After twelve weeks it weighs "
        f"{bottle + filled - lost:g} g. What percent of its content has gone?",
        100 * lost / filled,
        "%",
        [
            (100 * lost / (bottle + filled), "you divided by bottle and content; the bottle loses nothing"),
            (100 * lost / (filled - lost), "you divided by the remaining mass, not by what was filled"),
        ],
        ["What was in it at the start?", f"{filled:g} g of content."],
        f"100 × {lost:g} / {filled:g} = {100 * lost / filled:.4g} %.",
        0.3,
    )


@exercise_of("03", "number")
def colour_apart(draw: Draw) -> Task:
    """How far two colours lie apart."""
    light, red, yellow = draw.one(2.0, 3.0, 4.0), draw.one(1.0, 2.0, 3.0), draw.one(4.0, 6.0, 8.0)
    answer = delta_e_76((84.0, -2.0, 28.0), (84.0 - light, -2.0 + red, 28.0 + yellow))
    return number(
        f"A colour goes from L* a* b* 84, −2, 28 to {84 - light:g}, {-2 + red:g}, {28 + yellow:g}. "
        "What is the difference ΔE*ab of 1976?",
        answer,
        "",
        [
            (light + red + yellow, "you added the three differences"),
            (answer**2, "you forgot the root"),
            ((light**2 + yellow**2) ** 0.5, "you left a* out"),
            ((-light + red + yellow) / 3, "you took the mean of the differences"),
        ],
        ["It is a distance in three directions.", "Square each difference, add, take the root."],
        f"√({light:g}² + {red:g}² + {yellow:g}²) = {answer:.3f} (CIE 15:2018).",
    )


@exercise_of("03", "number")
def how_far_from_the_limit(draw: Draw) -> Task:
    """How much of the allowed change is used."""
    start, allowed, fallen = draw.step(5, 5.6, 0.1), draw.one(0.4, 0.5, 0.8), draw.step(0.1, 0.3, 0.05)
    return number(
        f"pH was {start:g} at the start and is {start - fallen:g} now; the plan allows a change of {allowed:g}. "
        "What percent of the allowed change is used?",
        100 * fallen / allowed,
        "%",
        [
            (100 * fallen / start, "you divided by the pH at the start, not by the allowed change"),
            (100 * (allowed - fallen) / allowed, "you gave what is left"),
        ],
        ["How much has it changed?", f"By {fallen:g}, of {allowed:g}."],
        f"100 × {fallen:g} / {allowed:g} = {100 * fallen / allowed:.4g} %.",
    )


@exercise_of("03", "choice")
def a_wrong_reading(draw: Draw) -> Task:
    """What to do with a wrong reading."""
    return choice(
        draw,
        "You typed 5.52 and the sheet says 5.25. What is done in the log?",
        "A new row says 5.25, which one it replaces, and why",
        {
            "The old row is deleted": "a log that can be emptied proves nothing",
            "The old number is written over": "then nobody can see that there was another",
            "Nothing, a note on paper will do": "whoever reads the log would reckon with the wrong number",
        },
        ["Would somebody else see what happened?", "Both values stay."],
        "A correction is a new row with its reason; both values stay.",
    )


@exercise_of("03", "choice")
def a_pull_that_was_missed(draw: Draw) -> Task:
    """A pull that was missed."""
    return choice(
        draw,
        "Nobody was there for the pull of week 2, and the days of grace are over. What is right?",
        "Record it as missed, with the reason",
        {
            "Type the readings of week 1 once more": "that makes up a reading; nobody saw the bottle",
            "Type the mean of weeks 1 and 4": "a mean between is no reading, and hides the gap",
            "Leave it open and say nothing": "a gap without a reason looks like one that is hidden",
        },
        ["Only what was seen is a reading.", "Somebody will ask why there is none."],
        "A row that says that it was missed, and why.",
    )


@exercise_of("03", "order")
def a_pull_in_order(draw: Draw) -> Task:
    """A pull in order."""
    return order(
        draw,
        "Put the work of one pull in order, the first first.",
        [
            "take the bottle out and let it come to 20 °C",
            "look at it unshaken: layers, colour",
            "shake and time how it parts",
            "open it: odour, pH",
            "save the readings",
        ],
        ["What is spoilt by shaking is looked at before.", "Open it last: what is opened is no longer closed."],
        "Warm up, look unshaken, shake and time, open, save.",
        "you began at the end",
    )


@exercise_of("03", "find")
def swapped_digits(draw: Draw) -> Task:
    """The reading with swapped digits."""
    first, step = draw.step(5.3, 5.45, 0.05), 0.03
    weeks = ["start", "1 week", "2 weeks", "4 weeks", "8 weeks"]
    values = [first - step * n for n in range(5)]
    at = 1 + draw.below(4)
    values[at] += draw.one(0.6, -0.6)
    return find(
        "pH of one bottle in the warm box. Which reading would you look up on the sheet once more?",
        [["pull", "pH"], *([week, f"{value:.2f}"] for week, value in zip(weeks, values, strict=True))],
        weeks[at],
        {},
        ["How does it go from pull to pull?", "One value lies far beside the line through the others."],
        f"{weeks[at]}: the others fall by about {step:g} from pull to pull.",
    )
