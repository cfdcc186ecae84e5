"""Screws: in slat and backer, far enough from edges, ends, holes and old screw holes; kept ones where they were."""

from __future__ import annotations

import math
from collections.abc import Iterator

from shapely import contains_xy

from cutopt.checks.evidence import Board, Evidence, Placed, Stick, is_end, own_screw, same_spot, sawn_edges
from cutopt.checks.finding import Fault, fault
from cutopt.checks.fragments import name
from cutopt.checks.shapes import TOLERANCE, Spot, falls_short, near, number, ring_edges, same, to_edge
from cutopt.checks.wood import IN_PLACE, sawn_ends, stick_of, was_there
from cutopt.planfile.model import Backer, Screw


def fastening(evidence: Evidence) -> Iterator[Fault]:
    """All faults of screws."""
    for placed in evidence.placed:
        backers = {backer.id: backer for backer in placed.backers}
        seen: list[Screw] = []
        for piece_board in placed.boards:
            for screw in piece_board.screws:
                seen.append(screw)
                yield from _in_slat(evidence, placed, piece_board, screw)
        for screw in placed.screws:
            if not any(screw is other for other in seen):
                yield fault("screw-place", _where(placed, screw), f"is not in slat {screw.slat} of the piece")
            if screw.backer in backers:
                yield from _in_backer(evidence, placed, screw, backers[screw.backer])
            yield from _kept(placed, screw, backers)
            yield from _near_holes(evidence, placed, screw)
        yield from _accounted(placed)
        yield from _apart(evidence, placed)


def _where(placed: Placed, screw: Screw) -> str:
    return f"screw at ({number(screw.u)}, {number(screw.v)}) of {placed.where}"


def _spot(screw: Screw) -> Spot:
    return (screw.u, screw.v)


def _too_near(rule: str, where: str, gap: float, least: float, what: str) -> Iterator[Fault]:
    if falls_short(gap, least):
        yield fault(rule, where, f"is {number(gap)} from {what}; at least {number(least)} is meant")


def _in_slat(evidence: Evidence, placed: Placed, piece_board: Board, screw: Screw) -> Iterator[Fault]:
    """Distances to the fragment's edges: kept screws to new edges, new ones to all."""
    where, limits, tile = _where(placed, screw), evidence.limits, evidence.tile
    if screw.state == "kept":
        for edge in sawn_edges(tile, piece_board.outline):
            if not _own_edge(placed, piece_board, edge):
                gap = to_edge(_spot(screw), edge)
                yield from _too_near(
                    "screw-edge", where, gap, limits.kept_screw_edge, f"a new edge of {name(piece_board)}"
                )
        return
    least_edge = min(limits.screw_edge * tile.screw_diameter, tile.screw_to_edge)
    least_end = min(limits.screw_end * tile.screw_diameter, tile.screw_to_end)
    for edge in ring_edges(piece_board.outline):
        gap = to_edge(_spot(screw), edge)
        if is_end(edge, limits):
            yield from _too_near("screw-end", where, gap, least_end, f"an end of {name(piece_board)}")
        else:
            yield from _too_near("screw-edge", where, gap, least_edge, f"an edge of {name(piece_board)}")
    yield from _near_old_holes(evidence, placed, piece_board, screw)


def _near_old_holes(evidence: Evidence, placed: Placed, piece_board: Board, screw: Screw) -> Iterator[Fault]:
    """A slat that moves, to be shared, takes its old holes along; one in the new screw's place is driven again."""
    shift = _moved(placed, piece_board)
    for old in placed.hardware.screws:
        hole = (old.u, old.v + shift)
        if old.slat != screw.slat or old.id not in placed.source.screws_out or same_spot(hole, _spot(screw)):
            continue
        gap = math.dist(hole, _spot(screw))
        if gap < evidence.limits.old_hole_clear and near(piece_board.outline, hole):
            least, what = evidence.limits.old_hole_clear, f"the old hole of screw {old.id}"
            yield from _too_near("old-hole", _where(placed, screw), gap, least, what)


def _moved(placed: Placed, piece_board: Board) -> float:
    """How far a slat lies from where it was made: by its uncut edge, the one that moved less."""
    slat = next((slat for slat in placed.hardware.slats if slat.id == piece_board.slat), None)
    if slat is None or not any(f.slat == piece_board.slat for f in placed.shared):
        return 0.0
    _, low, _, high = piece_board.outline.bounds
    return min(float(low) - slat.v[0], float(high) - slat.v[1], key=abs)


def _own_edge(placed: Placed, piece_board: Board, edge: tuple[Spot, Spot]) -> bool:
    """Whether an edge is the slat's own long edge, as made."""
    sides = [v for slat in placed.hardware.slats if slat.id == piece_board.slat for v in slat.v]
    return any(abs(edge[0][1] - v) <= TOLERANCE and abs(edge[1][1] - v) <= TOLERANCE for v in sides)


def _in_backer(evidence: Evidence, placed: Placed, screw: Screw, backer: Backer) -> Iterator[Fault]:
    where, spot, limits, tile = _where(placed, screw), _spot(screw), evidence.limits, evidence.tile
    runs, off = _in_board(backer, spot)
    if min(runs) < -TOLERANCE or off > backer.width / 2 + TOLERANCE:
        yield fault("screw-place", where, f"is not over its backer {backer.id}")
        return
    stick = stick_of(evidence, backer)
    again = stick is not None and was_there(backer, stick, spot, tuple((s.u, s.v) for s in stick.screws))
    for run, sawn in zip(runs, sawn_ends(evidence, backer), strict=True):
        if sawn and not (again and screw.state != "kept"):
            yield from _too_near(
                "screw-backer", where, run, limits.kept_screw_edge, f"a sawn end of backer {backer.id}"
            )
        elif screw.state != "kept" and not again:
            least = min(limits.screw_end * tile.screw_diameter, tile.screw_to_backer_end, limits.kept_screw_edge)
            yield from _too_near("screw-backer", where, run, least, f"an end of backer {backer.id}")
    what = f"a long edge of backer {backer.id}"
    if screw.state != "kept" and not again:
        least = min(limits.screw_edge * tile.screw_diameter, tile.screw_to_backer_edge)
        yield from _too_near("screw-backer", where, backer.width / 2 - off, least, what)
    elif stick is not None and falls_short(backer.width, stick.backer.width):
        yield from _too_near("screw-backer", where, _to_new_edge(backer, stick, spot), limits.kept_screw_edge, what)


def _to_new_edge(backer: Backer, stick: Stick, spot: Spot) -> float:
    """From a screw in its old hole to the nearer of a backer's long edges that are sawn, where it was made narrower."""
    _, off = _in_board(backer, spot)
    if backer.state != "shaved":  # ripped on both sides
        return backer.width / 2 - off
    middle, half = backer.line[0][0], backer.width / 2
    made = stick.backer.width / 2  # from its middle to its long edges, as made
    sawn = [edge for edge in (middle - half, middle + half) if not same(abs(edge - stick.backer.u), made)]
    return min((abs(spot[0] - edge) for edge in sawn), default=half)


def _in_board(backer: Backer, spot: Spot) -> tuple[Spot, float]:
    """How far a point is from the first and from the last end of a backer, and off its centre line."""
    if len(backer.line) != 2 or backer.line[0] == backer.line[1]:
        return (-math.inf, -math.inf), math.inf
    (u0, v0), (u1, v1) = backer.line
    length = math.dist(*backer.line)
    run = ((spot[0] - u0) * (u1 - u0) + (spot[1] - v0) * (v1 - v0)) / length
    off = abs((spot[0] - u0) * (v1 - v0) - (spot[1] - v0) * (u1 - u0)) / length
    return (run, length - run), off


def _kept(placed: Placed, screw: Screw, backers: dict[str, Backer]) -> Iterator[Fault]:
    """A kept screw is one of the tile's, still in, in the backer that it was in; a new one is in no other's place."""
    backer = backers.get(screw.backer)
    own = own_screw(placed, _spot(screw))
    if screw.state != "kept":
        if own is not None and own.id not in placed.source.screws_out:
            yield fault("screw-state", _where(placed, screw), f"goes where screw {own.id} still is")
        return
    if own is None or own.slat != screw.slat:
        yield fault("screw-state", _where(placed, screw), "is listed as kept, and the tile has no screw there")
        return
    if any(f.slat == own.slat for f in placed.shared):
        yield fault("screw-state", _where(placed, screw), f"is kept in slat {own.slat}, which comes off to be shared")
    if own.id in placed.source.screws_out:
        yield fault("screw-state", _where(placed, screw), f"is listed as kept, and screw {own.id} is taken out")
    lies = backer is not None and backer.state in IN_PLACE and backer.from_ is not None
    if not lies or backer is None or backer.from_ is None or backer.from_.backer != own.backer:
        yield fault(
            "screw-state",
            _where(placed, screw),
            f"is kept in {screw.backer}, which is not backer {own.backer} in place",
        )


def _near_holes(evidence: Evidence, placed: Placed, screw: Screw) -> Iterator[Fault]:
    """A screw and a hole that are both as they were made are as near as they were made."""
    for hole in placed.source.pin_holes:
        as_made = screw.state == hole.state == "kept"
        if hole.piece == placed.piece.id and hole.backer == screw.backer and not as_made:
            gap = math.dist((hole.u, hole.v), _spot(screw))
            what = f"the pin hole at ({number(hole.u)}, {number(hole.v)})"
            yield from _too_near("screw-hole", _where(placed, screw), gap, evidence.limits.screw_hole_clear, what)


def _accounted(placed: Placed) -> Iterator[Fault]:
    """Each of the tile's screws in the piece is kept or out."""
    listed = {own.id for s in placed.screws if s.state == "kept" and (own := own_screw(placed, _spot(s))) is not None}
    rest = [own for own in placed.hardware.screws if own.id not in placed.source.screws_out and own.id not in listed]
    within = contains_xy(placed.outline.buffer(TOLERANCE), [(own.u, own.v) for own in rest]) if rest else ()
    for own, lies in zip(rest, within, strict=True):
        if lies:
            yield fault("screw-state", placed.where, f"screw {own.id} is neither taken out nor listed as kept")


def _apart(evidence: Evidence, placed: Placed) -> Iterator[Fault]:
    """Two screws never share a place."""
    for number_, screw in enumerate(placed.screws):
        for other in placed.screws[:number_]:
            if abs(screw.u - other.u) > evidence.tile.screw_diameter or screw.slat != other.slat:
                continue
            gap = math.dist(_spot(screw), _spot(other))
            if same_spot(_spot(screw), _spot(other)):
                yield fault("screw-place", _where(placed, screw), "is listed twice")
            elif gap < evidence.tile.screw_diameter:
                yield fault("screw-place", _where(placed, screw), f"is {number(gap)} from another screw")
