"""Designs: counts, published tables, and that every blend lies within its bounds and adds to 100 %."""

from __future__ import annotations

import time
from itertools import combinations
from math import comb

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import linprog

from kit.blends.designs import MOST_BOTTLES, bottles_of, constrained_design, simplex_centroid, simplex_lattice
from kit.blends.exchange import candidates, d_optimal
from kit.blends.region import BlendRegion, Part
from kit.blends.scheffe import model_matrix, model_terms
from kit.errors import KitError
from tests.pace import on_this_machine

#: McLean and Anderson (1966): a flare of magnesium, sodium nitrate, strontium nitrate and binder; bounds, the eight
#: extreme vertices and the seven centroids (from memory of the paper's table 1, which many textbooks print again).
FLARE = BlendRegion(
    (Part("magnesium", 40, 60), Part("sodium nitrate", 10, 50), Part("strontium nitrate", 10, 50), Part("binder", 3, 8))
)
FLARE_VERTICES = {
    (40, 10, 47, 3), (40, 10, 42, 8), (60, 10, 27, 3), (60, 10, 22, 8),
    (40, 47, 10, 3), (40, 42, 10, 8), (60, 27, 10, 3), (60, 22, 10, 8),
}  # fmt: skip
FLARE_CENTROIDS = {
    (50, 10, 34.5, 5.5), (50, 34.5, 10, 5.5), (40, 27.25, 27.25, 5.5), (60, 17.25, 17.25, 5.5),
    (50, 23.5, 23.5, 3), (50, 21, 21, 8), (50, 22.25, 22.25, 5.5),
}  # fmt: skip


def region_of(count: int) -> BlendRegion:
    """The whole simplex of so many parts."""
    return BlendRegion(tuple(Part(name) for name in "abcde"[:count]))


@st.composite
def regions(draw: st.DrawFn) -> BlendRegion:
    """Regions of two to five parts, some bounds of no effect, some parts held at one share."""
    parts = []
    for name in "abcde"[: draw(st.integers(2, 5))]:
        low = draw(st.integers(0, 40))
        parts.append(Part(name, low, low + draw(st.integers(0, 100 - low))))
    try:
        return BlendRegion(tuple(parts))
    except KitError:
        assume(False)
        raise


def test_lattice_and_centroid_have_as_many_blends_as_their_formulas_say() -> None:
    """(q+m-1)! / (m! (q-1)!) and 2^q - 1: NIST/SEMATECH e-Handbook 5.5.4.2 and 5.5.4.3, after Cornell."""
    for parts in range(2, 6):
        for degree in range(1, 7):
            lattice = simplex_lattice(region_of(parts), degree)
            assert len(set(lattice.points)) == len(lattice) == comb(parts + degree - 1, degree)
        assert len(set(simplex_centroid(region_of(parts)).points)) == 2**parts - 1
    assert [len(model_terms(3, model)) for model in ("linear", "quadratic", "special cubic")] == [3, 6, 7]


def test_the_lattice_of_the_handbook() -> None:
    """NIST/SEMATECH e-Handbook, table 5.3: the {3, 3} simplex-lattice."""
    printed = {
        (0, 0, 1), (0, 0.333, 0.667), (0, 0.667, 0.333), (0, 1, 0), (0.333, 0, 0.667), (0.333, 0.333, 0.333),
        (0.333, 0.667, 0), (0.667, 0, 0.333), (0.667, 0.333, 0), (1, 0, 0),
    }  # fmt: skip
    assert {
        tuple(round(share / 100, 3) for share in point) for point in simplex_lattice(region_of(3), 3).points
    } == printed


def test_the_published_extreme_vertices() -> None:
    assert set(FLARE.vertices) == FLARE_VERTICES
    found = {tuple(round(share, 6) for share in point) for point in constrained_design(FLARE, edges=False).points}
    assert found == FLARE_VERTICES | FLARE_CENTROIDS
    # without the middles: the corners, the six middles of the faces, and that of the whole
    assert len(constrained_design(FLARE, edges=False, faces=False, middle=False).points) == 8
    assert len(constrained_design(FLARE, edges=False, middle=False).points) == 8 + 6
    assert len(constrained_design(FLARE, edges=False, faces=False).points) == 8 + 1
    assert FLARE.findings[0].sentence.startswith("sodium nitrate: most 50 % cannot be reached")
    assert len(FLARE.faces(1)) == 12
    held = BlendRegion((Part("a"), Part("b"), Part("c", 5, 5)))
    assert held.findings[0].sentence.startswith("c is held at 5 %: no model can tell what it does")
    assert [len(FLARE.faces(dimension)) for dimension in (0, 2, 3, 4)] == [0, 6, 1, 0]


@given(regions(), st.data())
def test_every_design_stays_within_its_bounds(region: BlendRegion, data: st.DataObject) -> None:
    for point in (*constrained_design(region).points, *candidates(region, 60), region.middle):
        assert region.holds(point, 1e-7), point
    weights = data.draw(st.lists(st.floats(-1, 1), min_size=len(region.parts), max_size=len(region.parts)))
    # A linear programme over the region has its best at a corner, so the corners are the right ones.
    best = linprog(
        weights,
        A_eq=[[1.0] * len(weights)],
        b_eq=[100.0],
        bounds=[(part.low, part.high) for part in region.parts],
    )
    lowest = min(float(np.dot(weights, corner)) for corner in region.vertices)
    assert lowest == pytest.approx(best.fun, abs=1e-5)  # a weight below 1e-7 is none to the judge; times 100 %
    for n, tight in enumerate(region.tight):
        ends = [corner[n] for corner in region.vertices]
        assert (min(ends), max(ends)) == pytest.approx((tight.low, tight.high), abs=1e-6)
    low = BlendRegion(tuple(Part(part.name, part.low) for part in region.parts))
    for design in (simplex_lattice(low, data.draw(st.integers(1, 5))), simplex_centroid(low)):
        assert all(low.holds(point, 1e-7) for point in design.points)


@given(regions(), st.integers(0, 8), st.integers(0, 99), st.sampled_from(["linear", "quadratic"]))
def test_an_exchange_never_loses(region: BlendRegion, more: int, seed: int, model: str) -> None:
    spots = candidates(region, 80)
    needed = len(model_terms(len(region.parts), model))  # type: ignore[arg-type]
    try:
        found = d_optimal(spots, needed + more, model, seed=seed)  # type: ignore[arg-type]
    except KitError as error:  # a part that is held at one share is no part of a model
        assert "cannot tell" in str(error)  # noqa: PT017
        return
    assert all(later >= earlier - 1e-9 for earlier, later in zip(found.history, found.history[1:], strict=False))
    assert found == d_optimal(spots, needed + more, model, seed=seed)  # type: ignore[arg-type]
    assert all(point in spots for point in found.points)


def test_the_exchange_finds_the_best_of_all_choices() -> None:
    """Every one of the choices of 6 and of 7 among 10 blends, computed: the judge is numpy's determinant."""
    spots = simplex_lattice(region_of(3), 3).points
    for count in (6, 7):
        every = [
            np.linalg.det((matrix := model_matrix([spots[n] for n in rows], "quadratic")).T @ matrix)
            for rows in combinations(range(10), count)
        ]
        chosen = model_matrix(d_optimal(spots, count).points, "quadratic")
        assert np.linalg.det(chosen.T @ chosen) >= max(every) * (1 - 1e-9)
    kept = d_optimal(spots, 2, made=simplex_lattice(region_of(3), 2).points[:5])
    assert len(kept.points) == 2  # bottles made already count as bottles


def test_many_blends_that_leave_one_coefficient_open_are_told() -> None:
    """Along the edges a-b and a-c alone, b and c are never together, so what they do together cannot be told."""
    spots = [(100.0, 0.0, 0.0)]
    for other in range(10, 101, 10):
        spots += [(100.0 - other, other, 0.0), (100.0 - other, 0.0, other)]
    with pytest.raises(KitError, match="These 21 blends cannot tell the 6 coefficients of a quadratic model apart"):
        d_optimal(spots, 9)
    assert len(d_optimal([*spots, (0.0, 50.0, 50.0)], 9).points) == 9


def test_twenty_of_five_hundred_in_a_second() -> None:
    spots = [tuple(point) for point in np.random.default_rng(3).dirichlet([1.0] * 5, 500) * 100]
    times = []
    for seed in range(3):
        start = time.perf_counter()
        assert len(d_optimal(spots, 20, seed=seed).points) == 20
        times.append(time.perf_counter() - start)
    assert min(times) < on_this_machine(1.0)


def test_bottles_are_repeated_shuffled_and_coded() -> None:
    design = simplex_lattice(region_of(3), 2)
    first, again, other = design.bottles(2, 7), design.bottles(2, 7), design.bottles(2, 8)
    assert first == again != other
    assert [bottle.number for bottle in first] == list(range(1, 13))
    assert sorted(bottle.point for bottle in first) == sorted([*design.points, *design.points])
    assert len({bottle.code for bottle in first}) == 12
    assert all(len(bottle.code) == 3 for bottle in first)


def test_what_cannot_be_designed_is_said() -> None:
    two = (Part("a"), Part("b"))
    spots = simplex_lattice(region_of(3), 2).points
    for work, words in (
        (lambda: Part(" "), "no name"),
        (lambda: Part("a", 40, 20), "a: from 40 to 20 % is no range"),
        (lambda: BlendRegion((Part("a"),)), "has 2 to 5 parts; 1 is named"),
        (lambda: BlendRegion((*two, Part("A "))), "A  is there twice"),
        (lambda: BlendRegion((Part("a", 60), Part("b", 50))), "least shares add to 110 %"),
        (lambda: BlendRegion((Part("a", 0, 40), Part("b", 0, 50))), "most shares add to 90 %"),
        (lambda: BlendRegion((Part("a", 40), Part("b", 60))), "leave a single blend"),
        (lambda: BlendRegion((Part("a", 0, 40), Part("b", 0, 60))), "leave a single blend"),
        # 50 of the first leave 50 of the second, though the bounds add to 50 and to 150 %
        (lambda: BlendRegion((Part("a", 50, 50), Part("b"))), "leave a single blend"),
        (lambda: simplex_lattice(region_of(3), 0), "1 to 10 steps"),
        (
            lambda: simplex_centroid(BlendRegion((Part("a", 0, 60), Part("b")))),
            "a would go up to 100 %, above its most",
        ),
        (lambda: bottles_of(spots, 0), "are 0 bottles"),
        (lambda: bottles_of(spots, MOST_BOTTLES), "Make 1 to 500"),
        (lambda: d_optimal(spots, 5), "6 coefficients, so it needs 6 bottles or more; you want 5"),
        (lambda: d_optimal(spots, 9, "special cubic"), "cannot tell the 7 coefficients of a special cubic model apart"),
        (lambda: d_optimal([], 9), "no blend to choose from"),
        (lambda: model_terms(3, "cubic"), "'cubic' is no model"),  # type: ignore[arg-type]
    ):
        with pytest.raises(KitError, match=words):
            work()


@pytest.mark.parametrize(
    ("bounds", "words"),
    [
        (((40, 60), (40, 60)), ""),
        (((50, 100), (50, 100)), "leave a single blend"),  # the least add to 100
        (((0, 50), (0, 50)), "leave a single blend"),  # the most add to 100
        (((50.5, 100), (50, 100)), r"least shares add to 100\.5 %"),
        (((0, 50), (0, 49.5)), r"most shares add to 99\.5 %"),
        (((49.9, 100), (50, 100)), ""),
        (((0, 50.1), (0, 50)), ""),
    ],
)
def test_bounds_must_leave_blends_to_choose_from(bounds: tuple[tuple[float, float], ...], words: str) -> None:
    parts = tuple(Part(name, *ends) for name, ends in zip("ab", bounds, strict=True))
    if words:
        with pytest.raises(KitError, match=words):
            BlendRegion(parts)
    else:
        for low, high in ((part.low, part.high) for part in BlendRegion(parts).tight):
            assert low < high
