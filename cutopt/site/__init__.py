"""Measures of a site → its outline in the layout frame."""

from cutopt.site.frame import Frame, Site, sited

__all__ = ["Frame", "Site", "sited"]
