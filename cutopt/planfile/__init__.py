"""The plan file: its records and how they are read and written."""

from cutopt.planfile.model import Plan
from cutopt.planfile.reading import dump, load

__all__ = ["Plan", "dump", "load"]
