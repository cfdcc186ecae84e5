"""What lies where: each area's drawings, its supports, the laying order, and what stays open."""

from __future__ import annotations

from collections.abc import Sequence

from cutopt.book.drawings.drawing import Drawing
from cutopt.book.pdf import fonts
from cutopt.book.pdf.blocks import NOTE, Block, block, cells, figure, space, text, ticked
from cutopt.book.pdf.direction import isolated
from cutopt.book.pdf.pages import GAP, Flow
from cutopt.book.pdf.typeset import Run, run
from cutopt.book.words import printed
from cutopt.book.words.areaparts import AreaPart
from cutopt.book.words.contents import Turn, open_lines
from cutopt.planfile.model import Area, Plan

LARGEST = 1.2  # of the sheet: a small area is not blown up beyond that
TURNS = 3  # columns of the laying order


def area_title(area: Area) -> str:
    return f"Plan: {isolated(printed.short(area.name, 60))}"


def site_plan(flow: Flow, part: AreaPart, key: str) -> None:
    """The area's plan on a page of its own, its sheets each on one, then its supports."""
    area = part.area
    heading = [run(f"Plan: {isolated(area.name)}", bold=True)]
    if area.count > 1:
        heading += [run("  "), run(f"{area.count} alike", flag=True)]
    flow.section(area_title(area), key, heading)
    caption = block(text(_caption(part), flow.width, NOTE), space(2.0))
    flow.add(caption)
    for drawing in part.drawings:
        _whole(flow, drawing)
    if not part.supports:
        return
    flow.heading(f"Supports: {isolated(printed.short(area.name, 60))}", f"{key}-supports", 1, need=120.0)
    words = (
        f"{part.counts}. A whole one where four tiles meet; along a wall halved, in a corner quartered; trimmed where "
        "more has to go. Number and shape, then the centre: along the start wall | away from it, from the start corner."
    )
    flow.add(block(text([run(words)], flow.width, NOTE), space(2.0)))
    for drawing in part.supports:
        _whole(flow, drawing)
    for one in part.places:
        flow.heading(one.shape.capitalize(), "", 1, need=15.0)
        runs = [[run(name, bold=True), run(f"  {place}")] for name, place in one.places]
        widest = max(sum(fonts.width(part.words, NOTE, part.bold) for part in each) for each in runs)
        columns = max(1, int((flow.width + GAP) / (widest + 0.5 + GAP)))
        flow.spread([block(text(each, flow.column(columns), NOTE)) for each in runs], columns)


def _caption(part: AreaPart) -> list[Run]:
    words = (
        "Seen from above. Bold: pieces. Small: turn in the laying order. Along the rim: rows away from the start wall, "
        f"places along it. {part.slats}"
    )
    posts = ", ".join(isolated(printed.short(post.name, 60)) for post in part.area.posts)
    return [run(words.rstrip()), *([run(f" Posts and drains: {posts}.")] if posts else [])]


def _whole(flow: Flow, drawing: Drawing) -> None:
    """As large as the page lets it be, below what is on it where it keeps its size there, else on the next one."""
    row = figure(drawing, flow.width, flow.room, LARGEST)
    best = figure(drawing, flow.width, flow.paper.high, LARGEST)
    flow.put(row if row.height > 0.9 * best.height else best)


def laying_order(flow: Flow, parts: Sequence[AreaPart], key: str) -> None:
    """Each area's cells in their order, with boxes to tick."""
    flow.section("Laying order", key)
    for part in parts:
        name = printed.short(part.area.name, 60)
        flow.heading(name, "", 1, [run(isolated(name), bold=True)])
        flow.spread([_turn(turn, flow.column(TURNS)) for turn in part.turns], TURNS)


def _turn(turn: Turn, wide: float) -> Block:
    words = turn.words + "".join(f" · {note}" for note in turn.notes)
    return ticked(block(text([run(f"{turn.orders}:", bold=True), run(f" {words}")], wide - 6.0), space(1.2)))


def stays_open(plan: Plan, flow: Flow, key: str) -> None:
    """Every part that stays open, by its letter on the plan."""
    flow.section("What stays open", key, need=60.0)
    found = open_lines(plan)
    if not found:
        flow.add(block(text([run("Nothing.")], flow.width)))
    for line in found:
        where = f"{isolated(printed.short(line.part.area, 40))}, cell {line.part.cell.order}, about {line.size}"
        why = f"{line.part.left.why} ({line.part.left.rule})"
        columns = [(12.0, [run(line.part.letter, bold=True)]), (70.0, [run(where)]), (flow.width - 82.0, [run(why)])]
        flow.add(cells(columns))
