"""Exercises of lesson 06: the level of a preservative in the water layer, on paper. All products are invented.

None of this shows that a product withstands microbes; a challenge test in a laboratory (ISO 11930) does.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from kit.course.catalogue import exercise_of
from kit.course.tasks import choice, find, number, order
from kit.layers.partition import oil_to_water, undissociated_fraction, water_level

if TYPE_CHECKING:
    from kit.course.draw import Draw
    from kit.course.tasks import Task

#: Molar masses. [g/mol]
BENZOATE, BENZOIC, SORBATE, SORBIC = 144.10, 122.12, 150.22, 112.13
BEAN = "Bean and others, J. Soc. Cosmet. Chem. 16 (1965), no. 1"


@exercise_of("06", "number")
def salt_as_acid(draw: Draw) -> Task:
    """A salt counted as its acid."""
    name, salt, acid = draw.one(("sodium benzoate", BENZOATE, BENZOIC), ("potassium sorbate", SORBATE, SORBIC))
    percent = draw.step(0.2, 0.6, 0.05)
    return number(
        f"A product holds {percent:g} % {name} ({salt:g} g/mol). How much is that as its acid ({acid:g} g/mol), in %?",
        percent * acid / salt,
        "%",
        [
            (percent * salt / acid, "you turned the molar masses round; the acid is lighter than its salt"),
            (percent, "you took the salt for the acid"),
        ],
        ["One mole of salt makes one mole of acid.", f"{salt:g} g of salt make {acid:g} g of acid."],
        f"{percent:g} × {acid:g} / {salt:g} = {percent * acid / salt:.4g} %.",
    )


@exercise_of("06", "number")
def ratio_of_volumes(draw: Draw) -> Task:
    """The ratio, not the fraction."""
    share = draw.step(10, 45, 5)
    return number(
        f"Oil is {share:g} % of the volume of a product, the rest is water layer. What is φ, mL of oil for each mL of "
        "water?",
        oil_to_water(share / 100),
        "",
        [
            (share / 100, "you took the fraction of the whole for the ratio"),
            ((100 - share) / share, "you turned the ratio round"),
        ],
        ["φ is oil to water, not oil to the whole.", f"{share:g} mL of oil stand over {100 - share:g} mL of water."],
        f"{share:g} / {100 - share:g} = {oil_to_water(share / 100):.4g}.",
    )


@exercise_of("06", "number")
def level_in_the_water(draw: Draw) -> Task:
    """The level in the water."""
    overall, share, k = draw.step(0.2, 0.6, 0.1), draw.step(20, 45, 5), draw.one(2.0, 5.0, 7.5, 10.0)
    phi = share / (100 - share)
    answer = water_level(overall, phi, k)
    return number(
        f"{overall:g} % w/v of a preservative in oil and water together; oil is {share:g} % of the volume; K (oil to "
        f"water) is {k:g}. What is the level in the water, in % w/v?",
        answer,
        "%",
        [
            (water_level(overall, share / 100, k), "you put the oil's fraction where the ratio φ belongs"),
            (k * answer, "you gave the level in the oil"),
            (overall, "you took the level of the whole for that of the water"),
            (overall * (phi + 1) / (phi / k + 1), "you turned K round"),
        ],
        ["C (φ + 1) / (K φ + 1).", f"φ = {share:g} / {100 - share:g}."],
        f"{overall:g} × ({phi:.4g} + 1) / ({k:g} × {phi:.4g} + 1) = {answer:.4g} % w/v ({BEAN}).",
        1.5,
    )


@exercise_of("06", "number")
def undissociated_part(draw: Draw) -> Task:
    """The undissociated part."""
    ph = draw.step(4.4, 6, 0.1)
    name, pka = draw.one(("benzoic", 4.20), ("sorbic", 4.76))
    answer = 100 * undissociated_fraction(ph, pka)
    return number(
        f"What part of {name} acid (pKa {pka:.2f}) is undissociated at pH {ph:g}, in %?",
        answer,
        "%",
        [
            (100 - answer, "you gave the part that is split; the pH and the pKa are turned round"),
            (100 * 10 ** (pka - ph), "you gave undissociated to split, not to all of it"),
            (100 / (1 + 2.718281828 ** (ph - pka)), "you took e for 10"),
        ],
        ["1 / (1 + 10^(pH − pKa)).", f"pH − pKa = {ph - pka:.2f}."],
        f"100 / (1 + 10^{ph - pka:.2f}) = {answer:.4g} % (Henderson and Hasselbalch).",
        1.5,
    )


@exercise_of("06", "number")
def all_of_it_in_the_water(draw: Draw) -> Task:
    """All of it in the water."""
    percent, oil = draw.step(0.3, 0.9, 0.1), draw.step(15, 45, 5)
    answer = 100 * percent / (100 - oil)
    return number(
        f"A product holds {percent:g} % of a preservative; the oil layer is {oil:g} % by mass and takes none of it. "
        "What percent of the water layer is it?",
        answer,
        "%",
        [
            (percent, "you took percent of the whole for percent of the layer"),
            (percent * (100 - oil) / 100, "you multiplied by the layer's share, not divided"),
            (100 * percent / oil, "you took the other layer"),
        ],
        ["In how much water layer does it lie?", f"{100 - oil:g} g in 100 g of product."],
        f"100 × {percent:g} / {100 - oil:g} = {answer:.4g} %.",
    )


@exercise_of("06", "number")
def how_much_in_the_oil(draw: Draw) -> Task:
    """How much ends up in the oil."""
    grams, oil, water, k = draw.step(1, 5, 0.5), draw.step(20, 60, 10), draw.step(70, 120, 10), draw.one(3.0, 7.5, 12.0)
    answer = grams * k * oil / (k * oil + water)
    return number(
        f"{grams:g} g of a substance share out between {oil:g} mL of oil and {water:g} mL of water, K = {k:g}. "
        "How many grams are in the oil?",
        answer,
        "g",
        [
            (grams - answer, "you gave what is in the water; K is turned round"),
            (grams * k / (k + 1), "you forgot how much of each there is"),
            (grams * oil / (oil + water), "you shared it out by volume alone, as if K were 1"),
        ],
        ["The oil counts K times its volume.", f"{k:g} × {oil:g} to {water:g}."],
        f"{grams:g} × {k * oil:g} / ({k * oil:g} + {water:g}) = {answer:.4g} g ({BEAN}).",
    )


@exercise_of("06", "number")
def acid_that_still_acts(draw: Draw) -> Task:
    """From the salt to the part that acts."""
    percent, ph = draw.step(0.3, 0.6, 0.1), draw.step(4.4, 5.4, 0.2)
    part = undissociated_fraction(ph, 4.20)
    answer = percent * BENZOIC / BENZOATE * part
    return number(
        f"A toner without oil holds {percent:g} % sodium benzoate (144.10 g/mol) at pH {ph:g}. How much undissociated "
        "benzoic acid (122.12 g/mol, pKa 4.20) is that, in %?",
        answer,
        "%",
        [
            (percent * part, "you took the salt for the acid"),
            (percent * BENZOIC / BENZOATE, "you forgot the pH"),
            (percent * BENZOIC / BENZOATE * (1 - part), "you gave the part that is split"),
        ],
        ["First the acid that the salt makes, then its undissociated part.", f"That part is {100 * part:.4g} %."],
        f"{percent:g} × {BENZOIC} / {BENZOATE:.2f} × {part:.4g} = {answer:.4g} %.",
        2.0,
    )


@exercise_of("06", "choice")
def octanol_is_not_your_oil(draw: Draw) -> Task:
    """Octanol is not your oil."""
    return choice(
        draw,
        "A list gives log P = 1.96 for methylparaben. What is K in your oil?",
        "Not known from that: it has to be measured in that oil",
        {
            "91": "that is its distribution in octanol; in liquid paraffin K was measured as 0.02",
            "1.96": "that is a logarithm, and of octanol",
            "0.02": "that was measured in liquid paraffin; in soya oil it is 7.5",
        },
        ["What does P stand for?", "Octanol and water."],
        "log P tells of octanol. Between liquid paraffin and octanol lie more than four thousand times (Bean 1972).",
    )


@exercise_of("06", "order")
def where_more_acid_acts(draw: Draw) -> Task:
    """Where more of the acid is undissociated."""
    return order(
        draw,
        "0.5 % benzoic acid in all (pKa 4.20). Put these in order, the most undissociated acid first.",
        ["pH 3.5", "pH 4.2", "pH 5.0", "pH 6.0", "pH 7.0"],
        ["At the pKa it is half.", "Each step of pH above it leaves about a tenth."],
        "83 %, 50 %, 14 %, 1.6 % and 0.16 %: the lower the pH, the more.",
        "you turned it round: a high pH splits the acid",
    )


@exercise_of("06", "find")
def the_misprinted_level(draw: Draw) -> Task:
    """The misprinted level."""
    k = draw.one(2.0, 4.0, 8.0)
    phis = {"φ 0.2": 0.2, "φ 0.5": 0.5, "φ 1.0": 1.0, "φ 2.0": 2.0}
    wrong = draw.one("φ 0.5", "φ 1.0", "φ 2.0")
    levels = {name: water_level(0.4, phi, k) for name, phi in phis.items()}
    rows = [[name, f"{value * (k if name == wrong else 1):.4f}"] for name, value in levels.items()]
    return find(
        f"0.4 % w/v in all, K = {k:g}. In which row does the level of the oil stand in place of that of the water?",
        [["ratio", "water, % w/v"], *rows],
        wrong,
        {},
        ["The more oil, the less in the water.", "One row does not fall."],
        f"{wrong}: the water holds {levels[wrong]:.4f} % w/v; the oil {k:g} times that ({BEAN}).",
    )
