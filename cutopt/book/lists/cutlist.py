"""The cut list as CSV: one line a cut."""

from __future__ import annotations

from cutopt.book.drawings.marks import Mark, cut_step, kept_side, marks
from cutopt.book.drawings.sides import SIDE_NAMES
from cutopt.book.lists.spreadsheet import decimal, table
from cutopt.book.words import printed
from cutopt.book.words.contents import Whole
from cutopt.planfile.model import Cut, Plan, Source

DISTANCES = 3  # a straight cut has one, a taper or a notch two; what goes beyond them is on the card


def cuts_csv(plan: Plan) -> str:
    """One line for each cut of each source, in the order of sawing; lines end with CRLF (RFC 4180)."""
    unit = plan.job.show
    head = ["n", "source", "cut", "copies", "pieces", "saw", "face", "step"]
    for n in range(1, DISTANCES + 1):
        head += [f"datum {n}", f"distance {n} mm", f"distance {n} {unit} shown"]
    head += ["more marks", "kept side", "kerf mm", "sum", "falls off"]
    whole = Whole(plan)
    lines = [(whole.about(source), source, cut) for source in plan.sources for cut in source.cuts]
    return table(head, [[str(n), *_line(mine, source, cut)] for n, (mine, source, cut) in enumerate(lines, 1)])


def _line(plan: Plan, source: Source, cut: Cut) -> list[str]:
    step = cut_step(plan, source, cut)
    found = marks(plan, source, cut, step)
    pieces = " ".join(placement.piece for placement in source.placements)
    cells = [source.id, str(cut.n), str(source.uses), pieces, cut.saw.replace("_", " ")]
    cells += [step.face, str(step.n)] if step else ["", ""]
    for n in range(DISTANCES):
        cells += _mark(found[n], plan) if n < len(found) else ["", "", ""]
    more = "; ".join(
        f"{SIDE_NAMES[mark.side]} {printed.with_unit(mark.distance, plan.job.show)}" for mark in found[DISTANCES:]
    )
    if cut.arc is not None:
        more = "; ".join(part for part in (f"radius {printed.with_unit(cut.arc.radius, plan.job.show)}", more) if part)
    cells += [
        more,
        SIDE_NAMES[kept_side(cut)],
        decimal(cut.kerf),
        step.sum if step else "",
        step.falls_off if step else "",
    ]
    return cells


def _mark(mark: Mark, plan: Plan) -> list[str]:
    return [SIDE_NAMES[mark.side], decimal(mark.distance), printed.length(mark.distance, plan.job.show)]
