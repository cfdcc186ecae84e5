"""The last pages: what to buy, the warnings, what the marks mean."""

from __future__ import annotations

from cutopt.book.drawings.legend import Entry, legend
from cutopt.book.pdf.blocks import NOTE, Block, Row, block, cells, side_by_side, space, stack, text, ticked
from cutopt.book.pdf.ink import Ink
from cutopt.book.pdf.pages import Flow
from cutopt.book.pdf.rendering import draw, size_of
from cutopt.book.pdf.typeset import run
from cutopt.book.words import printed
from cutopt.book.words.restson import money_lines, weight_line
from cutopt.planfile.model import Plan


def to_buy(plan: Plan, flow: Flow, key: str) -> None:
    """The shopping list, with boxes to tick."""
    flow.section("To buy", key, need=60.0)
    wide = flow.width - 6.0
    for purchase in plan.buy:
        amount = printed.amount(purchase.count, purchase.unit)
        columns = [
            (28.0, [run(amount, bold=True)]),
            (60.0, [run(purchase.item)]),
            (wide - 88.0, [run(purchase.why)]),
        ]
        flow.add(ticked(cells(columns)))
    for title, lines in (("What the money rests on", money_lines(plan)), ("Weight", [weight_line(plan)])):
        if any(lines):
            flow.add(block(space(3.0), text([run(title, bold=True)], flow.width), space(1.5)))
            for words in lines:
                flow.add(block(text([run(words)], flow.width), space(1.5)))


def warnings(plan: Plan, flow: Flow, key: str) -> None:
    flow.section("Warnings", key, need=60.0)
    for words in plan.warnings or ("None.",):
        flow.add(block(text([run(words)], flow.width), space(1.5)))


def marks(flow: Flow, key: str) -> None:
    """The legend in two columns."""
    flow.section("Legend", key)
    flow.spread([_mark(entry, flow.column(2)) for entry in legend()], 2)
    words = "Line types after ISO 128, dimensions after ISO 129-1, colours of Okabe and Ito (2008). "
    flow.add(block(space(3.0), text([run(words + "Nothing is told by colour alone.")], flow.width, NOTE)))


def _mark(entry: Entry, width: float) -> Block:
    wide, high = size_of(entry.drawing)

    def paint(ink: Ink, left: float, top: float) -> None:
        draw(ink, entry.drawing, left, top)

    words = stack(text([run(entry.words)], width - wide - 3.0, NOTE))
    drop = max(0.0, (high - words.height) / 2)
    beside = stack([space(drop), words])
    return block(side_by_side([(0.0, Row(height=high, paint=paint)), (wide + 3.0, beside)]), space(1.5))
