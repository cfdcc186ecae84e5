"""What the wood of a tile weighs."""

from __future__ import annotations

from cutopt.tile import Tile

TICKS_A_METRE = 320_000


def weight_per_m2(tile: Tile) -> float:
    """Kilograms of wood in a square metre of tiles, joints not counted: slats and backers at the tile's density.

    Screws, supports and water in the wood come on top.
    """
    slats = sum(high - low for low, high in (slat.v for slat in tile.slats)) * tile.length * tile.slat_thickness
    backers = sum((b.v[1] - b.v[0]) * b.width for b in tile.backers) * tile.backer_thickness
    return (slats + backers) * tile.density / (tile.length * tile.width * TICKS_A_METRE)
