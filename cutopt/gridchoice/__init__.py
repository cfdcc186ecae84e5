"""Choose grid starts: work them out in the order of a bound, drop those that cannot win.

A grid start is good only through the cut plan it leads to, so this walks over the starts and calls `lay`, `fit` and
`cut` for each.
"""

from cutopt.gridchoice.alike import alike
from cutopt.gridchoice.choosing import Choice, Chooser, Progress, Report
from cutopt.gridchoice.grids import Grid, worked_out
from cutopt.gridchoice.grouping import grouped

__all__ = ["Choice", "Chooser", "Grid", "Progress", "Report", "alike", "grouped", "worked_out"]
