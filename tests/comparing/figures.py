"""Figures as a plan would give them, only those named set."""

from __future__ import annotations

from cutopt.comparing.records import Figures

NOTHING = Figures(
    tiles=0,
    whole=0,
    cut=0,
    cost=0.0,
    minutes=0.0,
    pieces=0,
    setups=0,
    holes_drilled=0,
    screws_moved=0,
    spare_backers=0,
    offcuts_kept=0,
    offcut_area=0.0,
    open_parts=0,
    open_area=0.0,
    proven=True,
)


def figures(**named: float) -> Figures:
    """Figures of nothing but what is named."""
    return Figures.model_validate({**NOTHING.model_dump(), **named})
