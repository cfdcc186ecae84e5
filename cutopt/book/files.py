"""The files of the book: the page, the PDF and the lists."""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable, Sequence

from cutopt.book.lists.cutlist import cuts_csv
from cutopt.book.lists.lists import hardware_csv, pieces_csv, shopping_csv
from cutopt.book.page.html import html_page
from cutopt.book.words.contents import Card, cards
from cutopt.planfile.model import Plan

BOOK_FILES = ("cutbook.html", "cutbook.pdf", "cuts.csv", "pieces.csv", "hardware.csv", "shopping.csv")
MANY = 200  # tiles to cut: for fewer a process of its own is not worth its start


def book_files(plan: Plan) -> dict[str, bytes]:
    """Name to contents, in the order of `BOOK_FILES`: the same plan gives the same bytes."""
    tiles = cards(plan)  # drawn once for page and PDF
    pdf = _begun(lambda: _pdf(plan, tiles), aside=len(tiles) >= MANY)
    texts = {
        "cutbook.html": html_page(plan, tiles),
        "cuts.csv": cuts_csv(plan),
        "pieces.csv": pieces_csv(plan),
        "hardware.csv": hardware_csv(plan),
        "shopping.csv": shopping_csv(plan),
    }
    made = {"cutbook.pdf": pdf(), **{name: text.encode() for name, text in texts.items()}}
    return {name: made[name] for name in BOOK_FILES}


def _pdf(plan: Plan, tiles: Sequence[Card]) -> bytes:
    from cutopt.book.pdf import pdf_book  # slow to load

    return pdf_book(plan, tiles)


def _begun(work: Callable[[], bytes], *, aside: bool) -> Callable[[], bytes]:
    """Work that is begun, `aside` in a process of its own where the system can copy this one, and how its result is
    had. A process that ends without one has its work done here.
    """
    if not aside or "fork" not in multiprocessing.get_all_start_methods():
        return work
    context = multiprocessing.get_context("fork")
    here, there = context.Pipe(duplex=False)
    process = context.Process(target=lambda: there.send_bytes(work()), daemon=True)
    process.start()
    there.close()

    def result() -> bytes:
        try:
            return here.recv_bytes()
        except EOFError:
            return work()
        finally:
            process.join()
            here.close()

    return result
