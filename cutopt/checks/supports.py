"""Supports: each pad has its shape, stays in the area, clear of posts and other pads, its pins where they are made."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import shapely
from shapely import prepare
from shapely.geometry import LineString, Point, Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union
from shapely.strtree import STRtree

from cutopt.checks.evidence import Evidence
from cutopt.checks.finding import Fault, fault
from cutopt.checks.laid import joined, laid, widest_joint
from cutopt.checks.shapes import TOLERANCE, falls_short, inside, number, overlap, polygon, same, upright
from cutopt.lengths import ticks
from cutopt.planfile.model import Area, AreaSupport

SHARES = {"whole": 1.0, "half": 0.5, "quarter": 0.25}
SEEN = 1.0  # mm2 of a pad that may be seen: rounding
SHARE_PLAY = 0.15  # of a pad: what the saw takes when a support is halved or quartered


def supports(evidence: Evidence) -> Iterator[Fault]:
    """All faults of supports in themselves; what stands on them is in `standing.py`."""
    for area in evidence.plan.areas:
        outline = polygon(area.outline)
        posts = [(post.name, polygon(post.outline)) for post in area.posts if post.kind == "post"]
        prepare(outline)
        mine = [support for support in evidence.plan.supports if support.area == area.name]
        for support in mine:
            yield from _support(evidence, area, support, outline, posts)
        yield from _pads_apart(area, mine)
        yield from _seen(evidence, area, mine)


def _where(support: AreaSupport) -> str:
    return f"support at ({number(support.at[0])}, {number(support.at[1])}) in {support.area}"


def _support(
    evidence: Evidence, area: Area, support: AreaSupport, outline: Polygon, posts: Sequence[tuple[str, Polygon]]
) -> Iterator[Fault]:  # fmt: skip
    where = _where(support)
    part = evidence.plan.tile.support
    pad = polygon(support.outline)
    (x, y), (w, h) = support.at, part.pad
    ways = [box(x - a / 2, y - b / 2, x + a / 2, y + b / 2) for a, b in {(w, h), (h, w)}]
    if not any(inside(pad, way) for way in ways):
        yield fault("support-shape", where, "its pad is larger than the support is made")
    share = pad.area / (w * h) if w * h else 0.0
    if support.shape in SHARES and abs(share - SHARES[support.shape]) > SHARE_PLAY * SHARES[support.shape]:
        yield fault("support-shape", where, f"is {support.shape} and its pad is {share:.0%} of a whole one")
    if support.shape in SHARES and not any(_alike(pad, way) for w in ways for way in _halved(w, support)):
        yield fault("support-shape", where, f"is {support.shape}, and its pad is another part of a whole one")
    if not inside(pad, outline):
        yield fault("support-outside", where, f"its pad reaches beyond the outline of {area.name}")
    for name, post in posts:
        if pad.intersects(post) and overlap(pad, post):
            yield fault("support-outside", where, f"its pad reaches into post {name}")
    least = min(evidence.limits.pad_past_pin, evidence.tile.pad_past_pin) + part.pin / 2  # beyond the pin's rim
    for pin in support.pins:
        if not all(same(abs(a - b), part.pin_offset) for a, b in zip(pin, support.at, strict=True)):
            yield fault("support-pin", where, f"has no pin at ({number(pin[0])}, {number(pin[1])})")
        elif not pad.covers(Point(pin)) or falls_short(pad.exterior.distance(Point(pin)), least):
            text = f"its pad is cut too near to the pin at ({number(pin[0])}, {number(pin[1])})"
            yield fault("support-pin", where, text)


def _halved(whole: Polygon, support: AreaSupport) -> list[Polygon]:
    """The whole pad, its halves or its quarters, as the support's shape says."""
    (x0, y0, x1, y1), (x, y) = whole.bounds, support.at
    if support.shape == "whole":
        return [whole]
    if support.shape == "half":
        return [box(x0, y0, x, y1), box(x, y0, x1, y1), box(x0, y0, x1, y), box(x0, y, x1, y1)]
    return [box(x0, y0, x, y), box(x, y0, x1, y), box(x0, y, x, y1), box(x, y, x1, y1)]


def _alike(pad: Polygon, part: Polygon) -> bool:
    return bool(pad.symmetric_difference(part).area <= SHARE_PLAY * part.area)


def _seen(evidence: Evidence, area: Area, supports: Sequence[AreaSupport]) -> Iterator[Fault]:
    """No pad is seen from above but in joints: none stands out into a gap or into ground that stays open.

    Along factory edges a support that is sawn through its middle reaches half a joint beyond the tile; elsewhere the
    pins' play in their holes is all that a pad may stand out.
    """
    tile = evidence.tile
    play = tile.hole_slack + TOLERANCE
    lying, joint = laid(evidence, area), widest_joint(tile)
    covered: set[frozenset[tuple[int, ...]]] = set()  # ways to lie under upright wood that show nothing
    for support in supports:
        pad = polygon(support.outline)
        x0, y0, x1, y1 = pad.buffer(2 * joint + 1.0, join_style="mitre").bounds if not pad.is_empty else (0, 0, 0, 0)
        near = lying.tree.query(box(x0, y0, x1, y1)).tolist()
        wood = [shapely.clip_by_rect(lying.shapes[i], x0, y0, x1, y1) for i in near]
        key = _lies(support, pad, wood)
        if key in covered:
            continue
        under = joined(wood, joint)
        if pad.difference(under).area <= SEEN:
            covered.add(key)
            continue
        edges = unary_union([LineString(edge) for i in near for edge in lying.edges[i]])
        edges = shapely.clip_by_rect(edges, x0, y0, x1, y1).buffer(max(tile.joint) / 2 + play, cap_style="square")
        bare = pad.difference(under.buffer(play, join_style="mitre")).difference(edges)
        if bare.area > SEEN:
            text = f"{number(bare.area)} mm2 of its pad stand out from under the wood into a gap or open ground"
            yield fault("support-seen", _where(support), text)


def _lies(support: AreaSupport, pad: Polygon, wood: Sequence[BaseGeometry]) -> frozenset[tuple[int, ...]]:
    """How pad and wood lie to one another, in ticks; their own where a shape is no rectangle along the axes."""
    x, y = support.at
    shapes = [one for one in (pad, *wood) if not one.is_empty]
    if not all(upright(one) for one in shapes):
        return frozenset({(id(support),)})
    return frozenset(
        (ticks(x0 - x), ticks(y0 - y), ticks(x1 - x), ticks(y1 - y), number_ == 0)
        for number_, (x0, y0, x1, y1) in enumerate(one.bounds for one in shapes)
    )


def _pads_apart(area: Area, supports: Sequence[AreaSupport]) -> Iterator[Fault]:
    pads = [polygon(support.outline) for support in supports]
    tree = STRtree(pads) if pads else None
    for number_, pad in enumerate(pads):
        for other in tree.query(pad) if tree is not None else ():
            if other > number_ and overlap(pad, pads[other]):
                x, y = supports[other].at
                text = f"its pad lies on that of the one at ({number(x)}, {number(y)})"
                yield fault("support-outside", _where(supports[number_]), text)
