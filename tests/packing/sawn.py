"""Can this packing be sawn? Code of its own: it imports the records it looks at and nothing that made them."""

from __future__ import annotations

from collections.abc import Sequence

from cutopt.packing.records import Packed, PackedSheet, Packing, Part

Box = tuple[int, int, int, int]  # left, bottom, right, top


def faults(items: Sequence[Sequence[int]], stock: Sequence[int], packing: Packing, *, kerf: int = 0) -> list[str]:
    """Everything that is wrong with the packing, in words; `items` and `stock` are widths and heights."""
    found = _miscounted(items, packing)
    for number, sheet in enumerate(packing.sheets):
        found += [f"sheet {number}: {fault}" for fault in _of_sheet(sheet, items, stock, kerf)]
    if packing.lower_bound > len(packing.sheets):
        found.append("the bound is above the number of sheets")
    if packing.proven != (packing.lower_bound == len(packing.sheets)):
        found.append("proven is said where bound and number differ")
    return found


def _miscounted(items: Sequence[Sequence[int]], packing: Packing) -> list[str]:
    laid = sorted(one.item for sheet in packing.sheets for one in sheet.rectangles)
    if laid != list(range(len(items))):
        return [f"{len(items)} items, {len(laid)} laid, {len(set(laid))} of them different"]
    return []


def _of_sheet(sheet: PackedSheet, items: Sequence[Sequence[int]], stock: Sequence[int], kerf: int) -> list[str]:
    found = []
    for one in sheet.rectangles:
        if (one.width, one.height) != tuple(items[one.item]):
            found.append(f"item {one.item} has another size")
        if min(one.x, one.y) < 0 or one.x + one.width > stock[0] or one.y + one.height > stock[1]:
            found.append(f"item {one.item} is not on the sheet")
    if not can_be_sawn([_box(one) for one in sheet.rectangles], kerf):
        found.append("no guillotine cuts free its rectangles")
    return found + _wrong_in_tree(sheet, stock, kerf)


def can_be_sawn(boxes: Sequence[Box], kerf: int) -> bool:
    """Whether straight through-cuts along the sides, each as wide as the kerf, free every box.

    A group of boxes is split wherever a cut passes between some of them. A cut that is possible never takes away one
    that is possible later, so that the first one found is as good as any.
    """
    waiting = [list(boxes)]
    while waiting:
        group = waiting.pop()
        if len(group) < 2:
            continue
        parts = _split(group, 0, kerf) or _split(group, 1, kerf)
        if not parts:
            return False
        waiting += parts
    return True


def _split(group: list[Box], axis: int, kerf: int) -> list[list[Box]]:
    """The group in parts with a kerf between one and the next, or nothing."""
    ordered = sorted(group, key=lambda box: box[axis])
    parts, end = [[ordered[0]]], ordered[0][axis + 2]
    for box in ordered[1:]:
        if box[axis] >= end + kerf:
            parts.append([])
        parts[-1].append(box)
        end = max(end, box[axis + 2])
    return parts if len(parts) > 1 else []


def _wrong_in_tree(sheet: PackedSheet, stock: Sequence[int], kerf: int) -> list[str]:
    """The tree of cuts: parts are what a cut of that kerf leaves, and its items are the sheet's rectangles."""
    found, waiting, items = [], [sheet.cuts], list[tuple[int, Box]]()
    if _box(sheet.cuts) != (0, 0, *stock):
        found.append("the tree does not begin with the sheet")
    while waiting:
        part = waiting.pop()
        if part.saw:
            found += [] if [_box(p) for p in part.parts] == _left_by(part, kerf) else [f"wrong cut at {part.at}"]
            found += ["an item is sawn"] if part.item is not None else []
        elif part.parts:
            found.append("parts without a cut")
        elif part.item is not None:
            items.append((part.item, _box(part)))
        waiting += part.parts
    if sorted(items) != sorted((one.item, _box(one)) for one in sheet.rectangles):
        found.append("the tree frees other rectangles than the sheet has")
    return found


def _left_by(part: Part, kerf: int) -> list[Box]:
    left, bottom, right, top = _box(part)
    if part.saw == "up":
        two = [(left, bottom, part.at, top), (part.at + kerf, bottom, right, top)]
    else:
        two = [(left, bottom, right, part.at), (left, part.at + kerf, right, top)]
    return [box for box in two if box[0] < box[2] and box[1] < box[3]]


def _box(one: Packed | Part) -> Box:
    return one.x, one.y, one.x + one.width, one.y + one.height
