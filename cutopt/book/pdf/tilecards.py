"""One card a tile: drawings, hardware, steps, for half a page or a whole one; a long one goes on with its title.

Half the page's width is enough for most: four cards go on a page where they are no higher than half of it, two where
they are no higher than the page. What needs more takes the page's width in two columns, or, where a drawing is wide,
with the drawings above steps in two columns. Of the sizes of type the largest is taken with which a card goes where it
should.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from cutopt.book.pdf.blocks import (
    NOTE,
    Block,
    Row,
    block,
    column_width,
    figure,
    fill,
    parted,
    side_by_side,
    space,
    stack,
    text,
)
from cutopt.book.pdf.cardparts import APART, PAD, TITLE, figures, framed, hardware, head, tower
from cutopt.book.pdf.cardsizes import SIZES, at_least, heads_high
from cutopt.book.pdf.pages import Paper
from cutopt.book.pdf.rendering import size_of
from cutopt.book.pdf.stepblocks import step_blocks
from cutopt.book.pdf.typeset import run
from cutopt.book.words.contents import Card

COLUMNS = 2  # of narrow cards on a page
LARGE = 2  # of them, those that four cards a page are set in
BESIDE = 30.0  # mm: no step is set narrower
OVER, FIRST_OVER = 6.0, 30.0  # mm that steps beside a drawing may reach below it, and the first of them
LEAST = 0.9  # of its own size, a drawing on a narrow card
MOST = 150.0  # mm, a drawing's height in a column
DRAWN = 0.6  # of a page's height, at most, for the drawings

_LayOut = Callable[[Card, float, float, float], tuple[Row, "_Body"]]


@dataclass(frozen=True, kw_only=True, slots=True)
class _Body:
    """What is still to be put on a card's pages."""

    hardware: tuple[Block, ...]
    steps: tuple[Block, ...]

    @property
    def done(self) -> bool:
        return not (self.hardware or self.steps)


def narrow(card: Card, paper: Paper) -> Row | None:
    """The card in half the page's width, in half its height if that can be; None where it would not go there."""
    outer = column_width(paper.wide, COLUMNS, APART)
    width = outer - 2 * PAD
    if any(size_of(drawing)[0] * LEAST > width for drawing in card.drawings):
        return None
    title = heads_high(card, width)
    for most, sizes in (((paper.high - APART) / 2, SIZES[:LARGE]), (paper.high, SIZES)):
        for size in sizes:
            if title + at_least(card, width, size) <= most:  # else it would be laid out in vain
                whole = stack([*head(card, width), tower(_blocks(card, width, size)), space(PAD)])
                if whole.height <= most:
                    return framed(whole, outer, whole.height)
    return None


def _blocks(card: Card, width: float, size: float) -> list[Block]:
    """All but the head in a column: the drawing, the hardware, the steps, the first beside the other face's drawing."""
    found = [block(figure(card.drawings[0], width, MOST), space(1.0)), *hardware(card, width, min(size, NOTE))]
    found += [block(space(1.0))] if card.hardware else []
    done = 0
    for drawing in card.drawings[1:]:
        wide = min(size_of(drawing)[0], width)
        shown, column = figure(drawing, wide, MOST), width - wide - APART
        beside: list[Block] = []
        for one in step_blocks(card, column, size, done) if column > BESIDE else ():
            over = OVER if beside else FIRST_OVER  # the first step beside it saves nearly all of the drawing's height
            if sum(block.height for block in beside) + one.height > shown.height + over:
                break
            beside.append(one)
        done += len(beside)
        found.append(block(side_by_side([(0.0, tower(beside)), (width - wide, shown)])))
    return [*found, *step_blocks(card, width, size, done)]


def wide(card: Card, paper: Paper) -> list[Row]:
    """The card in the page's width: one panel, of half a page if that can be, or one for each page it takes."""
    inner, room = paper.wide - 2 * PAD, paper.high - PAD
    lay_out: _LayOut = _above if card.wide else _columns
    title = heads_high(card, inner)
    for most in ((paper.high - APART) / 2, paper.high):
        for size in SIZES:
            if title + at_least(card, column_width(inner, 2, APART), size) / 2 <= most:
                first, rest = lay_out(card, inner, room, size)
                if rest.done and first.height <= most:
                    return [framed(first, paper.wide, first.height)]
    fewest = len(_panels(card, paper, *lay_out(card, inner, room, SIZES[-1])))
    return next(
        panels for size in SIZES if len(panels := _panels(card, paper, *lay_out(card, inner, room, size))) == fewest
    )


def _panels(card: Card, paper: Paper, first: Row, rest: _Body) -> list[Row]:
    """The first panel, and as many more as there are pages to fill."""
    inner, room = paper.wide - 2 * PAD, paper.high - PAD
    panels = [framed(first, paper.wide, first.height)]
    while not rest.done:
        on, rest = _continued(card, rest, inner, room)
        panels.append(framed(on, paper.wide, on.height))
    return panels


def _above(card: Card, width: float, room: float, size: float) -> tuple[Row, _Body]:
    """Drawings in a row, the hardware under them, then the steps in two columns."""
    top = [*head(card, width), figures(card.drawings, width, room * DRAWN), space(1.0)]
    steps = parted(step_blocks(card, column_width(width, 2, APART), size), room - 40.0)
    table = hardware(card, width, min(size, NOTE))
    return _filled(top, _Body(hardware=tuple(table), steps=tuple(steps)), width, room)


def _columns(card: Card, width: float, room: float, size: float) -> tuple[Row, _Body]:
    """What a narrow card has, down two columns under its head."""
    title, column = head(card, width), column_width(width, 2, APART)
    blocks = parted(_blocks(card, column, size), room - 40.0)
    filled = fill(blocks, 2, room - sum(row.height for row in title) - PAD)
    beside = side_by_side([(0.0, tower(filled.columns[0])), (column + APART, tower(filled.columns[1]))])
    return stack([*title, beside, space(PAD)]), _Body(hardware=(), steps=filled.rest)


def _continued(card: Card, body: _Body, width: float, room: float) -> tuple[Row, _Body]:
    """What did not go on the pages before, under the card's title."""
    title = [run(card.source.id, bold=True), run("  continued")]
    return _filled([space(1.0), *text(title, width, TITLE), space(1.5)], body, width, room)


def _filled(top: Sequence[Row], body: _Body, width: float, room: float) -> tuple[Row, _Body]:
    """Hardware across, then steps in two columns, as much of both as has room under `top`."""
    left = room - sum(row.height for row in top)
    table = fill(body.hardware, 1, left)
    rows = [*top, *(row for one in table.columns[0] for row in one.rows)]
    if table.rest:  # it goes on under its heads
        return stack([*rows, space(PAD)]), _Body(hardware=(body.hardware[0], *table.rest), steps=body.steps)
    gap = 1.5 if body.hardware else 0.0
    steps = fill(body.steps, 2, left - table.height - gap)
    column = column_width(width, 2, APART)
    beside = side_by_side([(0.0, tower(steps.columns[0])), (column + APART, tower(steps.columns[1]))])
    return stack([*rows, space(gap), beside, space(PAD)]), _Body(hardware=(), steps=steps.rest)
