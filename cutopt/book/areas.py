"""Each area with what of the plan is in it: its drawings and lists need no more, and walk over all they are given."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from cutopt.book.drawings.siteplan import OpenPart, open_parts
from cutopt.planfile.model import Area, AreaSupport, Piece, Plan


@dataclass(frozen=True, kw_only=True, slots=True)
class InArea:
    """An area, the plan with the pieces and supports of this area alone, and its parts that stay open."""

    area: Area
    plan: Plan
    opens: tuple[OpenPart, ...]


def by_area(plan: Plan) -> tuple[InArea, ...]:
    """All areas in their order."""
    pieces: dict[str, list[Piece]] = defaultdict(list)
    supports: dict[str, list[AreaSupport]] = defaultdict(list)
    opens: dict[str, list[OpenPart]] = defaultdict(list)
    for piece in plan.pieces:
        pieces[piece.area].append(piece)
    for support in plan.supports:
        supports[support.area].append(support)
    for part in open_parts(plan):
        opens[part.area].append(part)
    return tuple(
        InArea(
            area=area,
            plan=plan.model_copy(update={"pieces": tuple(pieces[area.name]), "supports": tuple(supports[area.name])}),
            opens=tuple(opens[area.name]),
        )
        for area in plan.areas
    )
