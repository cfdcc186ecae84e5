"""The drawing of a source as it lies on the bench.

Face down: backers in front of the slats, screws and pin holes visible, left and right changed (see `placed`). Face up:
slats visible, backers hidden. Both carry a band that names the face that is up.
"""

from __future__ import annotations

from cutopt.book.bench import Bench, set_up, touches
from cutopt.book.dimensions import FIRST, STEP, Measured, dimension_all, running
from cutopt.book.drawing import Drawing
from cutopt.book.lettering import band, corners, piece_labels, waste_labels
from cutopt.book.placed import Face
from cutopt.book.rings import band as strip
from cutopt.book.rings import box_of, hatching
from cutopt.book.sawlines import bubble, cut_line, distances
from cutopt.book.timber import draw_backers, draw_fixings
from cutopt.planfile.model import Plan, Source


def faces(plan: Plan, source: Source) -> tuple[Face, ...]:
    """The drawings that a card needs: always face down, and face up as well where a cut is made that way."""
    ups = (step for step in plan.steps if step.source == source.id and step.do == "cut" and step.face == "up")
    return ("down", "up") if any(True for _ in ups) else ("down",)


def bench_drawing(plan: Plan, source: Source, face: Face) -> Drawing:
    """The source with all its marks, seen with `face` up."""
    bench = set_up(plan, source, face)
    _ground(bench)
    draw_backers(plan, source, bench.view, bench.pen)
    shown = [line for line in bench.lines if face == "down" or line.step is None or line.step.face == "up"]
    for line in bench.lines:
        cut_line(bench, line.cut)
    bench.pen.polygon(bench.view.ring(source.outline), "outline")
    if face == "down":
        draw_fixings(plan, source, bench.view, bench.pen)
    reach = dimension_all(bench.pen, bench.box, [d for line in shown for d in distances(bench, line)])
    for line in bench.lines:
        bubble(bench, line)
    if face == "down":
        _backer_centres(bench, reach)
    piece_labels(bench)
    waste_labels(bench)
    corners(bench, reach)
    band(bench)
    title = f"{source.id} face {face}, {plan.job.show}: " + ", ".join(piece.id for piece in bench.pieces)
    return bench.pen.drawing(title)


def _ground(bench: Bench) -> None:
    """Waste hatched, offcuts to keep and pieces over it in white, then the slats' edges."""
    pen, view, source = bench.pen, bench.view, bench.source
    outline = view.ring(source.outline)
    pen.polygon(outline, "waste")
    pen.strokes(hatching(outline, pen.mm(2.4)), "hatch")
    for offcut in source.offcuts:
        if offcut.keep:
            pen.polygon(view.ring(offcut.outline), "offcut")
    for piece in bench.pieces:
        pen.polygon(view.ring(piece.ring), "piece")
    for slat in bench.hardware.slats:
        shape = strip(source.outline, 1, slat.v)
        if shape:
            pen.polygon(view.ring(shape), "slat")
    for fragment in source.slats:
        if fragment.state == "shared":
            pen.polygon(view.ring(fragment.outline), "outline")


def _backer_centres(bench: Bench, reach: Measured) -> None:
    """Centre lines of each piece's backers from the factory end that the piece has, equal rows once."""
    box = box_of(bench.source.outline)
    top = bench.box[3]
    rows: dict[tuple[str, tuple[float, ...]], None] = {}
    for piece in bench.pieces:
        centres = [(b.line[0][0] + b.line[-1][0]) / 2 for b in bench.source.backers if b.piece == piece.id]
        if centres:
            low = min(u for u, _ in piece.ring)
            rows[("u0" if touches(low, box[0]) else "u1", tuple(sorted(centres)))] = None
    line_y = top + bench.pen.mm(max(reach.top + STEP - 1.0, FIRST + 0.5))
    for side, us in rows:
        origin_u = box[0] if side == "u0" else box[2]
        origin = bench.view.at((origin_u, top))
        numbers = [(bench.view.at((u, top)), bench.words(abs(u - origin_u))) for u in us]
        running(bench.pen, origin, numbers, line_y, f"backer centres from {side}")
        longest = max(len(words) for _, words in numbers)
        line_y += bench.pen.width("0" * longest, 2.4) + bench.pen.mm(5.0)
