"""What is to be packed, checked and sorted into kinds of equal pieces."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cutopt.errors import BadInput, Mistake
from cutopt.packing.filling import Sizes

MOST_LISTED = 100  # mistakes listed one by one; the rest are counted
MOST = 1_000_000_000  # longest length and widest kerf, in any unit: their sum is less than 2 to the 31
MOST_ITEMS = 1_000_000
MOST_SECONDS = 1e7

Item = int | Sequence[int]


@dataclass(frozen=True, kw_only=True, slots=True)
class Order:
    """A checked order. `sizes` have the kerf added; `members`: for each kind, the places of its items in the list.

    An order of plain lengths is one of items as high as the stock, with `bars` set; the height is then 1.
    """

    sizes: Sizes
    members: tuple[tuple[int, ...], ...]
    kerf: int
    bars: bool

    @property
    def items(self) -> int:
        return sum(map(len, self.members))


def read_order(items: Sequence[Item], stock: Item, kerf: int, seconds: float, seed: int = 0) -> Order:
    """Check items, stock, kerf, limit and seed, and sort the items into kinds; raises `BadInput` with every mistake."""
    mistakes = _Mistakes()
    bars = _whole(stock)
    sheet = _read(stock, "stock", mistakes)
    if not _whole(kerf) or not 0 <= kerf <= MOST:
        rule = f"a kerf is a whole number from 0 to {MOST}"
        mistakes.add("kerf", kerf, rule, "give the blade's width in the items' unit")
    _check_search(seconds, seed, mistakes)
    read = _read_all(items, bars, mistakes) if _listed(items, mistakes) else []
    if sheet is not None:
        _hold_to_stock(read, sheet, bars, mistakes)
    mistakes.check()
    assert sheet is not None
    return _sorted(np.array(read, dtype=np.int64), sheet, kerf, bars)


def _check_search(seconds: Any, seed: Any, mistakes: _Mistakes) -> None:
    number = _whole(seconds) or isinstance(seconds, float | np.floating)
    if not number or not 0 <= seconds <= MOST_SECONDS:  # NaN is not
        rule = f"the limit is a number of seconds from 0 to {MOST_SECONDS:.0f}"
        mistakes.add("seconds", seconds, rule, "give 10, or 0 for the first packing found")
    if not _whole(seed) or seed < 0:
        mistakes.add("seed", seed, "a seed is a whole number, 0 or more", "give 0")


def _listed(items: Any, mistakes: _Mistakes) -> bool:
    """Whether the items are a list that can be read; sets have no order, and text holds no sizes."""
    array = isinstance(items, np.ndarray) and items.ndim > 0
    if not array and (not isinstance(items, Sequence) or isinstance(items, str | bytes)):
        mistakes.add("items", type(items).__name__, "items are a list", "give a list of sizes")
        return False
    if len(items) == 0:
        mistakes.add("items", "none", "there is at least one item", "list what is to be cut")
    if len(items) > MOST_ITEMS:
        mistakes.add("items", len(items), f"there are at most {MOST_ITEMS} items", "pack them in parts")
    return 0 < len(items) <= MOST_ITEMS


class _Mistakes:
    def __init__(self) -> None:
        self.found: list[Mistake] = []
        self.more = 0

    def add(self, key: str, value: object, rule: str, remedy: str) -> None:
        if len(self.found) == MOST_LISTED:
            self.more += 1
            return
        self.found.append(Mistake(file="pack", key=key, value=_shown(value), rule=rule, remedy=remedy))

    def check(self) -> None:
        if self.more:
            rest = Mistake(file="pack", key="", value=f"{self.more} more", rule="as above", remedy="mend them alike")
            self.found.append(rest)
        if self.found:
            raise BadInput(self.found)


def _shown(value: object) -> str:
    try:
        return str(value)[:60]
    except ValueError:  # Python prints no whole number of more than some thousand digits
        return "a number of very many digits"


def _whole(value: object) -> bool:
    return isinstance(value, int | np.integer) and not isinstance(value, bool)


def _read(value: Any, key: str, mistakes: _Mistakes) -> tuple[int, int] | None:
    """A length, or a width and a height; a plain length gets the height 1."""
    pair = (value, 1) if _whole(value) else value
    listed = isinstance(pair, tuple | list) or (isinstance(pair, np.ndarray) and pair.ndim == 1)
    if not listed or len(pair) != 2 or not all(map(_whole, pair)):
        mistakes.add(key, value, "a size is two whole numbers, or one for a plain length", "give (width, height)")
        return None
    wide, high = int(pair[0]), int(pair[1])
    if not (0 < wide <= MOST and 0 < high <= MOST):
        rule = f"lengths are more than 0 and at most {MOST}"
        mistakes.add(key, value, rule, "check them, or give them in a larger unit")
        return None
    return wide, high


def _read_all(items: Sequence[Item], bars: bool, mistakes: _Mistakes) -> list[tuple[int, int]]:
    read = []
    for place, item in enumerate(items):
        if _whole(item) != bars:
            rule = "items are plain lengths where the stock is one" if bars else "items have a width and a height"
            mistakes.add(f"items[{place}]", item, rule, "give items and stock alike")
            size = None
        else:
            size = _read(item, f"items[{place}]", mistakes)
        read.append(size or (1, 1))
    return read


def _hold_to_stock(read: Sequence[tuple[int, int]], sheet: tuple[int, int], bars: bool, mistakes: _Mistakes) -> None:
    """An item that fills the stock needs no cut, so that no kerf makes a fitting item too large."""
    for place, (wide, high) in enumerate(read):
        if wide > sheet[0] or high > sheet[1]:
            size, stock = (wide, sheet[0]) if bars else ((wide, high), sheet)
            rule = f"an item is at most as large as the stock, {stock}, and is not turned"
            mistakes.add(f"items[{place}]", size, rule, "leave it out, or use larger stock")


def _sorted(read: NDArray[np.int64], sheet: tuple[int, int], kerf: int, bars: bool) -> Order:
    numbers = read[:, 0] << 32 | read[:, 1]  # one for each size
    _, first, kind_of, demand = np.unique(numbers, return_index=True, return_inverse=True, return_counts=True)
    kinds, order = read[first], np.argsort(kind_of, kind="stable")
    members = tuple(tuple(part.tolist()) for part in np.split(order, np.cumsum(demand)[:-1]))
    high_kerf = 0 if bars else kerf  # a bar is not sawn along
    sizes = Sizes(
        wide=(kinds[:, 0] + kerf).astype(np.int32),
        high=(kinds[:, 1] + high_kerf).astype(np.int32),
        demand=np.minimum(demand, 30_000).astype(np.int16),
        sheet=(sheet[0] + kerf, sheet[1] + high_kerf),
    )
    return Order(sizes=sizes, members=members, kerf=kerf, bars=bars)
