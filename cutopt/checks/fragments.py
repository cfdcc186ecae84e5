"""The walking face of each piece, fragment by fragment: as listed, wide enough, held."""

from __future__ import annotations

from collections.abc import Iterator

from shapely.geometry import LineString, Point, Polygon

from cutopt.checks.evidence import Board, Evidence, Placed
from cutopt.checks.finding import Fault, fault
from cutopt.checks.necks import necks
from cutopt.checks.shapes import TOLERANCE, Spot, equal, falls_short, number, polygon, upright
from cutopt.planfile.model import Fragment


def fragments(evidence: Evidence) -> Iterator[Fault]:
    """All faults of slat fragments."""
    least = narrowest(evidence)
    for placed in evidence.placed:
        yield from _as_listed(placed)
        for piece_board in placed.boards:
            yield from _held(evidence, placed, piece_board)
            for u0, u1, width in necks(piece_board.outline, least):
                text = f"{name(piece_board)} is only {number(width)} wide from u {number(u0)} to {number(u1)}"
                yield fault("neck", placed.where, f"{text}; at least {number(least)}")


def narrowest(evidence: Evidence) -> float:
    """The least width of a fragment: the rule's, or that of a narrower slat as made."""
    return min(evidence.limits.fragment_least, evidence.tile.slat_width)


def width_at(piece_board: Board, spot: Spot) -> float:
    """A fragment's width across the slats at a point in it, mm; 0 where the point is outside."""
    left, low, right, high = piece_board.outline.bounds
    if upright(piece_board.outline):
        lies = left - TOLERANCE <= spot[0] <= right + TOLERANCE and low - TOLERANCE <= spot[1] <= high + TOLERANCE
        return float(high - low) if lies else 0.0
    cross = LineString([(spot[0], low - 1), (spot[0], high + 1)]).intersection(piece_board.outline)
    stretches = list(getattr(cross, "geoms", [cross]))
    return max((s.length for s in stretches if s.distance(Point(spot)) <= TOLERANCE), default=0.0)


def name(piece_board: Board) -> str:
    """A fragment in a text."""
    u0, v0, u1, v1 = piece_board.outline.bounds
    return f"slat {piece_board.slat} from ({number(u0)}, {number(v0)}) to ({number(u1)}, {number(v1)})"


def _as_listed(placed: Placed) -> Iterator[Fault]:
    """Each fragment that piece and slats give is listed with that outline, and no other."""
    kept = [f for f in placed.source.slats if f.piece == placed.piece.id and f.state == "kept"]
    shared = {f.slat for f in placed.shared}
    unmatched: list[Fragment] = list(kept)
    for derived in placed.derived:
        if derived.slat in shared:
            continue
        outer = Polygon(derived.outline.exterior)  # a post that stands inside one slat leaves a hole in it
        match = next((f for f in unmatched if f.slat == derived.slat and equal(polygon(f.outline), outer)), None)
        if match is None:
            yield fault("fragments", placed.where, f"{name(derived)} is part of the piece and not listed so")
        else:
            unmatched.remove(match)
    for fragment in unmatched:
        yield fault("fragments", placed.where, f"lists a fragment of slat {fragment.slat} that its cuts do not give")


def _held(evidence: Evidence, placed: Placed, piece_board: Board) -> Iterator[Fault]:
    """At least two screws on two backers, and wide enough at each."""
    screws, least = piece_board.screws, narrowest(evidence)
    backers = {screw.backer for screw in screws}
    short = piece_board.u[1] - piece_board.u[0] < evidence.limits.short_fragment
    if len(screws) < 2:
        yield fault("fragment-held", placed.where, f"{name(piece_board)} is held by {len(screws)} screws; 2 are meant")
    elif len(backers) < 2 and not short:
        yield fault("fragment-held", placed.where, f"{name(piece_board)} is held on one backer; 2 are meant")
    for screw in screws:
        width = width_at(piece_board, (screw.u, screw.v))
        if falls_short(width, least):
            text = f"{name(piece_board)} is {number(width)} wide at screw ({number(screw.u)}, {number(screw.v)})"
            yield fault("fragment-width", placed.where, f"{text}; at least {number(least)}")
