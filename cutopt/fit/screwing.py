"""Where the screws of a tile are: in each slat, in each backer, at each crossing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from cutopt.tile import Point, Screw, Tile


@dataclass(frozen=True, kw_only=True, slots=True)
class Screwing:
    """A tile's screws in each slat and in each backer, and at each crossing of a backer and a slat."""

    of_slat: Mapping[int, Sequence[Point]]
    of_backer: Mapping[int, Sequence[Point]]
    at: Mapping[tuple[int, int], Sequence[Screw]]


@lru_cache(maxsize=64)
def screwing_of(tile: Tile) -> Screwing:
    """Worked out once for all pieces of a tile."""
    at: dict[tuple[int, int], list[Screw]] = {}
    for screw in tile.screws:
        at.setdefault((screw.backer, screw.slat), []).append(screw)
    return Screwing(
        of_slat={slat.id: [s.at for s in tile.screws if s.slat == slat.id] for slat in tile.slats},
        of_backer={backer.id: [s.at for s in tile.screws if s.backer == backer.id] for backer in tile.backers},
        at=at,
    )
