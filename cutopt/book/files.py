"""The files of the book: the page, the PDF and the lists."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import TYPE_CHECKING

from cutopt.aside import Begun, shared
from cutopt.book.lists.cutlist import cuts_csv
from cutopt.book.lists.lists import hardware_csv, pieces_csv, shopping_csv
from cutopt.book.page.html import html_page
from cutopt.book.words.areaparts import AreaPart, area_parts
from cutopt.book.words.contents import Card, cards, in_order
from cutopt.memory import not_searched
from cutopt.planfile.model import Plan

if TYPE_CHECKING:
    from cutopt.book.pdf.pages import PaperName

BOOK_FILES = ("cutbook.html", "cutbook.pdf", "cuts.csv", "pieces.csv", "hardware.csv", "shopping.csv")
MANY = 100  # cards: for fewer a process of its own is not worth its start


def book_files(
    plan: Plan, paper: PaperName = "A4", besides: Mapping[str, Callable[[], str]] | None = None
) -> dict[str, bytes]:
    """Name to contents, in the order of `BOOK_FILES`: the same plan gives the same bytes. `paper` is the PDF's.

    `besides`: further texts, which come first; they are made while the PDF is.
    """
    with not_searched():
        tiles, areas = _drawn(plan)
        makers: dict[str, Callable[[], str]] = {
            **(besides or {}),
            "cutbook.html": lambda: html_page(plan, tiles, areas),
            "cuts.csv": lambda: cuts_csv(plan),
            "pieces.csv": lambda: pieces_csv(plan),
            "hardware.csv": lambda: hardware_csv(plan),
            "shopping.csv": lambda: shopping_csv(plan),
        }
        with Begun(lambda: _pdf(plan, tiles, areas, paper)) as pdf:
            made = {name: make().encode() for name, make in makers.items()}
            made["cutbook.pdf"] = pdf.result()
    return {name: made[name] for name in (*(besides or {}), *BOOK_FILES)}


def _drawn(plan: Plan) -> tuple[tuple[Card, ...], tuple[AreaPart, ...]]:
    """Cards and areas, drawn once for page and PDF: many cards in parts at once, few of them beside the areas."""
    order = in_order(plan)
    if len(order) >= 2 * MANY:
        return tuple(shared(partial(cards, plan), order, least=MANY)), area_parts(plan)
    with Begun(partial(area_parts, plan)) as areas:
        return cards(plan, order), areas.result()


def _pdf(plan: Plan, tiles: Sequence[Card], areas: Sequence[AreaPart], paper: PaperName) -> bytes:
    from cutopt.book.pdf import pdf_book  # slow to load

    return pdf_book(plan, tiles, areas, paper=paper)
