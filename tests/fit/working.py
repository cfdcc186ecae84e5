"""The work that a fit takes, counted by the rules' rates, and what the least is least of."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

import shapely

from cutopt.fit.records import Drive, Fit, Seat
from tests.fit.casing import PLAY, Case, centre_at


def work_of(case: Case, found: Fit) -> float:
    """Minutes at bench and drill by the rates: screws out, boards hung and ripped, screws in, holes, slats shared."""
    rules = case.rules
    staying = {d.screw for drives in found.drives for d in drives if d.screw}
    off = {f.slat for f in found.fragments if f.shared}  # these slats come off all along
    out = sum(
        s.id not in staying and (s.slat in off or bool(case.polygon.covers(shapely.Point(s.at))))
        for s in case.tile.screws
    )
    hung = [n for n, seat in enumerate(found.seats) if seat.backer is None]
    out += sum(len(found.drives[n]) for n in hung)  # its wood is unscrewed from somewhere
    fresh = [d for drives in found.drives for d in drives if d.screw is None]
    full = min(backer.width for backer in case.tile.backers)
    return (
        out * rules.rate_screw_out
        + len(hung) * rules.rate_backer
        + sum(found.seats[n].width < full for n in hung) * 2 * rules.rate_table_saw  # a pass each edge
        + sum(found.seats[n].lean != 0 for n in hung) * rules.rate_mark
        + sum(rules.rate_screw_new if d.predrilled else rules.rate_screw_in for d in fresh)
        + sum(stand.state == "drilled" for stand in found.stands) * rules.rate_hole
        + (rules.rate_share + rules.rate_table_saw if any(f.shared for f in found.fragments) else 0)
    )


def worth_of(case: Case, found: Fit) -> float:
    """What the least is least of: the work, screws missing at a hung board's crossings counted as if they were driven,
    and a support more for each hole at a factory end that is not in line with its neighbour's."""
    rules, tile = case.rules, case.tile
    missing = 0
    shapes = [shapely.Polygon(f.outline) for f in found.fragments]
    for seat, drives in zip(found.seats, found.drives, strict=True):
        if seat.backer is None:
            missing += missing_screws(case, seat, drives, shapes)
    u0, _, u1, _ = case.polygon.bounds
    inset = min(hole.at[0] for hole in tile.pin_holes)
    alone = 0
    for stand in found.stands:
        near, whole = (
            (stand.hole[0], u0 <= 0) if stand.toward[0] > 0 else (tile.length - stand.hole[0], u1 >= tile.length)
        )
        alone += whole and near < 2 * inset and abs(near - inset) > PLAY
    return work_of(case, found) + missing * (rules.rate_screw_in + rules.rate_screw_out) + alone * rules.rate_hole


def missing_screws(case: Case, seat: Seat, drives: Sequence[Drive], shapes: Sequence[shapely.Polygon]) -> int:
    """How many screws less than the tile has a crossing a board has, over the fragments wide enough for any."""
    usual = max(Counter((s.slat, s.backer) for s in case.tile.screws).values())
    line = shapely.LineString(seat.line)
    found = 0
    for n, shape in enumerate(shapes):
        v0, v1 = shape.bounds[1] - 1, shape.bounds[3] + 1
        across = shape.intersection(shapely.LineString([(centre_at(seat, v0), v0), (centre_at(seat, v1), v1)]))
        wide = max((part.bounds[3] - part.bounds[1] for part in shapely.get_parts(across)), default=0)
        if wide >= case.rules.fragment_least and line.intersection(shape).length > PLAY:
            found += max(0, usual - sum(d.fragment == n for d in drives))
    return found
