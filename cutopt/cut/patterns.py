"""A pattern: places on one tile, with its balance of backers and its minutes."""

from __future__ import annotations

from collections.abc import Sequence

from cutopt.cut.records import Pattern, Place
from cutopt.cut.saws import Saws
from cutopt.cut.wood import spare_wood
from cutopt.fit import Carpenter
from cutopt.rules import Rules


def pattern_of(places: Sequence[Place], carpenter: Carpenter, saws: Saws) -> Pattern:
    """The pattern of these places: its balance of backers, and its minutes at bench, drill and saw."""
    had = [high - low for backer in carpenter.tile.backers for low, high in spare_wood(places, backer)]
    return Pattern(
        places=tuple(places),
        needs=tuple(sorted((length for place in places for length in place.fit.needs), reverse=True)),
        had=tuple(sorted(had, reverse=True)),
        minutes=sum(minutes_of(place, saws.rules) for place in places),
    )


def minutes_of(place: Place, rules: Rules) -> float:
    """Minutes of a place at bench, drill and saw."""
    cuts = len(place.shape.chords) * rules.rate_table_saw + len(place.shape.notches) * rules.rate_jigsaw
    return place.fit.minutes + cuts
