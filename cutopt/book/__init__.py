"""The cut book: pages, lists and a summary made of a plan file. Pure functions; nothing prints or writes."""

from cutopt.book.drawings.drawingfiles import drawing_files
from cutopt.book.files import book_files
from cutopt.book.lists.cutlist import cuts_csv
from cutopt.book.page.html import html_page
from cutopt.book.terminal.showing import contents, shown
from cutopt.book.terminal.summary import summary

__all__ = ["book_files", "contents", "cuts_csv", "drawing_files", "html_page", "shown", "summary"]
