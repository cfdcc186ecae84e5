"""The files of the book: the page, the PDF and the lists."""

from __future__ import annotations

import gc
import multiprocessing
import pickle
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, TypeVar

from cutopt.book.lists.cutlist import cuts_csv
from cutopt.book.lists.lists import hardware_csv, pieces_csv, shopping_csv
from cutopt.book.page.html import html_page
from cutopt.book.words.areaparts import AreaPart, area_parts
from cutopt.book.words.contents import Card, cards, in_order
from cutopt.planfile.model import Plan

if TYPE_CHECKING:
    from cutopt.book.pdf.pages import PaperName

T = TypeVar("T")

BOOK_FILES = ("cutbook.html", "cutbook.pdf", "cuts.csv", "pieces.csv", "hardware.csv", "shopping.csv")
MANY = 200  # tiles to cut: for fewer a process of its own is not worth its start


def book_files(plan: Plan, paper: PaperName = "A4") -> dict[str, bytes]:
    """Name to contents, in the order of `BOOK_FILES`: the same plan gives the same bytes. `paper` is the PDF's."""
    aside = len(plan.sources) >= MANY
    with _no_circles():
        areas, tiles = area_parts(plan), _cards(plan, aside=aside)  # drawn once for page and PDF
        pdf = _begun(lambda: _pdf(plan, tiles, areas, paper), aside=aside)
        texts = {
            "cutbook.html": html_page(plan, tiles, areas),
            "cuts.csv": cuts_csv(plan),
            "pieces.csv": pieces_csv(plan),
            "hardware.csv": hardware_csv(plan),
            "shopping.csv": shopping_csv(plan),
        }
        made = {"cutbook.pdf": pdf(), **{name: text.encode() for name, text in texts.items()}}
    return {name: made[name] for name in BOOK_FILES}


@contextmanager
def _no_circles() -> Iterator[None]:
    """Within, memory is not searched for records that hold each other: a book has millions, and none that do."""
    before = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if before:
            gc.enable()


def _cards(plan: Plan, *, aside: bool) -> tuple[Card, ...]:
    """All cards; the second half of many in a process of its own."""
    if not aside:
        return cards(plan)
    order = in_order(plan)
    half = len(order) // 2
    later = _begun(lambda: cards(plan, order[half:]), aside=True)
    return (*cards(plan, order[:half]), *later())


def _pdf(plan: Plan, tiles: Sequence[Card], areas: Sequence[AreaPart], paper: PaperName) -> bytes:
    from cutopt.book.pdf import pdf_book  # slow to load

    return pdf_book(plan, tiles, areas, paper=paper)


def _begun(work: Callable[[], T], *, aside: bool) -> Callable[[], T]:
    """Work that is begun, `aside` in a process of its own where the system can copy this one, and how its result is
    had. A process that ends without one has its work done here.
    """
    if not aside or "fork" not in multiprocessing.get_all_start_methods():
        return work
    context = multiprocessing.get_context("fork")
    here, there = context.Pipe(duplex=False)
    process = context.Process(
        target=lambda: there.send_bytes(pickle.dumps(work(), pickle.HIGHEST_PROTOCOL)), daemon=True
    )
    process.start()
    there.close()

    def result() -> T:
        try:
            found: T = pickle.loads(here.recv_bytes())
        except EOFError:
            return work()
        finally:
            process.join()
            here.close()
        return found

    return result
