"""How the cells lie: the pattern of turns, the order, what is liftable, and the frame that all of it is drawn in."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from cutopt.checks.evidence import Evidence, cell_to_layout
from cutopt.checks.finding import Fault, fault
from cutopt.checks.shapes import TOLERANCE, number, overlap, polygon, same
from cutopt.planfile.model import Area, Cell

# whether a pattern turns a cell, for tiles that lie along the start wall otherwise; two-and-one by where it begins
PATTERNS: tuple[Callable[[Cell], bool], ...] = (
    lambda cell: False,
    lambda cell: (cell.row + cell.col) % 2 == 1,
    lambda cell: (cell.row + cell.col) % 3 == 2,
    lambda cell: (cell.row + cell.col) % 3 == 1,
    lambda cell: (cell.row + cell.col) % 3 == 0,
)


def laying(evidence: Evidence) -> Iterator[Fault]:
    """All faults of how the cells lie."""
    for area in evidence.plan.areas:
        yield from _frame(area)
        yield from _pattern(area)
        yield from _order(area)
        yield from _liftable(evidence, area)


def _frame(area: Area) -> Iterator[Fault]:
    """x runs along the start edge, from its corner at the origin; gaps have a least and a most."""
    if not -360 <= area.frame.turn <= 360:
        text = f"is turned by {area.frame.turn:g} degrees; -360 to 360 are meant"
        yield fault("frame", f"area {area.name}", text)
    gaps = [(f"{edge.kind} {n}", edge.gap) for n, edge in enumerate(area.edges)]
    for name, (least, most) in [*gaps, *((f"post {post.name}", post.gap) for post in area.posts)]:
        if not 0 <= least <= most:
            text = f"has a gap of {number(least)} to {number(most)}; 0 or more, the least first, is meant"
            yield fault("gap", f"{name} of {area.name}", text)
    ends = zip(area.outline, [*area.outline[1:], *area.outline[:1]], strict=True)
    if not any(same(a[0], 0) and same(a[1], 0) and same(b[1], 0) and b[0] > 0 for a, b in ends):
        yield fault("frame", f"area {area.name}", "no edge runs from the origin along x, as the start edge does")


def _pattern(area: Area) -> Iterator[Fault]:
    """The turns are those of one of the patterns, for one way of the tiles that it does not turn."""
    fewest: list[Cell] | None = None
    for turns in PATTERNS:
        for first in (False, True):
            wrong = [cell for cell in area.cells if (turns(cell) != first) is not cell.quarter_turn]
            fewest = wrong if fewest is None or len(wrong) < len(fewest) else fewest
    for cell in fewest or []:
        text = "is turned the wrong way for its pattern"
        yield fault("pattern", f"{area.name} cell ({cell.row}, {cell.col})", text)


def _order(area: Area) -> Iterator[Fault]:
    """Cells with wood are laid first, 1, 2, 3 and so on; those over drains last of them."""
    laid = [cell for cell in area.cells if cell.kind != "left"]
    if sorted(cell.order for cell in laid) != list(range(1, len(laid) + 1)):
        yield fault("laying-order", f"area {area.name}", f"its {len(laid)} laid cells are not numbered from 1 on")
    fixed = max((cell.order for cell in laid if not cell.liftable), default=0)
    early = [cell for cell in laid if cell.liftable and cell.order < fixed]
    for cell in early:
        text = f"covers a drain and is laid {cell.order}th, before others that stay down"
        yield fault("laying-order", f"{area.name} cell ({cell.row}, {cell.col})", text)


def _liftable(evidence: Evidence, area: Area) -> Iterator[Fault]:
    """What lies over a drain can be lifted, nothing else."""
    drains = [polygon(post.outline) for post in area.posts if post.kind == "drain"]
    for cell in area.cells:
        place = cell_to_layout(evidence.plan, area, cell).shape(evidence.rectangle)
        over = any(overlap(place, drain) for drain in drains)
        touches = over or any(place.distance(drain) <= TOLERANCE for drain in drains)
        if (over and not cell.liftable) or (cell.liftable and not touches):
            text = "covers a drain and is not liftable" if over else "is liftable and covers no drain"
            yield fault("liftable", f"{area.name} cell ({cell.row}, {cell.col})", text)
