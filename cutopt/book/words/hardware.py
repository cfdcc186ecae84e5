"""The table beside a drawing: each backer to hang, screw to drive in a new place and hole to drill, with its numbers.

The distances are those of the steps: from the factory end and side that the piece has (see `sides`).
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from cutopt.book.drawings.drawing import Box, Point
from cutopt.book.drawings.placed import hardware_of, on_source
from cutopt.book.drawings.rings import NEAR, box_of
from cutopt.book.drawings.sides import Reading, reading
from cutopt.book.words import printed
from cutopt.planfile.model import Backer, Fragment, PinHole, Plan, Screw, Source

STARTER = 12.0  # mm: the hole that takes a jigsaw's blade, as its step says; common practice, no source

Boxes = Mapping[str, Sequence[Box]]


@dataclass(frozen=True, kw_only=True, slots=True)
class HardwareLine:
    """One line of the table; `mark` is the name on the drawing."""

    mark: str
    doing: str
    end: str
    side: str


def hardware_lines(plan: Plan, source: Source) -> tuple[HardwareLine, ...]:
    """Slats first, then backers, holes and screws."""
    boxes = piece_boxes(plan, source)
    lines = [_slat(plan, slat, boxes) for slat in source.slats if slat.state == "shared"]
    lines += [_backer(plan, source, b, boxes) for b in source.backers if b.state in ("moved", "added", "shaved")]
    lines += [_hole(plan, hole, mark, boxes) for mark, hole in new_holes(source)]
    lines += [_starter(plan, source, mark, at) for mark, at in starters(plan, source)]
    lines += [_screw(plan, screw, mark, boxes) for mark, screw in odd_screws(plan, source)]
    return tuple(lines)


def piece_boxes(plan: Plan, source: Source) -> Boxes:
    """The boxes of each piece's placements in the source's tile frame."""
    pieces = {piece.id: piece for piece in plan.pieces}
    found: dict[str, list[Box]] = defaultdict(list)
    for place in source.placements:
        if place.piece in pieces:
            found[place.piece].append(box_of(on_source(plan, pieces[place.piece], place)))
    return found


def box_at(boxes: Boxes, piece: str, point: Point) -> Box:
    """The box of that placement of a piece that the point lies in: a source may yield the same piece twice."""

    def outside(box: Box) -> float:
        return max(box[0] - point[0], point[0] - box[2], box[1] - point[1], point[1] - box[3])

    return min(boxes[piece], key=outside)


def centre(backer: Backer) -> float:
    """The u of the middle of a backer's centre line."""
    return (backer.line[0][0] + backer.line[-1][0]) / 2


def u_at(backer: Backer, v: float) -> float:
    """Where a backer's centre line, drawn on past its ends, is at `v`."""
    (u1, v1), (u2, v2) = backer.line[0], backer.line[-1]
    return u1 if abs(v2 - v1) < NEAR else u1 + (u2 - u1) * (v - v1) / (v2 - v1)


def new_holes(source: Source) -> tuple[tuple[str, PinHole], ...]:
    """Holes to drill with the names that drawing and table know them by: h1, h2."""
    drilled = [hole for hole in source.pin_holes if hole.state == "drilled"]
    return tuple((f"h{n}", hole) for n, hole in enumerate(drilled, 1))


def starters(plan: Plan, source: Source) -> tuple[tuple[str, Point], ...]:
    """Holes in the waste that a jigsaw starts from, and the names that drawing and table know them by: start 1."""
    steps = [step for step in plan.steps if step.source == source.id and step.do == "drill" and step.cut is not None]
    return tuple((f"start {step.cut}", hole) for step in steps for hole in step.holes)


def odd_screws(plan: Plan, source: Source) -> tuple[tuple[str, Screw], ...]:
    """Screws to drive whose places must be measured: s1, s2.

    A backer that is hung is screwed as the tile's own are: on its centre line, as far from the slats' edges. Only
    screws that lie elsewhere need numbers, and those that go anew through a backer that stays.
    """
    usual = defaultdict(set)
    for own in hardware_of(plan, source).screws:
        usual[own.slat].add(round(own.v, 1))
    hung = {backer.id: backer for backer in source.backers if backer.state in ("moved", "added")}
    odd = [
        screw
        for screw in source.screws
        if screw.state != "kept"
        and (
            screw.backer not in hung
            or round(screw.v, 1) not in usual[screw.slat]
            or abs(screw.u - u_at(hung[screw.backer], screw.v)) > NEAR
        )
    ]
    return tuple((f"s{n}", screw) for n, screw in enumerate(odd, 1))


def along_end(plan: Plan, piece: Box, u: float) -> Reading:
    """Where a u on a piece is measured from."""
    return reading(u, 0, piece, plan.tile.length)


def along_side(plan: Plan, piece: Box, v: float) -> Reading:
    """Where a v on a piece is measured from."""
    return reading(v, 1, piece, plan.tile.width)


def _words(plan: Plan, *found: Reading) -> str:
    """Distances that share a datum: "6 and 231 from the far side"."""
    distances = [printed.length(one.distance, plan.job.show) for one in found]
    return f"{' and '.join(dict.fromkeys(distances))} from the {found[0].datum}"


def _slat(plan: Plan, slat: Fragment, boxes: Boxes) -> HardwareLine:
    """A slat that was ripped and laid back: its ends and its edges."""
    u1, v1, u2, v2 = box_of(slat.outline)
    box = box_at(boxes, slat.piece, ((u1 + u2) / 2, (v1 + v2) / 2))
    ends, edges = [along_end(plan, box, u) for u in (u1, u2)], [along_side(plan, box, v) for v in (v1, v2)]
    return HardwareLine(
        mark=f"slat {slat.slat}",
        doing=f"lay back, {slat.piece}",
        end=f"ends {_words(plan, *sorted(ends, key=_near))}",
        side=f"edges {_words(plan, *sorted(edges, key=_near))}",
    )


def _near(one: Reading) -> float:
    return one.distance


def _backer(plan: Plan, source: Source, backer: Backer, boxes: Boxes) -> HardwareLine:
    (u1, v1), (u2, v2) = backer.line[0], backer.line[-1]
    box = box_at(boxes, backer.piece, ((u1 + u2) / 2, (v1 + v2) / 2))
    ends = sorted((along_side(plan, box, v1), along_side(plan, box, v2)), key=_near)
    centres = [along_end(plan, box, u) for u in ((u1, u2) if ends[0] == along_side(plan, box, v1) else (u2, u1))]
    return HardwareLine(
        mark=backer.id,
        doing=_doing(plan, source, backer),
        end=f"centre {_words(plan, *centres)}",
        side=f"ends {_words(plan, *ends)}",
    )


def _doing(plan: Plan, source: Source, backer: Backer) -> str:
    """What to do with a backer, and its size where it is not the tile's."""
    unit, boards = plan.job.show, plan.tile.backers
    what = "shave" if backer.state == "shaved" else "hang"
    if backer.from_ is None:
        what += " a bought one"
    elif backer.from_.source != source.id:
        what += f" wood of {backer.from_.source}"
    what += f" under {backer.piece}"
    long = math.dist(backer.line[0], backer.line[-1])
    if boards and long < max(board.v[1] - board.v[0] for board in boards) - NEAR:
        what += f", {printed.length(long, unit)} long"
    if boards and backer.width < max(board.width for board in boards) - NEAR:
        what += f", {printed.length(backer.width, unit)} wide"
    return what


def _hole(plan: Plan, hole: PinHole, mark: str, boxes: Boxes) -> HardwareLine:
    diameter = max((own.diameter for own in plan.tile.pin_holes), default=plan.tile.support.pin)
    return HardwareLine(
        mark=mark,
        doing=f"drill {printed.length(diameter, plan.job.show)}, {hole.piece}, backer {hole.backer}",
        end=_words(plan, along_end(plan, box_at(boxes, hole.piece, (hole.u, hole.v)), hole.u)),
        side=_words(plan, along_side(plan, box_at(boxes, hole.piece, (hole.u, hole.v)), hole.v)),
    )


def _starter(plan: Plan, source: Source, mark: str, at: Point) -> HardwareLine:
    """Measured on the tile before it is cut."""
    box = box_of(source.outline)
    return HardwareLine(
        mark=mark,
        doing=f"drill {printed.length(STARTER, plan.job.show)} right through, in the waste",
        end=_words(plan, along_end(plan, box, at[0])),
        side=_words(plan, along_side(plan, box, at[1])),
    )


def _screw(plan: Plan, screw: Screw, mark: str, boxes: Boxes) -> HardwareLine:
    return HardwareLine(
        mark=mark,
        doing=f"screw, {screw.piece}, slat {screw.slat}, backer {screw.backer}",
        end=_words(plan, along_end(plan, box_at(boxes, screw.piece, (screw.u, screw.v)), screw.u)),
        side=_words(plan, along_side(plan, box_at(boxes, screw.piece, (screw.u, screw.v)), screw.v)),
    )
