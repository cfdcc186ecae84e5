"""Which way the slats run, in words: what the layer lays the first tiles by."""

from __future__ import annotations

from cutopt.planfile.model import Area

LONGEST = 3  # cells after which a pattern of turns begins anew
WAYS = {False: "along", True: "across"}


def slat_ways(area: Area) -> str:
    """How the slats of an area's tiles run, from the shortest pattern that all its cells follow."""
    ways = next((found for length in range(1, LONGEST + 1) if (found := _repeated(area, length))), ())
    if len(ways) == 1:
        return f"All slats run {ways[0]} the start wall."
    if not ways:
        return ""
    return f"Slats in row 1, to the start wall: {', '.join(ways)}, and so on; each row begins one tile further on."


def _repeated(area: Area, length: int) -> tuple[str, ...]:
    """The ways of row 1 if turns repeat after so many cells, diagonal by diagonal; nothing if they do not."""
    found: dict[int, bool] = {}
    for cell in area.cells:
        if found.setdefault((cell.row + cell.col) % length, cell.quarter_turn) is not cell.quarter_turn:
            return ()
    return tuple(WAYS[found.get(place, False)] for place in range(length))
