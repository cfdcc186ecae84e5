"""Backers, screws and pin holes of a source: as they were, and as they will be."""

from __future__ import annotations

from cutopt.book.drawing import Point
from cutopt.book.pen import Pen
from cutopt.book.placed import View, hardware_of, screws_taken_out
from cutopt.book.rings import NEAR, along, box_of
from cutopt.book.styles import StyleName
from cutopt.planfile.model import Backer, Plan, Source, TileBacker

BACKER_STYLES: dict[str, StyleName] = {
    "kept": "backer",
    "cut": "backer",
    "shaved": "backer",
    "moved": "backer-moved",
    "added": "backer-added",
}


def draw_backers(plan: Plan, source: Source, view: View, pen: Pen) -> None:
    """Face down the backers as they were and will be; face up as hidden lines."""
    if view.face == "up":
        for backer in source.backers:
            pen.polygon(view.ring(along(backer.line, backer.width)), "backer-hidden")
        return
    _old_backers(plan, source, view, pen)
    for backer in source.backers:
        pen.polygon(view.ring(along(backer.line, backer.width)), BACKER_STYLES[backer.state])
    _hidden_slats(plan, source, view, pen)


def draw_fixings(plan: Plan, source: Source, view: View, pen: Pen) -> None:
    """Screws, pin holes, arrows of moved backers and names: what lies over the cut lines, face down."""
    for backer in source.backers:
        _moved(plan, source, backer, view, pen)
    _holes(plan, source, view, pen)
    _screws(plan, source, view, pen)
    _names(source, view, pen)
    for backer in source.backers:
        pen.take(box_of(view.ring(along(backer.line, backer.width))))


def short_id(source: Source, backer: str) -> str:
    """The backer's name without its source's."""
    return backer.removeprefix(f"{source.id}.")


def _board(backer: TileBacker) -> tuple[Point, ...]:
    return along(((backer.u, backer.v[0]), (backer.u, backer.v[1])), backer.width)


def _old_backers(plan: Plan, source: Source, view: View, pen: Pen) -> None:
    """A tile's backer that leaves its place is dashed there; one that stays in the waste is drawn narrow."""
    gone = {
        backer.from_.backer
        for other in plan.sources
        for backer in other.backers
        if backer.from_ is not None
        and backer.from_.source == source.id
        and (other.id != source.id or backer.state == "moved")
    }
    for old in hardware_of(plan, source).backers:
        pen.polygon(view.ring(_board(old)), "backer-old" if old.id in gone else "backer-loose")


def _hidden_slats(plan: Plan, source: Source, view: View, pen: Pen) -> None:
    """The slats' edges behind the backers."""
    lines = []
    for backer in source.backers:
        low_u, low_v, high_u, high_v = box_of(along(backer.line, backer.width))
        for slat in hardware_of(plan, source).slats:
            lines += [(view.at((low_u, v)), view.at((high_u, v))) for v in slat.v if low_v < v < high_v]
    pen.strokes(lines, "hidden")


def _moved(plan: Plan, source: Source, backer: Backer, view: View, pen: Pen) -> None:
    """An arrow from a moved backer's old place to its new one, between two rows of screws."""
    if backer.state != "moved" or backer.from_ is None or backer.from_.source != source.id:
        return
    old = next((b for b in hardware_of(plan, source).backers if b.id == backer.from_.backer), None)
    new_u = (backer.line[0][0] + backer.line[-1][0]) / 2
    if old is None or abs(old.u - new_u) < NEAR:
        return
    slats = sorted(hardware_of(plan, source).slats, key=lambda slat: slat.v)
    for slat in slats[len(slats) // 3 : len(slats) // 3 + 3 : 2]:
        v = sum(slat.v) / 2
        start, end = view.at((old.u, v)), view.at((new_u, v))
        pen.line((start, end), "move-halo")
        pen.arrow(start, end, "move", "move-head", 2.4)
        low, high = sorted((start[0], end[0]))
        pen.take((low, v - pen.mm(0.8), high, v + pen.mm(0.8)))


def _holes(plan: Plan, source: Source, view: View, pen: Pen) -> None:
    stay = {(round(hole.u, 1), round(hole.v, 1)) for hole in source.pin_holes}
    radius = max((hole.diameter for hole in hardware_of(plan, source).pin_holes), default=plan.tile.support.pin) / 2
    for old in hardware_of(plan, source).pin_holes:
        if (round(old.u, 1), round(old.v, 1)) not in stay:
            pen.true_circle(view.at((old.u, old.v)), old.diameter / 2, "hole-old")
    for hole in source.pin_holes:
        at = view.at((hole.u, hole.v))
        drilled = hole.state == "drilled"
        pen.true_circle(at, radius, "hole-drilled" if drilled else "hole-kept")
        reach = radius + pen.mm(1.6 if drilled else 0.5)
        style: StyleName = "move" if drilled else "centre"
        inner = 0.0 if not drilled else radius + pen.mm(0.1)
        for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
            start = (at[0] + dx * inner, at[1] + dy * inner)
            pen.line((start, (at[0] + dx * reach, at[1] + dy * reach)), style)
        pen.take((at[0] - reach, at[1] - reach, at[0] + reach, at[1] + reach))


def _screws(plan: Plan, source: Source, view: View, pen: Pen) -> None:
    """Old ones first: those that stay open circles, those that come out crosses with their numbers; new ones filled."""
    out = screws_taken_out(plan, source)
    gone = {screw.id for screw in out}
    for screw in hardware_of(plan, source).screws:
        if screw.id not in gone:
            at = view.at((screw.u, screw.v))
            pen.circle(at, 0.55, "screw-kept")
            pen.take_around(at, 0.8)
    for new in source.screws:
        if new.state != "kept":
            at = view.at((new.u, new.v))
            pen.circle(at, 0.75, "screw-new")
            pen.take_around(at, 0.9)
    for screw in out:
        x, y = view.at((screw.u, screw.v))
        r = pen.mm(0.95)
        pen.strokes((((x - r, y - r), (x + r, y + r)), ((x - r, y + r), (x + r, y - r))), "screw-out")
        pen.take_around((x, y), 1.0)
    half = max((backer.width for backer in hardware_of(plan, source).backers), default=0.0) / 2
    for screw in out:
        x, y = view.at((screw.u, screw.v))
        wide = pen.width(screw.id, 2.3) / 2
        past, near, rise = half + pen.mm(0.6) + wide, pen.mm(1.4) + wide, pen.mm(1.5)
        beside = [(x + past, y), (x - past, y), (x + near, y), (x - near, y)]
        raised = [(px, y + dy) for px, _ in beside for dy in (rise, -rise)]
        pen.label([*beside, *raised, (x, y + 2 * rise), (x, y - 2 * rise)], screw.id, 2.3, "small")


def _names(source: Source, view: View, pen: Pen) -> None:
    """Each backer's name on it, where no screw or hole is."""
    for backer in source.backers:
        (u1, v1), (u2, v2) = backer.line[0], backer.line[-1]
        parts = [0.5 + step * sign / 40 for step in range(20) for sign in (1, -1)]
        spots = [view.at((u1 + (u2 - u1) * part, v1 + (v2 - v1) * part)) for part in parts]
        pen.label(spots, short_id(source, backer.id), 2.6, "label")
