"""Packings: right, sawable, proven where it is said, and honest about what is asked of them."""

from __future__ import annotations

import math
import random
import signal
import threading
import time
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
import pytest

from cutopt.cut import pack
from cutopt.errors import BadInput
from cutopt.packing import Packed, PackedSheet, Packing, Part
from tests.packing.sawn import can_be_sawn, faults

Size = tuple[int, int]


def drawn(count: int, seed: int, stock: Size, share: float = 0.6) -> list[Size]:
    dice = random.Random(seed)
    most = int(stock[0] * share), int(stock[1] * share)
    return [(dice.randint(1, most[0]), dice.randint(1, most[1])) for _ in range(count)]


# ---------------------------------------------------------------------------------------------- what is packed


@pytest.mark.parametrize("seed", range(12))
def test_drawn_orders_can_be_sawn(seed: int) -> None:
    dice = random.Random(seed)
    stock, kerf = (dice.randint(30, 400), dice.randint(30, 400)), dice.choice([0, 0, 1, 3, 7])
    items = drawn(dice.randint(1, 40), seed, stock, dice.choice([0.3, 0.6, 1.0]))
    answer = pack(items, stock, kerf=kerf, seconds=0.5, seed=seed)
    assert faults(items, stock, answer, kerf=kerf) == []


@pytest.mark.parametrize("kerf", [0, 3])
def test_a_sheet_sawn_up_by_chance_goes_back_into_one(kerf: int) -> None:
    """Pieces made by sawing one sheet: the fewest is one, and the area bound shows it without kerf."""
    for seed in range(6):
        items = _sawn_up((120, 90), 8, kerf, random.Random(seed))
        answer = pack(items, (120, 90), kerf=kerf, seconds=5, seed=seed)
        assert faults(items, (120, 90), answer, kerf=kerf) == []
        assert (len(answer.sheets), answer.lower_bound, answer.stopped) == (1, 1, "proven")


def _sawn_up(sheet: Size, parts: int, kerf: int, dice: random.Random) -> list[Size]:
    made = [sheet]
    while len(made) < parts:
        wide, high = made.pop(max(range(len(made)), key=lambda i: made[i][0] * made[i][1]))
        if wide >= high:
            at = dice.randint(2, wide - kerf - 2)
            made += [(at, high), (wide - at - kerf, high)]
        else:
            at = dice.randint(2, high - kerf - 2)
            made += [(wide, at), (wide, high - at - kerf)]
    return made


def test_the_kerf_is_kept_between_pieces_and_not_at_the_sheets_edge() -> None:
    # two of 49 and a kerf of 2 are the 100 to the last unit; a kerf of 3 is one too many
    assert len(pack([(49, 10)] * 2, (100, 10), kerf=2).sheets) == 1
    answer = pack([(49, 10)] * 2, (100, 10), kerf=3)
    assert (len(answer.sheets), answer.proven) == (2, True)
    # a kerf wider than the rest takes the rest with it; one that eats the sheet leaves an item as large as the sheet
    for kerf in (0, 3, 500):
        answer = pack([(100, 10), (98, 10)], (100, 10), kerf=kerf)
        assert faults([(100, 10), (98, 10)], (100, 10), answer, kerf=kerf) == []
        assert (len(answer.sheets), answer.proven) == (2, True)


def test_nothing_is_turned() -> None:
    answer = pack([(90, 10), (90, 10)], (100, 20))
    assert len(answer.sheets) == 1
    assert len(pack([(90, 20), (10, 20)], (100, 20)).sheets) == 1
    with pytest.raises(BadInput, match=r"items\[0\] = \(10, 90\).*not turned"):
        pack([(10, 90)], (100, 20))


def test_a_pinwheel_takes_two_sheets() -> None:
    """Four of 6 × 4 and 4 × 6 turn around in 10 × 10; no through-cut frees any of them."""
    items = [(6, 4), (4, 6), (6, 4), (4, 6)]
    around = [(0, 0, 6, 4), (6, 0, 10, 6), (4, 6, 10, 10), (0, 4, 4, 10)]
    assert not can_be_sawn(around, 0)
    assert can_be_sawn(around[:3], 0)
    assert len(pack(items, (10, 10), seconds=1).sheets) == 2


def test_the_same_seed_gives_the_same_answer() -> None:
    items = drawn(30, 5, (100, 100))
    assert pack(items, (100, 100), seconds=1, seed=3) == pack(items, (100, 100), seconds=1, seed=3)


def test_order_of_the_list_does_not_matter_to_the_number() -> None:
    items = drawn(30, 6, (100, 100))
    there = pack(items, (100, 100), seconds=0.5)
    back = pack(items[::-1], (100, 100), seconds=0.5)
    assert (len(there.sheets), there.lower_bound) == (len(back.sheets), back.lower_bound)


# ------------------------------------------------------------------------------- the verifier can say no


def test_the_verifier_finds_what_is_wrong() -> None:
    leaf = Part(x=0, y=0, width=6, height=10, item=0)
    good = PackedSheet(
        rectangles=(Packed(item=0, x=0, y=0, width=6, height=10),),
        cuts=Part(x=0, y=0, width=10, height=10, saw="up", at=6, parts=(leaf, Part(x=7, y=0, width=3, height=10))),
    )

    def said(items: Sequence[Size], kerf: int = 1, bound: int = 1) -> str:
        packing = Packing(sheets=(good,), lower_bound=bound, stopped="proven")
        return "; ".join(faults(items, (10, 10), packing, kerf=kerf))

    assert said([(6, 10)]) == ""
    assert "1 laid" in said([(6, 10), (1, 1)])
    assert "another size" in said([(5, 10)])
    assert "wrong cut" in said([(6, 10)], kerf=2)
    assert "above the number" in said([(6, 10)], bound=2)


# ------------------------------------------------------------------------------------------------ bad input


def test_every_mistake_is_listed_at_once() -> None:
    with pytest.raises(BadInput) as caught:
        pack([(0, 5), (5, -1), (11, 5), (5, 5), 7, (1.5, 2)], (10, 10), kerf=-1, seconds=-2)  # type: ignore[list-item]
    keys = [mistake.key for mistake in caught.value.mistakes]
    assert keys == ["kerf", "seconds", "items[0]", "items[1]", "items[4]", "items[5]", "items[2]"]


def test_no_items_and_no_stock() -> None:
    with pytest.raises(BadInput, match="at least one item"):
        pack([], (10, 10))
    with pytest.raises(BadInput, match="stock = 0"):
        pack([1], 0)
    with pytest.raises(BadInput, match="plain lengths where the stock is one"):
        pack([(1, 1)], 10)


NUMBERS = "a number of very many digits"


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"items": None}, "items = NoneType: items are a list"),
        ({"items": 5}, "items = int: items are a list"),
        ({"items": "ab"}, "items = str: items are a list"),
        ({"items": {(1, 2)}}, "items = set: items are a list"),  # a set has no order that lasts
        ({"items": {(1, 2): 3}}, "items = dict: items are a list"),
        ({"items": np.array(5)}, "items = ndarray: items are a list"),
        ({"items": [None]}, r"items\[0\] = None"),
        ({"items": [(math.nan, 2)]}, r"items\[0\] = \(nan, 2\)"),
        ({"items": [(True, 2)]}, r"items\[0\] = \(True, 2\)"),
        ({"items": [np.array(5)]}, r"items\[0\] = 5"),
        ({"items": [(10**5000, 1)]}, rf"items\[0\] = {NUMBERS}: lengths are more than 0 and at most 1000000000"),
        ({"items": [(1, 1)] * 1_000_001}, "items = 1000001: there are at most 1000000 items"),
        ({"stock": None}, "stock = None"),
        ({"stock": True}, "stock = True"),
        ({"stock": (1, 2, 3)}, r"stock = \(1, 2, 3\)"),
        ({"stock": (10.0, 10.0)}, r"stock = \(10.0, 10.0\)"),
        ({"stock": (2**30, 10)}, "stock = .*at most 1000000000"),
        ({"stock": 10**5000, "items": [1]}, f"stock = {NUMBERS}"),
        ({"kerf": 3.0}, "kerf = 3.0: a kerf is a whole number"),
        ({"kerf": math.nan}, "kerf = nan"),
        ({"kerf": 2**30}, "kerf = 1073741824"),
        ({"kerf": 10**5000}, f"kerf = {NUMBERS}"),
        ({"seconds": math.nan}, "seconds = nan"),
        ({"seconds": math.inf}, "seconds = inf"),
        ({"seconds": 1e300}, "seconds = 1e.300"),
        ({"seconds": 10**5000}, f"seconds = {NUMBERS}"),
        ({"seconds": "x"}, "seconds = x"),
        ({"seconds": None}, "seconds = None"),
        ({"seconds": True}, "seconds = True"),
        ({"seed": -1}, "seed = -1: a seed is a whole number, 0 or more"),
        ({"seed": "x"}, "seed = x"),
        ({"seed": 1.5}, "seed = 1.5"),
        ({"seed": None}, "seed = None"),
    ],
)
def test_what_cannot_be_read_is_said(given: dict[str, Any], said: str) -> None:
    with pytest.raises(BadInput, match=said):
        pack(**{"items": [(1, 2)], "stock": (10, 10), **given})


def test_whole_numbers_may_come_from_an_array() -> None:
    assert len(pack(np.array([[6, 10], [4, 10]]).tolist(), (10, 10)).sheets) == 1
    given: Any = np.array([[6, 10], [4, 10]]), np.array([10, 10])
    assert len(pack(*given, kerf=np.int64(0), seconds=np.int64(1)).sheets) == 1  # type: ignore[arg-type]
    bars: Any = np.array([6, 4, 10]), np.int64(10)
    assert len(pack(*bars).sheets) == 2


def test_the_largest_sizes_and_kerf_are_packed() -> None:
    """The longest length and the widest kerf together are still counted right."""
    most = 1_000_000_000
    items = [(most, most), (most // 2, most // 2), (most // 2, most // 2)]
    for kerf, fewest in ((0, 2), (most, 3)):
        answer = pack(items, (most, most), kerf=kerf, seconds=1)
        assert faults(items, (most, most), answer, kerf=kerf) == []
        assert (len(answer.sheets), answer.proven) == (fewest, True)


def test_mistakes_without_end_are_counted() -> None:
    with pytest.raises(BadInput) as caught:
        pack([(0, 0)] * 5000, (10, 10))
    assert len(caught.value.mistakes) == 101
    assert "4900 more" in str(caught.value)


def test_a_limit_of_nought_gives_a_packing_with_its_gap() -> None:
    items = drawn(60, 1, (100, 100), 0.5)
    answer = pack(items, (100, 100), seconds=0)
    assert faults(items, (100, 100), answer) == []
    assert answer.stopped in ("limit", "stalled", "proven")
    assert 0 <= answer.gap < 1


def test_very_many_items_are_packed_in_time_near_linear() -> None:
    """Twenty thousand different ones by hand rules, and as many of few kinds by multiples of good patterns."""
    dice = random.Random(0)
    items = [(dice.randint(1, 30_000), dice.randint(1, 30_000)) for _ in range(20_000)]
    start = time.process_time()
    answer = pack(items, (100_000, 100_000), seconds=1)
    assert time.process_time() - start < 20
    assert sum(len(sheet.rectangles) for sheet in answer.sheets) == len(items)
    assert 0 < answer.lower_bound <= len(answer.sheets)
    kinds = drawn(20, 2, (100, 100), 0.5)
    few = pack([kinds[i % 20] for i in range(20_000)], (100, 100), seconds=2)
    assert sum(len(sheet.rectangles) for sheet in few.sheets) == 20_000
    assert few.gap < 0.05


@pytest.mark.parametrize("count", [50, 2_000, 60_000])
def test_bars_of_many_different_lengths_stay_within_time_and_memory(count: int) -> None:
    """Lengths without a common measure in a bar of a billion units: no table has a place for each."""
    dice = random.Random(count)
    items = [dice.randint(1, 500_000_000) for _ in range(count)]
    start = time.process_time()
    answer = pack(items, 1_000_000_000, kerf=3, seconds=2)
    assert time.process_time() - start < 30
    assert faults([(length, 1) for length in items], (1_000_000_000, 1), answer, kerf=3) == []
    assert answer.gap < 0.05


def test_a_large_order_is_packed_where_the_limit_ends_before_its_rest() -> None:
    """Small pieces: thousands are left when whole multiples of good patterns are cut, and hand rules pack those."""
    dice = random.Random(4)
    kinds = [(dice.randint(10, 30), dice.randint(10, 30)) for _ in range(100)]
    items = [kinds[i % 100] for i in range(50_000)]
    answer = pack(items, (1000, 1000), seconds=0.5)
    assert sorted(one.item for sheet in answer.sheets for one in sheet.rectangles) == list(range(50_000))
    assert answer.gap < 0.1


@pytest.fixture
def interrupts_are_raised() -> Iterator[None]:
    """As in a program just started, whatever a library called by an earlier test left behind."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


@pytest.mark.usefixtures("interrupts_are_raised")
def test_an_interrupt_gives_the_best_so_far() -> None:
    items = drawn(100, 3, (100, 100), 0.4)
    threading.Timer(0.7, signal.raise_signal, (signal.SIGINT,)).start()
    start = time.monotonic()
    answer = pack(items, (100, 100), seconds=1000)
    assert time.monotonic() - start < 60
    assert faults(items, (100, 100), answer) == []
    assert answer.stopped == "interrupted" or answer.proven
