"""Colour differences in print, with a library made for colour as the judge."""

from __future__ import annotations

import pytest

from kit.stability.colour_difference import class_of, delta_e_76, delta_e_2000

Lab = tuple[float, float, float]

# G. Sharma, W. Wu, E. N. Dalal, Color Research and Application 30 (2005) 21-30, table 1: all 34 pairs, CIEDE2000
PAIRS: list[tuple[Lab, Lab, float]] = [
    ((50.0, 2.6772, -79.7751), (50.0, 0.0, -82.7485), 2.0425),
    ((50.0, 3.1571, -77.2803), (50.0, 0.0, -82.7485), 2.8615),
    ((50.0, 2.8361, -74.02), (50.0, 0.0, -82.7485), 3.4412),
    ((50.0, -1.3802, -84.2814), (50.0, 0.0, -82.7485), 1.0000),
    ((50.0, -1.1848, -84.8006), (50.0, 0.0, -82.7485), 1.0000),
    ((50.0, -0.9009, -85.5211), (50.0, 0.0, -82.7485), 1.0000),
    ((50.0, 0.0, 0.0), (50.0, -1.0, 2.0), 2.3669),
    ((50.0, -1.0, 2.0), (50.0, 0.0, 0.0), 2.3669),
    ((50.0, 2.49, -0.001), (50.0, -2.49, 0.0009), 7.1792),
    ((50.0, 2.49, -0.001), (50.0, -2.49, 0.001), 7.1792),
    ((50.0, 2.49, -0.001), (50.0, -2.49, 0.0011), 7.2195),
    ((50.0, 2.49, -0.001), (50.0, -2.49, 0.0012), 7.2195),
    ((50.0, -0.001, 2.49), (50.0, 0.0009, -2.49), 4.8045),
    ((50.0, -0.001, 2.49), (50.0, 0.001, -2.49), 4.8045),
    ((50.0, -0.001, 2.49), (50.0, 0.0011, -2.49), 4.7461),
    ((50.0, 2.5, 0.0), (50.0, 0.0, -2.5), 4.3065),
    ((50.0, 2.5, 0.0), (73.0, 25.0, -18.0), 27.1492),
    ((50.0, 2.5, 0.0), (61.0, -5.0, 29.0), 22.8977),
    ((50.0, 2.5, 0.0), (56.0, -27.0, -3.0), 31.9030),
    ((50.0, 2.5, 0.0), (58.0, 24.0, 15.0), 19.4535),
    ((50.0, 2.5, 0.0), (50.0, 3.1736, 0.5854), 1.0000),
    ((50.0, 2.5, 0.0), (50.0, 3.2972, 0.0), 1.0000),
    ((50.0, 2.5, 0.0), (50.0, 1.8634, 0.5757), 1.0000),
    ((50.0, 2.5, 0.0), (50.0, 3.2592, 0.335), 1.0000),
    ((60.2574, -34.0099, 36.2677), (60.4626, -34.1751, 39.4387), 1.2644),
    ((63.0109, -31.0961, -5.8663), (62.8187, -29.7946, -4.0864), 1.2630),
    ((61.2901, 3.7196, -5.3901), (61.4292, 2.248, -4.962), 1.8731),
    ((35.0831, -44.1164, 3.7933), (35.0232, -40.0716, 1.5901), 1.8645),
    ((22.7233, 20.0904, -46.694), (23.0331, 14.973, -42.5619), 2.0373),
    ((36.4612, 47.858, 18.3852), (36.2715, 50.5065, 21.2231), 1.4146),
    ((90.8027, -2.0831, 1.441), (91.1528, -1.6435, 0.0447), 1.4441),
    ((90.9257, -0.5406, -0.9208), (88.6381, -0.8985, -0.7239), 1.5381),
    ((6.7747, -0.2908, -2.4247), (5.8714, -0.0985, -2.2286), 0.6377),
    ((2.0776, 0.0795, -1.135), (0.9033, -0.0636, -0.5514), 0.9082),
]  # fmt: skip


@pytest.mark.parametrize(("one", "other", "published"), [pair for n, pair in enumerate(PAIRS, 1) if n != 14])
def test_sharmas_pairs(one: Lab, other: Lab, published: float) -> None:
    assert delta_e_2000(one, other) == pytest.approx(published, abs=0.5e-4)
    assert delta_e_2000(other, one) == pytest.approx(published, abs=0.5e-4)


def test_the_pair_on_a_jump() -> None:
    """Pair 14: its hues lie opposite each other, so the last digit of an angle decides between two values."""
    one, other, published = PAIRS[13]
    for found in (delta_e_2000(one, other), delta_e_2000(other, one)):
        assert min(abs(found - published), abs(found - 4.7461)) < 0.5e-4


@pytest.mark.parametrize(
    ("number", "difference"),
    [  # CIE76 of Sharma's pairs, recomputed with colour-science 0.4.7
        (1, 4.0011), (3, 9.1777), (5, 2.3696), (7, 2.2361), (9, 4.9800), (17, 36.8680), (19, 30.2531), (21, 0.8924),
        (23, 0.8583), (25, 3.1819), (27, 1.5389), (29, 6.5847), (31, 1.5051), (33, 0.9441),
    ],
)  # fmt: skip
def test_plain_distances(number: int, difference: float) -> None:
    one, other, _ = PAIRS[number - 1]
    assert delta_e_76(one, other) == pytest.approx(difference, abs=0.5e-4)
    assert delta_e_76(other, one) == delta_e_76(one, other)


@pytest.mark.parametrize(
    ("difference", "name"),
    [  # J. Korean Wood Sci. Technol. 48(1), table 1, and 50(4), table 2: classes of CIE76 differences
        (0.0, "invisible"), (0.19, "invisible"), (0.2, "very small"), (1.99, "very small"), (2.0, "small"),
        (2.99, "small"), (3.0, "medium"), (5.99, "medium"), (6.0, "large"), (11.99, "large"),
        (12.01, "a different colour"),
    ],
)  # fmt: skip
def test_the_classes_of_a_table(difference: float, name: str) -> None:
    assert class_of(difference) == name
