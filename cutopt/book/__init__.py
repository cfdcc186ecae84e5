"""The cut book: pages, lists and a summary made of a plan file. Pure functions; nothing prints or writes."""

from cutopt.book.cutlist import cuts_csv
from cutopt.book.drawingfiles import drawing_files
from cutopt.book.files import book_files
from cutopt.book.page import html_page
from cutopt.book.showing import contents, shown
from cutopt.book.terminal import summary

__all__ = ["book_files", "contents", "cuts_csv", "drawing_files", "html_page", "shown", "summary"]
