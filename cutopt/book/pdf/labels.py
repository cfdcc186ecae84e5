"""Labels to stick on the pieces: three across and eight down on either paper, to print on a sheet of labels or to cut.

Each shows its piece as it will lie, seen from above, the start wall below, with a hollow arrow towards each side that
was cut: to the wall or the post there. On its card the same arrows stand beside the piece's name.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from cutopt.book.drawings.bench import Bench
from cutopt.book.drawings.drawing import Drawing, Point
from cutopt.book.drawings.lettering import wall_ways
from cutopt.book.drawings.pen import Pen
from cutopt.book.drawings.placed import View, in_area, on_source
from cutopt.book.drawings.rings import box_of, roomy
from cutopt.book.pdf import fonts
from cutopt.book.pdf.blocks import BODY, HAIR, NOTE, Row, figure, stack, text
from cutopt.book.pdf.direction import isolated
from cutopt.book.pdf.fonts import POINT
from cutopt.book.pdf.ink import Ink
from cutopt.book.pdf.pages import THICK, Flow, Paper
from cutopt.book.pdf.typeset import clipped, run
from cutopt.book.words.contents import in_order
from cutopt.planfile.model import Area, Cell, Piece, Placement, Plan, Source

ACROSS, DOWN = 3, 8
WIDE = 63.0  # mm
INSET = 2.5  # mm between a label's edge and what is on it: printers and knives are not exact
SKETCH = 22.0  # mm
SMALL = 6.5 * POINT
NAME = 22 * POINT


@dataclass(frozen=True, kw_only=True, slots=True)
class Label:
    """A piece that will lie somewhere: which of how many like it, and of which tile."""

    piece: Piece
    area: Area
    cell: Cell
    source: str
    number: int
    count: int
    ways: tuple[Point, ...]


def height_of(paper: Paper) -> float:
    """A label's height in mm: 34 on A4; 33 on Letter, so that 7 mm above and below are left to the printer."""
    return min(34.0, math.floor((paper.height - 14.0) / DOWN))


def label_pages(plan: Plan, flow: Flow, made: Sequence[Label], key: str) -> None:
    """The labels on pages without margins or foot."""
    paper, high = flow.paper, height_of(flow.paper)
    left, top = (paper.width - ACROSS * WIDE) / 2, (paper.height + DOWN * high) / 2
    for n, label in enumerate(made):
        place = n % (ACROSS * DOWN)
        if place == 0:
            flow.page(bare=True)
            if n == 0:
                flow.mark("Labels", key, 0)
        row, column = divmod(place, ACROSS)
        flow.pages[-1].items.append((_label(plan, label, high), left + column * WIDE, top - row * high))


def labels(plan: Plan) -> Iterator[Label]:
    """One for each piece that is made, in the order of the cards, copies of a tile one after the other."""
    pieces = {piece.id: piece for piece in plan.pieces}
    cells = {name: (area, cell) for area in plan.areas for cell in area.cells for name in cell.pieces}
    made = [(source, place) for source in in_order(plan) for _ in range(source.uses) for place in source.placements]
    counts, seen = Counter(place.piece for _, place in made), Counter[str]()
    for source, place in made:
        if place.piece in pieces and place.piece in cells:
            seen[place.piece] += 1
            piece, (area, cell) = pieces[place.piece], cells[place.piece]
            yield Label(
                piece=piece,
                area=area,
                cell=cell,
                source=source.id,
                number=seen[piece.id],
                count=counts[piece.id],
                ways=_ways(plan, source, piece, place, cell),
            )


def _ways(plan: Plan, source: Source, piece: Piece, place: Placement, cell: Cell) -> tuple[Point, ...]:
    """The card's arrows, turned from the bench to the piece's place in its area."""
    view = View(face="up", length=plan.tile.length)
    bench = Bench(plan=plan, source=source, hardware=plan.tile, view=view, pen=Pen(1.0), pieces=(), lines=())
    ways = wall_ways(bench, on_source(plan, piece, place))
    ways = [(-x, -y) for x, y in ways] if place.half_turn else ways
    return tuple((-y, x) for x, y in ways) if cell.quarter_turn else tuple(ways)


def _label(plan: Plan, label: Label, high: float) -> Row:
    drawing = sketch(plan, label)
    words = stack(_words(label))
    shown = figure(drawing, SKETCH, high - 2 * INSET - 2.5)

    def paint(ink: Ink, left: float, top: float) -> None:
        ink.box(left, top, WIDE, high, HAIR)
        words.paint(ink, left + INSET, top - INSET + 1.0)
        aside = left + WIDE - INSET - SKETCH
        shown.paint(ink, aside, top - INSET)
        below = top - INSET - shown.height
        ink.path([(aside + 2.0, below - 0.2), (aside + SKETCH - 2.0, below - 0.2)], THICK)
        ink.text((aside + 5.2, below - 2.6), "start wall", SMALL)

    return Row(height=high, paint=paint)


def _words(label: Label) -> list[Row]:
    """The name large, then where it goes, in no more lines than the label has room for."""
    width = WIDE - 2 * INSET - SKETCH - 1.0
    piece = label.piece
    size = min(NAME, NAME * width / fonts.width(piece.id, NAME, True))
    rows = list(text([run(piece.id, bold=True)], width + 0.1, size)[:1])
    area = isolated(clipped(label.area.name, NOTE, 1.7 * width))
    rows += text([run(area)], width, NOTE)[:2]
    rows += text([run(f"row {piece.row + 1}, place {piece.col + 1}", bold=True)], width, BODY)[:1]
    laid = [run(f"laid {label.cell.order}"), *([run(" · SCRIBE", bold=True)] if piece.fit == "scribe" else [])]
    rows += text(laid, width, NOTE)[:1]
    of = f"from {label.source}" + (f", {label.number} of {label.count}" if label.count > 1 else "")
    rows += text([run(of)], width, NOTE)[:1]
    return rows


def sketch(plan: Plan, label: Label) -> Drawing:
    """The piece in its area's frame, its slats, and its arrows."""
    ring = in_area(plan, label.area, label.cell, label.piece.outline)
    left, bottom, right, top = box_of(ring)
    pen = Pen(max(plan.tile.length, plan.tile.width) / (SKETCH - 4.0))
    pen.polygon(ring, "cell-cut")
    for hole in label.piece.holes:
        pen.polygon(in_area(plan, label.area, label.cell, hole), "waste")
    x, y = (roomy(ring, steps=8) or [((left + right) / 2, (bottom + top) / 2)])[0]
    near, far = (pen.mm(0.7), pen.mm(7.0)) if len(label.ways) == 1 else (pen.mm(2.4), pen.mm(7.4))
    for dx, dy in label.ways:
        pen.block_arrow((x + dx * near, y + dy * near), (x + dx * far, y + dy * far), "wall-block")
    return pen.drawing(f"{label.piece.id} as it lies", margin=0.6)
