"""The plan's lists as CSV: pieces, hardware and shopping (the cuts are in `cutlist`).

Places on a tile are seen face up: x from the home end, along the slats, y from the home side. Places in an area are in
its layout frame: x along the start wall, y away from it. Rows and places are numbered from 1, as on the drawings.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from cutopt.book.areas import by_area
from cutopt.book.drawings.placed import hardware_of, screws_taken_out
from cutopt.book.drawings.rings import Ring, box_of, sides
from cutopt.book.drawings.sides import SIDE_NAMES
from cutopt.book.drawings.supports import numbered
from cutopt.book.lists.spreadsheet import decimal, table
from cutopt.book.words import printed
from cutopt.book.words.contents import Whole
from cutopt.planfile.model import Area, Backer, Cell, Piece, Placement, Plan, Source

HARDWARE = {
    "kind": "", "name": "", "doing": "", "area": "", "row": "", "place": "", "source": "", "piece": "", "copies": "",
    "slat": "", "backer": "", "x mm": "", "y mm": "", "end x mm": "", "end y mm": "", "width mm": "",
    "diameter mm": "", "wood": "",
}  # fmt: skip
SHOPPING = ("list", "item", "count", "unit", "why", "area", "shape", "x mm", "y mm")
BACKERS = {"kept": "stays", "cut": "sawn with the tile", "shaved": "shave", "moved": "hang", "added": "hang"}
SIDES: Mapping[str, str] = {str(side): name for side, name in SIDE_NAMES.items()}
HOLES = {"kept": "stays", "moved": "comes with its backer", "drilled": "drill"}


@dataclass(frozen=True, kw_only=True, slots=True)
class _Place:
    """Where a piece goes."""

    piece: Piece
    area: Area
    cell: Cell


def pieces_csv(plan: Plan) -> str:
    """One line a piece: where it goes and when, its size and area, what it is cut from, how many pin holes it has."""
    unit = plan.job.show
    head = ["piece", "area", "copies", "row", "place", "order", "fit", "along mm", "across mm"]
    head += [f"along {unit} shown", f"across {unit} shown", "area m²", "uncertainty mm", "source", "from", "half turn"]
    head += ["fixed sides", "pin holes", "cut-outs", "differs from its mirror image"]
    lies: dict[str, list[tuple[Source, Placement]]] = {}
    for source in plan.sources:
        for placed in source.placements:
            lies.setdefault(placed.piece, []).append((source, placed))
    return table(head, [_piece(plan, place, lies.get(name, [])) for name, place in _places(plan).items()])


def hardware_csv(plan: Plan) -> str:
    """One line for each backer of a piece, screw that comes out or goes in, pin hole and support."""
    places, whole = _places(plan), Whole(plan)
    rows = [{**HARDWARE, **row} for source in plan.sources for row in _hardware(whole.about(source), source, places)]
    rows += [{**HARDWARE, **row} for one in by_area(plan) for row in _supports(one.plan, one.area)]
    return table(list(HARDWARE), [list(row.values()) for row in rows])


def shopping_csv(plan: Plan) -> str:
    """What to buy, and after it the support plan: where each support stands and how it is sawn."""
    rows = [["buy", line.item, decimal(line.count), line.unit, line.why, "", "", "", ""] for line in plan.buy]
    for one in by_area(plan):
        area = one.area
        for place in numbered(one.plan, area):
            support = place.support
            where = [decimal(value) for value in support.at]
            pins = printed.plural(len(support.pins), "pin")
            item = f"support {place.name}"
            rows.append(["support plan", item, str(area.count), "pieces", pins, area.name, support.shape, *where])
    return table(SHOPPING, rows)


def _places(plan: Plan) -> dict[str, _Place]:
    """Each piece's place by its id, in the order of the pieces."""
    areas = {area.name: area for area in plan.areas}
    cells = {(area.name, name): cell for area in plan.areas for cell in area.cells for name in cell.pieces}
    return {
        piece.id: _Place(piece=piece, area=areas[piece.area], cell=cells[piece.area, piece.id]) for piece in plan.pieces
    }


def _piece(plan: Plan, place: _Place, lies: Sequence[tuple[Source, Placement]]) -> list[str]:
    piece, unit = place.piece, plan.job.show
    left, bottom, right, top = box_of(piece.outline)
    area = _area(piece.outline) - sum(_area(hole) for hole in piece.holes)
    holes = [sum(hole.piece == piece.id for hole in source.pin_holes) for source, _ in lies[:1]]
    origins = dict.fromkeys("new tile" if source.from_ == "new" else source.from_ for source, _ in lies)
    return [
        piece.id,
        piece.area,
        str(place.area.count),
        str(piece.row + 1),
        str(piece.col + 1),
        str(place.cell.order),
        piece.fit,
        decimal(right - left),
        decimal(top - bottom),
        printed.length(right - left, unit),
        printed.length(top - bottom, unit),
        decimal(area / printed.SQUARE_MM_PER_M2),
        decimal(piece.uncertainty),
        " ".join(dict.fromkeys(source.id for source, _ in lies)),
        " ".join(origins),
        " ".join(dict.fromkeys("yes" if placed.half_turn else "no" for _, placed in lies)),
        ", ".join(SIDES[side] for side in piece.fixed_sides),
        str(sum(holes)),
        str(len(piece.holes)),
        "yes" if piece.chiral else "no",
    ]


def _area(ring: Ring) -> float:
    """Of a ring, whichever way it runs."""
    return abs(sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in sides(ring))) / 2


def _hardware(plan: Plan, source: Source, places: Mapping[str, _Place]) -> Iterator[dict[str, str]]:
    """The lines of a source: backers, screws out, screws in, pin holes."""
    mine = {"source": source.id, "copies": str(source.uses)}
    names = {
        name: {**mine, "piece": name, "area": place.area.name, "row": str(place.piece.row + 1),
               "place": str(place.piece.col + 1)}
        for name in dict.fromkeys(placed.piece for placed in source.placements)
        for place in [places[name]]
    }  # fmt: skip
    for backer in source.backers:
        yield {**names[backer.piece], **_backer(backer)}
    for out in screws_taken_out(plan, source):
        spot = {"slat": str(out.slat), "backer": str(out.backer), "x mm": decimal(out.u), "y mm": decimal(out.v)}
        yield {**mine, "kind": "screw", "name": out.id, "doing": "take out", **spot}
    for screw in source.screws:
        if screw.state != "kept":
            spot = {"slat": str(screw.slat), "backer": screw.backer, "x mm": decimal(screw.u), "y mm": decimal(screw.v)}
            yield {**names[screw.piece], "kind": "screw", "doing": "drive in", **spot}
    own = hardware_of(plan, source).pin_holes or plan.tile.pin_holes
    wide = max((hole.diameter for hole in own), default=plan.tile.support.pin)
    for hole in source.pin_holes:
        spot = {"backer": hole.backer, "x mm": decimal(hole.u), "y mm": decimal(hole.v), "diameter mm": decimal(wide)}
        yield {**names[hole.piece], "kind": "pin hole", "doing": HOLES[hole.state], **spot}


def _backer(backer: Backer) -> dict[str, str]:
    (x1, y1), (x2, y2) = backer.line[0], backer.line[-1]
    wood = "bought"
    if backer.from_ is not None:
        low, high = (decimal(value) for value in backer.from_.span)
        wood = f"{backer.from_.source}, backer {backer.from_.backer}, {low} to {high} mm"
    ends = {"x mm": decimal(x1), "y mm": decimal(y1), "end x mm": decimal(x2), "end y mm": decimal(y2)}
    doing = {"kind": "backer", "name": backer.id, "doing": BACKERS[backer.state], "wood": wood}
    return {**doing, **ends, "width mm": decimal(backer.width)}


def _supports(plan: Plan, area: Area) -> Iterator[dict[str, str]]:
    for place in numbered(plan, area):
        x, y = place.support.at
        spot = {"x mm": decimal(x), "y mm": decimal(y)}
        named = {"kind": "support", "name": place.name, "doing": place.support.shape, "area": area.name}
        yield {**named, "copies": str(area.count), **spot}
