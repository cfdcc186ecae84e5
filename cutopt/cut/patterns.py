"""A pattern: places on one tile, with its balance of backers and its minutes."""

from __future__ import annotations

from collections.abc import Sequence

from cutopt.cut.records import Pattern, Place
from cutopt.cut.saws import Saws
from cutopt.cut.wood import spare_wood
from cutopt.lay.records import Shape
from cutopt.rules import Rules
from cutopt.tile import Tile

AWAY = 0.001  # minutes: of places that take the same work, the one as in the cell


def pattern_of(places: Sequence[Place], wood: Tile, saws: Saws) -> Pattern:
    """The pattern of these places on a tile: its balance of backers, and its minutes at bench, drill and saw."""
    had = [high - low for backer in wood.backers for low, high in spare_wood(places, backer)]
    return Pattern(
        places=tuple(places),
        needs=tuple(sorted((length for place in places for length in place.fit.needs), reverse=True)),
        had=tuple(sorted(had, reverse=True)),
        minutes=sum(minutes_of(place, saws.rules) for place in places),
    )


def minutes_of(place: Place, rules: Rules) -> float:
    """Minutes of a place at bench, drill and saw, and a moment for one that does not lie as in its cell."""
    moment = AWAY if place.half_turn or place.shift != (0, 0) else 0.0
    return place.fit.minutes + saw_minutes(place.shape, rules) + moment


def saw_minutes(shape: Shape, rules: Rules) -> float:
    """Minutes at the saw for a shape as it lies on its source."""
    return len(shape.chords) * rules.rate_table_saw + len(shape.notches) * rules.rate_jigsaw


def shares_held(places: Sequence[Place], wood: Tile) -> bool:
    """Whether slats that share can be screwed down before the cut that runs through them.

    They lose all their screws, so they want a backer that stays, or one that no piece keeps and that is hung first. A
    tile of its own always has one.
    """
    kept = {backer for place in places for backer in place.fit.kept}
    if len(places) == 1 or any(backer.id not in kept for backer in wood.backers):
        return True
    for place in places:
        held = {
            place.fit.fragments[drive.fragment].slat
            for seat, drives in zip(place.fit.seats, place.fit.drives, strict=True)
            for drive in drives
            if seat.backer is not None
        }
        share = place.fit.share
        if share is not None and not {share.inner.id, share.outer.id} <= held:
            return False
    return True
