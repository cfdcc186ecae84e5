"""Plain lengths: published optima, arc flows against all partitions, kerf."""

from __future__ import annotations

import itertools
import random

import pytest

from cutopt.cut import pack
from cutopt.packing.arcflow import Bars, Flow, arcs_of
from cutopt.packing.effort import Effort
from tests.benchmarks.packing_published import TEXTBOOK, Textbook
from tests.packing.sawn import faults


@pytest.mark.parametrize("problem", TEXTBOOK, ids=lambda problem: problem.name)
def test_textbook_problems_are_solved_and_proven(problem: Textbook) -> None:
    """Optima and sources in `tests.benchmarks.packing_published`."""
    answer = pack(problem.items, problem.stock)
    assert faults([(length, 1) for length in problem.items], (problem.stock, 1), answer) == []
    assert (len(answer.sheets), answer.proven) == (problem.fewest, True)


def test_triplets_are_closed() -> None:
    """Three pieces that fill a bar to the last unit, as in Falkenauer, J. Heuristics 2 (1996): n / 3 is the optimum."""
    dice, items = random.Random(4), list[int]()
    for _ in range(60):
        first = dice.randint(380, 490)
        second = dice.randint(250, (1000 - first) // 2)
        items += [first, second, 1000 - first - second]
    answer = pack(items, 1000)
    assert (len(answer.sheets), answer.proven) == (60, True)


@pytest.mark.parametrize("seed", range(25))
def test_small_orders_against_all_partitions(seed: int) -> None:
    dice = random.Random(seed)
    stock, kerf = 30, dice.choice([0, 1, 2])
    items = [dice.randint(4, 20) for _ in range(dice.randint(1, 7))]
    answer = pack(items, stock, kerf=kerf)
    assert faults([(length, 1) for length in items], (stock, 1), answer, kerf=kerf) == []
    assert (len(answer.sheets), answer.proven) == (_fewest(items, stock, kerf), True)


def _fewest(items: list[int], stock: int, kerf: int) -> int:
    for number in range(1, len(items) + 1):
        for places in itertools.product(range(number), repeat=len(items)):
            bars = [[item for item, place in zip(items, places, strict=True) if place == bar] for bar in range(number)]
            if all(sum(bar) + kerf * (len(bar) - 1) <= stock for bar in bars if bar):
                return number
    raise AssertionError


def test_the_arc_flow_says_what_cannot_be() -> None:
    # 6 + 3 and 5 + 4 are the only full bars of 9; three bars of 9 hold 27, but 7 fits with nothing
    bars = Bars(lengths=(7, 6, 5, 4, 3), demand=(1, 1, 1, 1, 1), stock=9)
    budget = 3 * 9 - bars.total
    arcs = arcs_of(bars, budget)
    assert arcs is not None
    verdict, found = Flow(bars, arcs, budget, Effort(seconds=10)).solve(3, 100)
    assert verdict == "cut"
    assert sorted(map(sorted, found)) == [[0], [1, 4], [2, 3]]
    apart = Bars(lengths=(5,), demand=(4,), stock=9)
    arcs = arcs_of(apart, 3 * 9 - apart.total)
    assert arcs is not None
    assert Flow(apart, arcs, 7, Effort(seconds=10)).solve(3, 100)[0] == "impossible"


def test_rectangles_as_high_as_the_sheet_are_bars() -> None:
    """Also those more than half as high or as wide: no two fit one above the other."""
    lengths = [45, 36, 31, 14, 45, 36]
    upright = pack([(length, 60) for length in lengths], (100, 100))
    lying = pack([(60, length) for length in lengths], (100, 100))
    plain = pack(lengths, 100)
    assert len(upright.sheets) == len(lying.sheets) == len(plain.sheets) == 3
    assert faults([(length, 60) for length in lengths], (100, 100), upright) == []
    assert faults([(60, length) for length in lengths], (100, 100), lying) == []


def test_very_many_lengths() -> None:
    items = [45, 36, 31, 14] * 50_000
    answer = pack(items, 100)
    assert sum(len(bar.rectangles) for bar in answer.sheets) == len(items)
    assert answer.gap < 0.01
