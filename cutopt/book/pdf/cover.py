"""The first page: what the book is for, what can hurt, the plan in figures, and where to find what."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from cutopt.book.drawings.styles import BLACK, Style
from cutopt.book.pdf.blocks import BODY, KEY, NOTE, Block, Row, block, cells, space, stack, text
from cutopt.book.pdf.direction import isolated
from cutopt.book.pdf.fonts import POINT, width
from cutopt.book.pdf.ink import Ink
from cutopt.book.pdf.pages import Flow
from cutopt.book.pdf.typeset import clipped, run
from cutopt.book.words import printed
from cutopt.book.words.cautions import CAUTIONS, DEFERS
from cutopt.book.words.wording import figures
from cutopt.planfile.model import Plan

FRAME = Style(stroke=BLACK, width=0.8)
PAD = 3.0  # mm between the frame and its words
LONG_NAME = 60  # letters: longer names are set smaller
LEADER = 1.4  # of the size, in the list of contents


def cover(plan: Plan, flow: Flow, parts: Sequence[tuple[str, str]]) -> None:
    """`parts`: the sections that follow, (key, title) each."""
    flow.page()
    flow.mark("Cut book", "cover", 0)
    unit = "inches" if plan.job.show == "in" else "millimetres"
    size = (24 if len(plan.job.name) <= LONG_NAME else 15) * POINT
    flow.add(
        block(text([run("Cut book", bold=True)], flow.width, KEY)),
        block(text([run(isolated(plan.job.name), bold=True)], flow.width, size), space(1.5)),
        block(
            text(
                [run(f"Lengths in {unit} unless they say otherwise. Tile: {isolated(plan.tile.name)}.")],
                flow.width,
                BODY,
            ),
            space(3.0),
        ),
    )
    flow.add(*_cautions(flow.width))
    flow.heading("In short", "totals", 1)
    for what, how_much in figures(plan):
        flow.add(cells([(42.0, [run(what, bold=True)]), (flow.width - 42.0, [run(how_much)])]))
    if plan.warnings:
        words = f"{printed.plural(len(plan.warnings), 'warning')}: read before sawing"
        flow.add(block(space(2.0), text([run(words, flag=True)], flow.width, KEY)))
    flow.heading("In this book", "", 1, need=2.5 * len(parts) + 5.0)
    wide = flow.column(2)
    flow.spread([block(_entry(key, title, flow.starts, wide)) for key, title in parts], 2)


def _cautions(wide: float) -> list[Block]:
    """In a frame, so that nobody takes them for small print."""
    inner = wide - 2 * PAD
    rows: list[Row] = [space(1.5), *text([run("Before you start", bold=True)], inner, 13 * POINT), space(0.8)]
    for caution in CAUTIONS:
        rows += text([run("• "), run(caution.words), run(f" ({caution.source})")], inner, BODY)
    rows += [space(1.0), *text([run(DEFERS)], inner, NOTE), space(1.5)]
    whole = stack(rows)

    def paint(ink: Ink, left: float, top: float) -> None:
        ink.box(left, top, wide, whole.height, FRAME)
        whole.paint(ink, left + PAD, top)

    return [block(Row(height=whole.height, paint=paint))]


def _entry(key: str, title: str, starts: Mapping[str, int], wide: float) -> Row:
    """A section with the page where it begins, which is known once all pages are laid out."""
    shown = clipped(title, BODY, wide - 14.0)

    def paint(ink: Ink, left: float, top: float) -> None:
        number = str(starts[key])
        ink.text((left + 10.0 - width(number, BODY, True), top - BODY), number, BODY, bold=True)
        ink.text((left + 13.0, top - BODY), shown, BODY)
        ink.link(key, left, top, wide, BODY * LEADER)

    return Row(height=BODY * LEADER, paint=paint)
