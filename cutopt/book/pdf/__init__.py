"""The cut book as a PDF for paper: the same drawings and words as the page, laid out for A4 or Letter."""

from cutopt.book.pdf.book import pdf_book

__all__ = ["pdf_book"]
