"""A fill's moves → its rectangles and the tree of its cuts."""

from __future__ import annotations

from dataclasses import dataclass

from cutopt.packing.filling import DONE, OFFCUT, Moves, Sizes
from cutopt.packing.order import Order
from cutopt.packing.records import Packed, PackedSheet, Part, Saw

NONE = -1
MOST_PLANS = 1000  # kept for sheets that come again


@dataclass(slots=True)
class _Node:
    """A rectangle of a sheet, kerf added to both lengths; `kind` of the piece in it, `parts` by place in the plan."""

    x: int
    y: int
    wide: int
    high: int
    kind: int = NONE
    saw: Saw = ""
    at: int = 0
    first: int = NONE
    second: int = NONE


class _Lists:
    """The order's sizes as lists: with very many kinds, not to be written anew for each sheet."""

    def __init__(self, sizes: Sizes) -> None:
        self.wide: list[int] = sizes.wide.tolist()
        self.high: list[int] = sizes.high.tolist()
        self.sheet = sizes.sheet
        self.least = min(self.wide), min(self.high)


class _Plan:
    """A sheet's tree, the parts of a rectangle always behind it in the list. Trees can be deep: nothing recurs."""

    def __init__(self, moves: Moves, sizes: _Lists) -> None:
        self.wide, self.high = sizes.wide, sizes.high
        self.nodes = [_Node(0, 0, *sizes.sheet)]
        self._follow(moves.tolist(), *sizes.least)

    def _follow(self, moves: list[int], least_wide: int, least_high: int) -> None:
        """The same stack of rectangles as in `filling`: it is emptied in the order in which the moves were made."""
        stack = [0]
        for move in moves:
            if move == DONE:
                break
            place = stack.pop()
            if move == OFFCUT:
                continue
            right, upper = self._free(place, move >> 2, bool(move & 2))
            for rest in (upper, right) if move & 1 else (right, upper):
                if rest != NONE and self.nodes[rest].wide >= least_wide and self.nodes[rest].high >= least_high:
                    stack.append(rest)

    def _free(self, place: int, kind: int, up: bool) -> tuple[int, int]:
        """Two cuts free a piece of this kind; what is left to its right and above it."""
        if up:
            mine, right = self._split(place, "up", self.wide[kind])
            mine, upper = self._split(mine, "across", self.high[kind])
        else:
            mine, upper = self._split(place, "across", self.high[kind])
            mine, right = self._split(mine, "up", self.wide[kind])
        self.nodes[mine].kind = kind
        return right, upper

    def _split(self, place: int, saw: Saw, length: int) -> tuple[int, int]:
        """One cut, so that the first part has this length; where nothing is left there is no cut."""
        node = self.nodes[place]
        if saw == "up":
            if node.wide == length:
                return place, NONE
            node.at = node.x + length
            first = _Node(node.x, node.y, length, node.high)
            second = _Node(node.at, node.y, node.wide - length, node.high)
        else:
            if node.high == length:
                return place, NONE
            node.at = node.y + length
            first = _Node(node.x, node.y, node.wide, length)
            second = _Node(node.x, node.at, node.wide, node.high - length)
        node.saw, node.first = saw, len(self.nodes)
        node.second = node.first + 1
        self.nodes += (first, second)
        return node.first, node.second


class Writer:
    """Writes sheets, handing out the items of each kind in the order of the list."""

    def __init__(self, order: Order) -> None:
        self._sizes = _Lists(order.sizes)
        self._kerf = order.kerf, 0 if order.bars else order.kerf
        self._waiting = [list(reversed(members)) for members in order.members]
        self._plans: dict[bytes, _Plan] = {}  # a large order has the same sheet many times

    def write(self, moves: Moves) -> PackedSheet:
        """The sheet with these moves; a piece of which enough have been cut already is left as an offcut."""
        key = moves.tobytes()
        plan = self._plans.get(key)
        if plan is None:
            if len(self._plans) == MOST_PLANS:
                self._plans.clear()  # equal sheets mostly come one after the other
            plan = self._plans[key] = _Plan(moves, self._sizes)
        laid: list[Packed] = []
        made: list[Part | None] = [None] * len(plan.nodes)
        for place in range(len(plan.nodes) - 1, -1, -1):
            node = plan.nodes[place]
            parts = tuple(p for p in (made[node.first], made[node.second]) if p is not None) if node.saw else ()
            made[place] = self._part(node, parts, laid)
        sheet = made[0]
        assert sheet is not None  # the sheet is larger than the kerf: it holds an item
        laid.reverse()
        return PackedSheet(rectangles=tuple(laid), cuts=sheet)

    def _part(self, node: _Node, parts: tuple[Part, ...], laid: list[Packed]) -> Part | None:
        """The part without its kerf; none where the blade takes all of it."""
        wide, high = node.wide - self._kerf[0], node.high - self._kerf[1]
        if wide <= 0 or high <= 0:
            return None
        item = None
        if node.kind != NONE and self._waiting[node.kind]:
            item = self._waiting[node.kind].pop()
            laid.append(Packed(item=item, x=node.x, y=node.y, width=wide, height=high))
        at = node.at - self._kerf[node.saw == "across"] if node.saw else 0
        return Part(x=node.x, y=node.y, width=wide, height=high, item=item, saw=node.saw, at=at, parts=parts)
