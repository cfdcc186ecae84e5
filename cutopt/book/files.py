"""The files of the book: the page, the PDF and the lists."""

from __future__ import annotations

from cutopt.book.cutlist import cuts_csv
from cutopt.book.lists import hardware_csv, pieces_csv, shopping_csv
from cutopt.book.page import html_page
from cutopt.book.pdf import pdf_book
from cutopt.planfile.model import Plan


def book_files(plan: Plan) -> dict[str, bytes]:
    """Name to contents, in the order of `BOOK_FILES`: the same plan gives the same bytes."""
    texts = {
        "cutbook.html": html_page(plan),
        "cuts.csv": cuts_csv(plan),
        "pieces.csv": pieces_csv(plan),
        "hardware.csv": hardware_csv(plan),
        "shopping.csv": shopping_csv(plan),
    }
    made = {"cutbook.pdf": pdf_book(plan), **{name: text.encode() for name, text in texts.items()}}
    return {name: made[name] for name in BOOK_FILES}


BOOK_FILES = ("cutbook.html", "cutbook.pdf", "cuts.csv", "pieces.csv", "hardware.csv", "shopping.csv")
