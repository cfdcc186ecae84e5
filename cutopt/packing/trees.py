"""A fill's moves → its rectangles and the tree of its cuts."""

from __future__ import annotations

from dataclasses import dataclass, field

from cutopt.packing.filling import DONE, OFFCUT, Moves
from cutopt.packing.order import Order
from cutopt.packing.records import Packed, PackedSheet, Part, Saw


@dataclass(kw_only=True)
class _Open:
    """A rectangle of the sheet, kerf added to both lengths, and what has become of it."""

    x: int
    y: int
    wide: int
    high: int
    item: int | None = None
    saw: Saw = ""
    at: int = 0
    parts: list[_Open] = field(default_factory=list)

    def split(self, saw: Saw, length: int) -> tuple[_Open, _Open]:
        """One cut, so that the first part has this length; where nothing is left, there is no cut and no second."""
        if saw == "up":
            first = _Open(x=self.x, y=self.y, wide=length, high=self.high)
            second = _Open(x=self.x + length, y=self.y, wide=self.wide - length, high=self.high)
            self.at = self.x + length
        else:
            first = _Open(x=self.x, y=self.y, wide=self.wide, high=length)
            second = _Open(x=self.x, y=self.y + length, wide=self.wide, high=self.high - length)
            self.at = self.y + length
        if min(second.wide, second.high) == 0:
            return self, second
        self.saw, self.parts = saw, [first, second]
        return first, second

    def closed(self, kerf: tuple[int, int]) -> Part:
        """The tree as records. Trees can be deep, so that this goes from the last parts to the first by a list."""
        order, done = [self], dict[int, Part]()
        for part in order:
            part.parts = [rest for rest in part.parts if rest.wide > kerf[0] and rest.high > kerf[1]]
            order.extend(part.parts)
        for part in reversed(order):
            done[id(part)] = Part(
                x=part.x,
                y=part.y,
                width=part.wide - kerf[0],
                height=part.high - kerf[1],
                item=part.item,
                saw=part.saw,
                at=part.at - kerf[part.saw == "across"] if part.saw else 0,
                parts=tuple(done.pop(id(rest)) for rest in part.parts),
            )
        return done[id(self)]


class Writer:
    """Writes sheets, handing out the items of each kind in the order of the list."""

    def __init__(self, order: Order) -> None:
        self.order = order
        self.kerf = (order.kerf, 0 if order.bars else order.kerf)
        self._waiting = [list(reversed(members)) for members in order.members]

    def write(self, moves: Moves) -> PackedSheet:
        """The sheet with these moves; a piece of which enough have been cut already is left as an offcut."""
        sheet = _Open(x=0, y=0, wide=self.order.sizes.sheet[0], high=self.order.sizes.sheet[1])
        stack, laid = [sheet], []
        least = int(self.order.sizes.wide.min()), int(self.order.sizes.high.min())
        for move in moves.tolist():
            if move == DONE:
                break
            part = stack.pop()
            if move == OFFCUT:
                continue
            kind, up, turn = move // 4, bool(move & 2), bool(move & 1)
            mine, right, upper = self._free(part, kind, up)
            useful = [rest for rest in ((upper, right) if turn else (right, upper))
                      if rest.wide >= least[0] and rest.high >= least[1]]  # fmt: skip
            # `filling` pushes the right one first, so that the upper one is filled first, unless turned
            stack.extend(useful)
            if self._waiting[kind]:
                mine.item = self._waiting[kind].pop()
                laid.append(self._packed(mine))
        return PackedSheet(rectangles=tuple(laid), cuts=sheet.closed(self.kerf))

    def _free(self, part: _Open, kind: int, up: bool) -> tuple[_Open, _Open, _Open]:
        wide, high = int(self.order.sizes.wide[kind]), int(self.order.sizes.high[kind])
        if up:
            column, right = part.split("up", wide)
            mine, upper = column.split("across", high)
        else:
            row, upper = part.split("across", high)
            mine, right = row.split("up", wide)
        return mine, right, upper

    def _packed(self, part: _Open) -> Packed:
        assert part.item is not None
        wide, high = part.wide - self.kerf[0], part.high - self.kerf[1]
        return Packed(item=part.item, x=part.x, y=part.y, width=wide, height=high)
