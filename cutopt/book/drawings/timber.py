"""Backers, screws and pin holes of a source: as they were, and as they will be."""

from __future__ import annotations

from cutopt.book.drawings.drawing import Point
from cutopt.book.drawings.pen import LEGIBLE, Pen
from cutopt.book.drawings.placed import View, emptied, hardware_of, screws_taken_out
from cutopt.book.drawings.rings import NEAR, along, box_of
from cutopt.book.drawings.styles import StyleName
from cutopt.book.words.hardware import STARTER, centre, new_holes, odd_screws, starters, u_at
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
    """Screws, pin holes and arrows of moved backers: what lies over the cut lines, face down."""
    for backer in source.backers:
        _moved(plan, source, backer, view, pen)
    _holes(plan, source, view, pen)
    _screws(plan, source, view, pen)


def name_fixings(plan: Plan, source: Source, view: View, pen: Pen) -> None:
    """Names of holes, screws and backers, where nothing else is written."""
    _hole_names(plan, source, view, pen)
    _screw_names(plan, source, view, pen)
    _backer_names(source, view, pen)
    for backer in source.backers:
        pen.take(box_of(view.ring(along(backer.line, backer.width))))


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
    """The slats' edges behind the backers, of shared slats those that they are given."""
    shared = {slat.slat: box_of(slat.outline) for slat in source.slats if slat.state == "shared"}
    edges = [v for slat in hardware_of(plan, source).slats if slat.id not in shared for v in slat.v]
    edges += [v for box in shared.values() for v in (box[1], box[3])]
    lines = []
    for backer in source.backers:
        low_u, low_v, high_u, high_v = box_of(along(backer.line, backer.width))
        for v in edges:
            if low_v < v < high_v:
                lines.append((view.at((low_u, v)), view.at((high_u, v))))
    pen.strokes(lines, "hidden")


def _moved(plan: Plan, source: Source, backer: Backer, view: View, pen: Pen) -> None:
    """An arrow or two from a moved backer's old place to its new one, where it will lie, between rows of screws."""
    if backer.state != "moved" or backer.from_ is None or backer.from_.source != source.id:
        return
    old = next((b for b in hardware_of(plan, source).backers if b.id == backer.from_.backer), None)
    if old is None or abs(old.u - centre(backer)) < NEAR:
        return
    low, high = sorted((backer.line[0][1], backer.line[-1][1]))
    slats = sorted(hardware_of(plan, source).slats, key=lambda slat: slat.v)
    levels = [v for v in (sum(slat.v) / 2 for slat in slats) if low < v < high] or [(low + high) / 2]
    for v in levels[len(levels) // 3 : len(levels) // 3 + 3 : 2]:
        start, end = view.at((old.u, v)), view.at((u_at(backer, v), v))
        pen.line((start, end), "move-halo")
        pen.arrow(start, end, "move", "move-head", 2.4)
        left, right = sorted((start[0], end[0]))
        pen.take((left, v - pen.mm(0.8), right, v + pen.mm(0.8)))


def _holes(plan: Plan, source: Source, view: View, pen: Pen) -> None:
    stay = {(round(hole.u, 1), round(hole.v, 1)) for hole in source.pin_holes}
    radius = max((hole.diameter for hole in hardware_of(plan, source).pin_holes), default=plan.tile.support.pin) / 2
    for old in hardware_of(plan, source).pin_holes:
        if (round(old.u, 1), round(old.v, 1)) not in stay:
            pen.true_circle(view.at((old.u, old.v)), old.diameter / 2, "hole-old")
    drawn = [(view.at((hole.u, hole.v)), radius, hole.state == "drilled") for hole in source.pin_holes]
    drawn += [(view.at(at), STARTER / 2, True) for _, at in starters(plan, source)]
    for at, radius, drilled in drawn:
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
            pen.take_around(at, 0.6)
    for new in source.screws:
        if new.state != "kept":
            at = view.at((new.u, new.v))
            pen.circle(at, 0.75, "screw-new")
            pen.take_around(at, 0.8)
    for screw in out:
        x, y = view.at((screw.u, screw.v))
        r = pen.mm(0.95)
        pen.strokes((((x - r, y - r), (x + r, y + r)), ((x - r, y + r), (x + r, y - r))), "screw-out")
        pen.take_around((x, y), 1.0)


def _screw_names(plan: Plan, source: Source, view: View, pen: Pen) -> None:
    """Numbers of screws that come out, but one word for a backer that loses all; names of those in new places."""
    own, out, whole = hardware_of(plan, source), screws_taken_out(plan, source), emptied(plan, source)
    half = max((backer.width for backer in own.backers), default=0.0) / 2
    rim = view.ring(source.outline)
    for screw in out:
        if screw.backer not in whole:
            _beside(pen, rim, view.at((screw.u, screw.v)), screw.id, half)
    for mark, new in odd_screws(plan, source):
        _beside(pen, rim, view.at((new.u, new.v)), mark, half)
    for backer in own.backers:
        if backer.id in whole:
            mine = sorted((view.at((s.u, s.v)) for s in out if s.backer == backer.id), key=lambda at: -at[1])
            any(_beside(pen, rim, at, f"all {whole[backer.id]} out", half) for at in mine)


def _beside(pen: Pen, rim: tuple[Point, ...], at: Point, words: str, half: float) -> bool:
    """A word about a screw beside its backer or close by it, on the tile or off it, over its rim only at last."""
    x, y = at
    wide, rise = pen.width(words, LEGIBLE) / 2, pen.mm(1.6)
    past, near = half + pen.mm(0.6) + wide, pen.mm(1.4) + wide
    left, _, right, _ = box_of(rim)
    spots = [(x + dx, y + dy) for dy in (0.0, rise, -rise, 2 * rise, -2 * rise) for dx in (past, -past, near, -near)]
    if pen.label(spots, words, LEGIBLE, "small", within=rim):
        return True
    out = pen.mm(0.7) + wide
    off = [(right + out, y)] if right - x < x - left else [(left - out, y)]
    return pen.label([*off, *spots], words, LEGIBLE, "small")


def _hole_names(plan: Plan, source: Source, view: View, pen: Pen) -> None:
    """h1, h2 beside the pin holes to drill, start 1 beside the one that cut 1 is started from."""
    named = [(mark, (hole.u, hole.v)) for mark, hole in new_holes(source)]
    for mark, spot in (*named, *starters(plan, source)):
        x, y = view.at(spot)
        d, e = pen.mm(4.2), pen.mm(2.4)
        spots = [(x + dx, y + dy) for dx in (d, -d) for dy in (0.0, e, -e)] + [(x, y + d), (x, y - d)]
        if not pen.label(spots, mark, LEGIBLE, "label"):
            pen.text(spots[0], mark, LEGIBLE, "label")


def _backer_names(source: Source, view: View, pen: Pen) -> None:
    """Each backer's name on it, where no screw or hole is, else upright beside it."""
    left, _, right, _ = view.box(box_of(source.outline))
    for backer in source.backers:
        (u1, v1), (u2, v2) = backer.line[0], backer.line[-1]
        parts = [0.5 + step * sign / 40 for step in range(20) for sign in (1, -1)]
        spots = [view.at((u1 + (u2 - u1) * part, v1 + (v2 - v1) * part)) for part in parts]
        if any(pen.label(spots, backer.id, height, "label") for height in (LEGIBLE, 2.5)):
            continue
        away = backer.width / 2 + pen.mm(1.7)
        beside = [(x + dx, y) for dx in (away, -away) for x, y in spots]
        beside.sort(key=lambda spot: not left < spot[0] < right)
        if not pen.label(beside, backer.id, LEGIBLE, "label", turn=90.0):
            pen.label(spots, backer.id, 2.0, "label")
