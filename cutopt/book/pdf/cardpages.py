"""How the cards go on pages: narrow ones in two columns, in their order, down the first and then the second."""

from __future__ import annotations

from collections.abc import Sequence

from cutopt.book.pdf.blocks import Block, Row, block, column_width, fill, side_by_side, space
from cutopt.book.pdf.cardparts import APART, tower
from cutopt.book.pdf.pages import Flow
from cutopt.book.pdf.tilecards import COLUMNS, narrow, wide
from cutopt.book.words.contents import Card


def cards_pages(flow: Flow, cards: Sequence[Card], key: str) -> None:
    """All cards in the order of their first steps."""
    flow.begin("The tiles to cut", key)
    shelf = _Shelf(flow)
    for card in cards:
        panel = narrow(card, flow.paper)
        if panel is None:
            shelf.end()
            _put(flow, card, wide(card, flow.paper))
        else:
            shelf.add(card, panel)
    shelf.end()


def _put(flow: Flow, card: Card, panels: Sequence[Row]) -> None:
    """A card across the page, below what is on it if there is room."""
    for n, panel in enumerate(panels):
        flow.put(panel)
        if n == 0:
            _mark(flow, card, panel.height)
        flow.put(space(min(APART, flow.room)))


def _mark(flow: Flow, card: Card, back: float) -> None:
    title = f"{card.source.id}: {', '.join(line.piece.id for line in card.pieces)}"
    flow.mark(title, f"card-{card.source.id}", 1, back=back)


class _Shelf:
    """Narrow cards that are to share a page."""

    def __init__(self, flow: Flow) -> None:
        self._flow = flow
        self._cards: list[Card] = []
        self._blocks: list[Block] = []  # each with the space below it

    def add(self, card: Card, panel: Row) -> None:
        """One more card: on this page if it has room, else on the next."""
        one = block(panel, space(APART))
        if not self._room_for(one):
            self.end()
            if not self._room_for(one):
                self._flow.page()
        self._cards.append(card)
        self._blocks.append(one)

    def end(self) -> None:
        """Put what has been added, columns of like height."""
        if not self._blocks:
            return
        flow = self._flow
        filled = fill(self._blocks, COLUMNS, flow.room + APART)
        step = column_width(flow.width, COLUMNS, APART) + APART
        row = side_by_side([(n * step, tower(column)) for n, column in enumerate(filled.columns)])
        high = min(row.height, flow.room)  # the space below the last card may reach past the page's end
        flow.put(Row(height=high, paint=row.paint))
        left = iter(self._cards)
        for column in filled.columns:
            down = 0.0
            for one in column:
                _mark(flow, next(left), high - down)
                down += one.height
        self._cards, self._blocks = [], []

    def _room_for(self, one: Block) -> bool:
        return not fill([*self._blocks, one], COLUMNS, self._flow.room + APART).rest
