"""The bit for screws that are predrilled, and what its size goes by.

Pilot hole in side grain, NDS 2018, 12.1.5 (withdrawal), as quoted: 90 % of the root diameter where the specific gravity
is above 0.6, else 70 %. Roots: NDS 2018, App. L, Table L3, as quoted. Eurocode 5, EN 1995-1-1, 10.4.5, as quoted, asks
for about 0.7 d, which comes to the same within half a millimetre. No strength is claimed.
"""

from __future__ import annotations

from cutopt.job.records import Job
from cutopt.lengths import TICKS_PER_INCH, TICKS_PER_MM
from cutopt.tile import Tile

ROOTS = {6: 0.113, 7: 0.122, 8: 0.131, 9: 0.142, 10: 0.152, 12: 0.171}  # inches, by gauge
DENSE = 0.6  # specific gravity
DENSE_SHARE, SHARE, OF_DIAMETER = 0.9, 0.7, 0.7
AIR_DRY = 1.12  # mass at 12 % moisture over that of dry wood
SHORT_OF_FACE = 5 * TICKS_PER_MM  # the bit stops before the walking face; common practice, no source


def share(tile: Tile) -> float:
    """The pilot hole over the screw's root."""
    return DENSE_SHARE if tile.density / 1000 / AIR_DRY > DENSE else SHARE


def bit(job: Job) -> int:
    """The bit's diameter, ticks, to the nearest half millimetre or 64th of an inch: bits are sold so."""
    root = ROOTS.get(job.tile.gauge)
    size = root * share(job.tile) * TICKS_PER_INCH if root else OF_DIAMETER * job.tile.screw_diameter
    step = TICKS_PER_MM // 2 if job.show == "mm" else TICKS_PER_INCH // 64
    return max(round(size / step), 1) * step


def collar(tile: Tile) -> int:
    """Where the bit's stop collar is set, ticks: through the backer and most of the slat."""
    return tile.backer_thickness + max(tile.slat_thickness - SHORT_OF_FACE, tile.slat_thickness // 2)


def source(tile: Tile) -> str:
    """What the bit's size goes by, in words."""
    root = ROOTS.get(tile.gauge)
    if root is None:
        return f"#{tile.gauge}: {OF_DIAMETER:.0%} of the diameter (Eurocode 5, 10.4.5, as quoted)"
    return f"#{tile.gauge}: {share(tile):.0%} of its root of {root:g} in (NDS 2018, 12.1.5 and Table L3, as quoted)"
