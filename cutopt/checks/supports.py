"""Supports: each pad has its shape, stays in the area, clear of posts and other pads, its pins where they are made."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from shapely import prepare
from shapely.geometry import Point, Polygon, box
from shapely.strtree import STRtree

from cutopt.checks.evidence import Evidence
from cutopt.checks.finding import Fault, fault
from cutopt.checks.shapes import falls_short, inside, number, overlap, polygon, same
from cutopt.planfile.model import Area, AreaSupport

SHARES = {"whole": 1.0, "half": 0.5, "quarter": 0.25}
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
    if not inside(pad, outline):
        yield fault("support-outside", where, f"its pad reaches beyond the outline of {area.name}")
    for name, post in posts:
        if pad.intersects(post) and overlap(pad, post):
            yield fault("support-outside", where, f"its pad reaches into post {name}")
    for pin in support.pins:
        if not all(same(abs(a - b), part.pin_offset) for a, b in zip(pin, support.at, strict=True)):
            yield fault("support-pin", where, f"has no pin at ({number(pin[0])}, {number(pin[1])})")
        elif not pad.covers(Point(pin)) or falls_short(pad.exterior.distance(Point(pin)), evidence.limits.pad_past_pin):
            text = f"its pad is cut too near to the pin at ({number(pin[0])}, {number(pin[1])})"
            yield fault("support-pin", where, text)


def _pads_apart(area: Area, supports: Sequence[AreaSupport]) -> Iterator[Fault]:
    pads = [polygon(support.outline) for support in supports]
    tree = STRtree(pads) if pads else None
    for number_, pad in enumerate(pads):
        for other in tree.query(pad) if tree is not None else ():
            if other > number_ and overlap(pad, pads[other]):
                x, y = supports[other].at
                text = f"its pad lies on that of the one at ({number(x)}, {number(y)})"
                yield fault("support-outside", _where(supports[number_]), text)
