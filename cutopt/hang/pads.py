"""What is left of each support's pad: nothing of it is seen, pads keep off one another, posts part them.

sill    the ground under wood and its joints, where a pad is not seen: never a gap, a post or open ground
meat    the pad that stays around a pin's centre: its radius and what is left beyond its rim
"""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from cutopt.errors import OurFault
from cutopt.geometry import NEAR, Ring, polygons, ring_of
from cutopt.hang.feet import Foot, Party
from cutopt.hang.parting import LAPPED, Parting, faces_of, kept_side, margin, square
from cutopt.hang.records import SupportShape
from cutopt.rules import Rules
from cutopt.tile import Tile


def pads_of(parties: Sequence[Party], sill: shapely.Geometry, tile: Tile, rules: Rules) -> list[shapely.Geometry]:
    """The pad of each party: the quarters that are used, under the sill, off the other pads.

    One that stands under wood all over stays whole: it only loses the pins that are not used.
    """
    meat = tile.support.pin // 2 + rules.pad_past_pin
    pads: list[shapely.Geometry] = [_under(party.quarters, sill) for party in parties]
    Parting(parties=parties, pads=pads, meat=meat, rules=rules).part()
    tree = shapely.STRtree([party.pad for party in parties])
    for number, party in enumerate(parties):
        if len(party.feet) < 4 and (len(party.feet) == 1 or party.beside):
            continue
        if _as_made(party, pads[number]):
            continue
        near = [int(i) for i in tree.query(party.pad) if i != number]
        free = all(pads[i].intersection(party.pad).area <= LAPPED for i in near)
        if free and sill.covers(party.pad.buffer(-NEAR)):
            pads[number] = party.pad
    return pads


def _as_made(party: Party, pad: shapely.Geometry) -> bool:
    """Whether nothing is sawn off a pad, to the last tick."""
    return bool(pad.bounds == party.pad.bounds and pad.area == party.pad.area)


def _under(shape: shapely.Geometry, sill: shapely.Geometry) -> shapely.Geometry:
    return shape if sill.covers(shape) else faces_of(shape.intersection(sill))


def cut_around(party: Party, pad: shapely.Geometry, posts: shapely.Geometry, meat: int) -> shapely.Geometry:
    """A pad whose middle a post takes, sawn straight beside the post on both sides: two halves.

    `posts` are grown by their gaps. Where pins are in the way of every such cut the pad is cut to fit around the post,
    unless that would make a hole of it.
    """
    centre = shapely.Point(party.centre)
    if not posts.covers(centre) or len(party.feet) < 2 or party.beside:
        return pad
    taken = [part for part in shapely.get_parts(party.pad.difference(pad)) if part.covers(centre)]
    if not taken:
        return pad
    x0, y0, x1, y1 = taken[0].bounds
    cuts = [
        kept_side(pad, axis, low, low_side=True).union(kept_side(pad, axis, high, low_side=False))
        for axis, low, high in ((0, x0, x1), (1, y0, y1))
    ]
    best = max(cuts, key=lambda cut: (min(margin(party, cut), meat), cut.area))
    ringed = any(part.interiors for part in polygons(pad))
    return best if ringed or margin(party, best) >= meat - NEAR else pad


def parts_of(party: Party, pad: shapely.Geometry, past: int) -> list[tuple[Party, shapely.Polygon]]:
    """The pieces of plastic that a pad falls into, each with the feet whose pins it has. Slivers are left out."""
    whole = polygons(pad)
    if len(whole) == 1 and square(pad):
        return [(party, whole[0])]
    stout = pad.buffer(-past, join_style="mitre", mitre_limit=10).buffer(past, join_style="mitre", mitre_limit=10)
    plates = [*polygons(stout.intersection(pad)), *whole]  # a pin in a sliver keeps the sliver
    if not plates:
        x, y = (value / 320 for value in party.centre)
        raise OurFault(f"nothing is left of the pad of the support at ({x:.1f}, {y:.1f}) mm in the layout")
    feet: dict[int, list[Foot]] = {}
    for foot, pin in zip(party.feet, map(shapely.Point, party.pins), strict=True):
        plate = min(range(len(plates)), key=lambda n: (plates[n].distance(pin), n))
        feet.setdefault(plate, []).append(foot)
    return [
        (Party(centre=party.centre, half=party.half, offset=party.offset, feet=tuple(feet[n])), plates[n])
        for n in sorted(feet)
    ]


def outline_of(party: Party, pad: shapely.Polygon) -> Ring:
    """The ring of what is left of a pad, on whole ticks."""
    if _as_made(party, pad):
        (x, y), (w, h) = party.centre, party.half
        return (x - w, y - h), (x + w, y - h), (x + w, y + h), (x - w, y + h)
    return ring_of(pad)


def shape_of(party: Party, pad: shapely.Polygon) -> SupportShape:
    """Whole as made, half or quarter but for what the saw takes along its cuts, else trimmed."""
    if _as_made(party, pad) or pad.buffer(NEAR, join_style="mitre").covers(party.pad):
        return "whole"
    names: dict[int, SupportShape] = {1: "quarter", 2: "half"}
    plain = len(party.feet) == 1 or party.beside
    if plain and pad.buffer(NEAR, join_style="mitre").covers(party.sawn()):
        return names[len(party.feet)]
    return "trimmed"
