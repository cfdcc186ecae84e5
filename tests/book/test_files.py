"""The book's files: the same bytes whether or not the PDF is made in a process of its own, also where that one dies."""

from __future__ import annotations

import os

import pytest

import cutopt.book.files
from cutopt.book import book_files
from cutopt.book.page.html import html_page
from cutopt.book.pdf import pdf_book
from cutopt.book.words.contents import cards
from tests.book.sample import sample_plan


def test_the_files_are_those_of_their_makers() -> None:
    plan = sample_plan()
    made = book_files(plan)
    assert tuple(made) == cutopt.book.files.BOOK_FILES
    assert made["cutbook.html"].decode() == html_page(plan)
    assert made["cutbook.pdf"] == pdf_book(plan) == pdf_book(plan, cards(plan))


def test_a_process_of_its_own_gives_the_same_bytes(monkeypatch: pytest.MonkeyPatch) -> None:
    plan = sample_plan()
    alone = book_files(plan)
    monkeypatch.setattr(cutopt.book.files, "MANY", 1)
    assert book_files(plan) == alone


def test_where_that_process_dies_its_work_is_done_here(monkeypatch: pytest.MonkeyPatch) -> None:
    plan, here = sample_plan(), os.getpid()
    alone = book_files(plan)

    def dying(*given: object) -> bytes:
        if os.getpid() != here:
            os._exit(1)
        return b"made here"

    monkeypatch.setattr(cutopt.book.files, "MANY", 1)
    monkeypatch.setattr(cutopt.book.files, "_pdf", dying)
    assert book_files(plan) == alone | {"cutbook.pdf": b"made here"}
