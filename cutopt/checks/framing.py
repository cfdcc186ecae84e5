"""Each piece is one connected whole; bays and overhangs are no longer than the uncut tile and the rules allow."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence

from cutopt.checks.evidence import Board, Evidence, Placed
from cutopt.checks.finding import Fault, fault
from cutopt.checks.fragments import name
from cutopt.checks.shapes import board, exceeds, number
from cutopt.planfile.model import Backer

BAY_PLAY = 1.0  # mm that a bay may be longer than the uncut tile's


def framing(evidence: Evidence) -> Iterator[Fault]:
    """All faults of how pieces hold together."""
    for placed in evidence.placed:
        useful = binding_backers(placed)
        for backer in placed.backers:
            if not any(s.backer == backer.id for s in placed.source.screws):
                yield fault("backer-loose", f"backer {backer.id} of {placed.where}", "has no screw")
        if len(useful) < 2:
            yield fault("piece-held", placed.where, f"hangs on {len(useful)} backers that bind it; 2 are meant")
        groups = _groups(placed, useful)
        if groups > 1:
            yield fault(
                "one-whole", placed.where, f"its slats and backers form {groups} parts that no screw ties together"
            )
        for piece_board in placed.boards:
            yield from _bays(evidence, placed, piece_board, useful)


def binding_backers(placed: Placed) -> list[Backer]:
    """The backers that count: with several fragments in the piece, those screwed to more than one."""
    least = 2 if len(placed.boards) > 1 else 1
    return [backer for backer in placed.backers if len(_fragments_on(placed, backer)) >= least]


def _fragments_on(placed: Placed, backer: Backer) -> set[int]:
    return {
        number_
        for number_, piece_board in enumerate(placed.boards)
        if any(screw.backer == backer.id for screw in piece_board.screws)
    }


def _groups(placed: Placed, useful: Sequence[Backer]) -> int:
    """Into how many parts the fragments fall when only screws hold them."""
    groups: list[set[int]] = [{number_} for number_ in range(len(placed.boards))]
    for backer in useful:
        groups = merged(groups, _fragments_on(placed, backer))
    return len(groups)


def merged(groups: Sequence[set[int]], touched: set[int]) -> list[set[int]]:
    """Groups of parts, by number, when those that have a part in `touched` become one."""
    together = [group for group in groups if group & touched]
    apart = [group for group in groups if not group & touched]
    return [*apart, set().union(*together)] if together else apart


def _bays(evidence: Evidence, placed: Placed, piece_board: Board, useful: Sequence[Backer]) -> Iterator[Fault]:
    screws = piece_board.screws
    held = [backer for backer in useful if any(screw.backer == backer.id for screw in screws)]
    if not held:
        yield fault(
            "fragment-held", placed.where, f"{name(piece_board)} hangs on no backer that holds another fragment"
        )
        return
    middle = (piece_board.outline.bounds[1] + piece_board.outline.bounds[3]) / 2
    places = sorted(_centre(backer, middle) for backer in held)
    longest = evidence.tile.longest_bay + BAY_PLAY
    for one, other in itertools.pairwise(places):
        if exceeds(other - one, longest):
            text = f"{name(piece_board)} has a bay of {number(other - one)}; the tile has {number(longest - BAY_PLAY)}"
            yield fault("bay", placed.where, text)
    most = max(evidence.limits.longest_overhang, evidence.tile.overhang)
    starts, ends = zip(*(_reach(backer, piece_board) for backer in held), strict=True)
    for past in (min(starts) - piece_board.u[0], piece_board.u[1] - max(ends)):
        if exceeds(past, most):
            text = f"{name(piece_board)} ends {number(past)} past its last backer; at most {number(most)}"
            yield fault("overhang", placed.where, text)


def _centre(backer: Backer, v: float) -> float:
    """The u of a backer's centre line at v."""
    (u0, v0), (u1, v1) = backer.line[0], backer.line[-1]
    return u0 if v0 == v1 else u0 + (u1 - u0) * (v - v0) / (v1 - v0)


def _reach(backer: Backer, piece_board: Board) -> tuple[float, float]:
    """From where to where a backer lies under a fragment, along the slats."""
    under = board(backer.line, backer.width).intersection(piece_board.outline)
    if under.is_empty:
        return (float("inf"), float("-inf"))
    u0, _, u1, _ = under.bounds
    return (u0, u1)
