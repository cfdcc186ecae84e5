"""The drawing of a source as it lies on the bench.

Face down: backers in front of the slats, screws and pin holes visible, left and right changed (see `placed`). Face up:
slats visible, backers hidden. Both carry a band that names the face that is up.
"""

from __future__ import annotations

from dataclasses import replace

from cutopt.book.drawings.bench import Bench, set_up
from cutopt.book.drawings.dimensions import Distance, Margin, dimension_all
from cutopt.book.drawings.drawing import Drawing
from cutopt.book.drawings.lettering import band, piece_labels, side_names, waste_labels
from cutopt.book.drawings.placed import Face
from cutopt.book.drawings.rings import NEAR, box_of, hatching, sides
from cutopt.book.drawings.rings import band as strip
from cutopt.book.drawings.sawlines import arc, bubble, cut_line, distances
from cutopt.book.drawings.timber import draw_backers, draw_fixings, name_fixings
from cutopt.book.words.hardware import along_end, box_at, centre, piece_boxes
from cutopt.planfile.model import Plan, Source

RIM = 1.0  # sheet mm around all that is drawn
MARGINS = 22.0  # sheet mm beside a tile: a dimension at either end


def faces(plan: Plan, source: Source) -> tuple[Face, ...]:
    """The drawings that a card needs: always face down, and face up as well where a cut is made that way."""
    ups = (step for step in plan.steps if step.source == source.id and step.do == "cut" and step.face == "up")
    return ("down", "up") if any(True for _ in ups) else ("down",)


def bench_drawing(plan: Plan, source: Source, face: Face, sheet: float | None = None) -> Drawing:
    """The source with all its marks, seen with `face` up. `sheet`: see `set_up`."""
    bench = set_up(plan, source, face, sheet)
    _ground(bench)
    draw_backers(plan, source, bench.view, bench.pen)
    shown = [line for line in bench.lines if face == "down" or line.step is None or line.step.face == "up"]
    for line in bench.lines:
        cut_line(bench, line.cut)
    bench.pen.polygon(bench.view.ring(source.outline), "outline")
    for line in bench.lines:
        bubble(bench, line)
    for line in bench.lines:
        arc(bench, line.cut)
    measured = [d for line in shown for d in distances(bench, line)]
    if face == "down":
        measured += _centre_lines(bench)
        draw_fixings(plan, source, bench.view, bench.pen)
    reach = dimension_all(bench.pen, bench.box, measured)
    side_names(bench, reach)
    piece_labels(bench)
    if face == "down":
        name_fixings(plan, source, bench.view, bench.pen)
    waste_labels(bench)
    band(bench)
    title = f"{source.id} face {face}, {plan.job.show}: " + ", ".join(piece.id for piece in bench.pieces)
    drawing = bench.pen.drawing(title, RIM)
    return _widened(drawing, bench.box[2] - bench.box[0]) if face == "down" else drawing


def _widened(drawing: Drawing, tile: float) -> Drawing:
    """At least as wide as the tile with its margins, so that cards of tiles alike look alike."""
    left, bottom, right, top = drawing.box
    lack = max(0.0, tile + MARGINS * drawing.scale - (right - left)) / 2
    return replace(drawing, box=(left - lack, bottom, right + lack, top))


def _ground(bench: Bench) -> None:
    """Waste hatched, offcuts to keep and pieces over it in white, then the slats' edges."""
    pen, view, source = bench.pen, bench.view, bench.source
    outline = view.ring(source.outline)
    pen.polygon(outline, "waste")
    kept = [view.ring(offcut.outline) for offcut in source.offcuts if offcut.keep]
    pieces = [view.ring(piece.ring) for piece in bench.pieces]
    pen.strokes(hatching(outline, pen.mm(2.4), holes=[*kept, *pieces]), "hatch")
    for offcut in kept:
        pen.polygon(offcut, "offcut")
    for piece in bench.pieces:
        pen.polygon(view.ring(piece.ring), "piece")
        for hole in piece.holes:
            pen.polygon(view.ring(hole), "piece-hole")
            pen.strokes(hatching(view.ring(hole), pen.mm(2.4)), "hatch")
    shared = [fragment for fragment in source.slats if fragment.state == "shared"]
    for slat in bench.hardware.slats:
        shape = strip(source.outline, 1, slat.v)
        if shape and slat.id not in {fragment.slat for fragment in shared}:
            pen.polygon(view.ring(shape), "slat")
    for fragment in shared:
        ring = view.ring(fragment.outline)
        pen.polygon(ring, "slat-shared")
        for start, end in sides(ring):
            pen.take(box_of((start, end)))


def _centre_lines(bench: Bench) -> list[Distance]:
    """How far the centre line of each backer to hang is from the end that its step measures from; both ends of one
    that lies oblique, each at its own side of the tile.
    """
    top = bench.box[3]
    boxes = piece_boxes(bench.plan, bench.source)
    found = []
    for backer in bench.source.backers:
        if backer.state not in ("moved", "added"):
            continue
        u, v = centre(backer), (backer.line[0][1] + backer.line[-1][1]) / 2
        box = box_at(boxes, backer.piece, (u, v))
        ends: list[tuple[float, Margin, float]] = [(u, "top", top)]
        if abs(backer.line[0][0] - backer.line[-1][0]) > NEAR:
            low, high = sorted(backer.line, key=lambda point: point[1])
            ends = [(high[0], "top", top), (low[0], "bottom", bench.box[1])]
        for at, margin, rim in ends:
            from_end = along_end(bench.plan, box, at)
            start, end = bench.view.at((from_end.start, rim)), bench.view.at((at, rim))
            words = f"{backer.id}: {bench.words(from_end.distance)}"
            found.append(Distance(start=start, end=end, words=words, margin=margin, bold=False))
    return found
