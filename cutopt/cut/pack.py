"""Rectangles out of sheets, or lengths out of bars, as few as can be: the optimiser without the carpentry."""

from __future__ import annotations

from collections.abc import Sequence

from cutopt.packing import Packing, packed, read_order


def pack(
    items: Sequence[int | Sequence[int]],
    stock: int | tuple[int, int],
    *,
    kerf: int = 0,
    seconds: float = 10,
    seed: int = 0,
) -> Packing:
    """Pack `items` into as few pieces of `stock` as can be found, by guillotine cuts, none of them turned.

    Items are (width, height) and the stock is too, or all are plain lengths; whole numbers in any one unit. `kerf` is
    what a cut turns to dust. `seconds` limits the search, counted in work, so that the same items, seed and limit give
    the same answer on any machine; on a fast one it is done sooner. Ctrl-C gives the best packing so far.

    Raises `BadInput` with every mistake: no items or more than a million, lengths that are not whole numbers from 1
    to 1,000,000,000, an item larger than the stock, a negative kerf, limit or seed.

    >>> answer = pack([(60, 40), (38, 40), (98, 57)], (98, 100), kerf=3)
    >>> len(answer.sheets), answer.lower_bound, answer.proven
    (2, 2, True)
    >>> pack([45, 45, 36, 31, 31], 100).proven
    True
    """
    return packed(read_order(items, stock, kerf, seconds, seed), seconds=float(seconds), seed=seed)
