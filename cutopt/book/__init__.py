"""The cut book: pages, lists and a summary made of a plan file. Pure functions; nothing prints or writes."""

from cutopt.book.cutlist import cuts_csv
from cutopt.book.page import html_page
from cutopt.book.showing import contents, shown
from cutopt.book.terminal import summary

__all__ = ["contents", "cuts_csv", "html_page", "shown", "summary"]
