"""Plain rectangles out of plain sheets, and plain lengths out of bars: guillotine cuts, kerf, no turning."""

from cutopt.packing.order import Order, read_order
from cutopt.packing.packing import packed
from cutopt.packing.records import Packed, PackedSheet, Packing, Part, Saw, Stop
from cutopt.packing.shelving import shelved
from cutopt.packing.trees import Writer

__all__ = ["Order", "Packed", "PackedSheet", "Packing", "Part", "Saw", "Stop", "Writer", "packed", "read_order",
           "shelved"]  # fmt: skip
