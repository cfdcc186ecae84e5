"""The rules as the plan file states them, as far as the check needs them. Lengths in millimetres."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, fields

from cutopt.checks.finding import Fault, fault
from cutopt.planfile import Plan


@dataclass(frozen=True, kw_only=True, slots=True)
class Limits:
    """One number for each rule that is checked; names as in the plan file."""

    thinnest_strip: float
    thinnest_across: float
    infill_least: float
    dropped_gap: float
    short_fragment: float
    screw_clearance: float
    screw_edge: float  # diameters
    screw_end: float  # diameters
    kept_screw_edge: float
    screw_hole_clear: float
    old_hole_clear: float
    hole_wood: float
    fragment_normal: float
    fragment_least: float
    longest_overhang: float
    shaved_least: float
    spare_backers: float  # count
    bearing_least: float
    face_past_bearing: float
    wall_face_past_bearing: float
    backer_past_pad: float
    pad_past_pin: float
    end_grain_angle: float  # degrees
    widest_rip: float
    jigsaw_reach: float
    breakage_whole: float  # percent
    breakage_cut: float  # percent
    breakage_least: float  # count
    tiles_a_pack: float  # count
    sealer_coverage: float  # square metres a litre
    coats: float  # count
    coat_coverage: float  # square metres a litre
    disc_coverage: float  # square metres
    blade_cuts: float  # count
    jigsaw_blade_cuts: float  # count
    dabs_a_support: float  # count
    dabs_a_cartridge: float  # count
    rate_mark: float  # minutes, as all rates
    rate_screw_out: float
    rate_screw_in: float
    rate_screw_new: float
    rate_backer: float
    rate_share: float
    rate_setup: float
    rate_table_saw: float
    rate_guided_saw: float
    rate_jigsaw: float
    rate_hole: float
    rate_seal: float
    rate_label: float
    rate_lay_whole: float
    rate_lay_cut: float


MOST_SAID = 60  # characters of a value
PAIRS = ("wall_gap", "post_gap", "flush_gap")  # least, most


def missing_rules(plan: Plan) -> Iterator[Fault]:
    """Rules that the check needs and the plan does not state as a number, or gaps as a least and a most."""
    for name in PAIRS:
        pair = plan.rules.get(name)
        if not isinstance(pair, list | tuple) or len(pair) != 2 or not all(_plain(one) for one in pair):
            yield fault("rules", f"rules.{name}", f"is {_said(pair)}; a least and a most are meant, 0 or more")
        elif pair[0] > pair[1]:
            yield fault("rules", f"rules.{name}", f"is {_said(pair)}; the least does not exceed the most")
    for field in fields(Limits):
        value = plan.rules.get(field.name)
        if not _plain(value):
            yield fault("rules", f"rules.{field.name}", f"is {_said(value)}; the check needs a number, 0 or more")


def _plain(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and 0 <= value < math.inf


def _said(value: object) -> str:
    """A value of any kind for a text, shortened."""
    try:
        text = repr(value)
    except ValueError:  # Python prints no whole number of some thousand digits
        return "a number of very many digits"
    return text if len(text) <= MOST_SAID else f"{text[:MOST_SAID]} …"


def read_limits(plan: Plan) -> Limits:
    """The limits of a plan whose rules are all there."""
    return Limits(**{field.name: float(plan.rules[field.name]) for field in fields(Limits)})
