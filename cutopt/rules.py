"""The rules that a plan keeps: physical ones, gaps, allowances and rates of work.

`shared/rules.toml` has each rule's default, unit, text and source; a job's [rules] table overrides values.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, fields
from functools import cache
from typing import Any, Literal, get_args

from cutopt.errors import BadInput, Mistake
from cutopt.lengths import TICKS_PER_INCH, LengthError, Show, Unit, format_length, mm, parse_length
from cutopt.shipped import shared_text
from cutopt.wording import nearest, shown

RuleUnit = Literal[
    "length",
    "length pair",
    "diameters",
    "degrees",
    "percent",
    "count",
    "square metres",
    "square metres a litre",
    "minutes",
]
RuleValue = int | float | tuple[int, int]

_MORE_THAN_NOUGHT = (  # plans divide by them
    "tiles_a_pack",
    "screws_a_box",
    "sealer_coverage",
    "guide_holes",
    "coat_coverage",
    "disc_coverage",
    "blade_cuts",
    "jigsaw_blade_cuts",
    "dabs_a_cartridge",
)


@dataclass(frozen=True, kw_only=True, slots=True)
class Rules:
    """Every rule as used. Lengths in ticks, (least, most) pairs as tuples, other numbers in the unit named."""

    # gaps, measured at the walking face
    wall_gap: tuple[int, int]
    post_gap: tuple[int, int]
    flush_gap: tuple[int, int]
    # strips
    thinnest_strip: int  # ripped: least extent across the slats
    thinnest_across: int  # crosscut: least extent along the slats, two backers ripped narrower and their set-backs
    infill_least: int  # a piece that closes the way a notch goes to a post: its least extent
    dropped_gap: int  # most gap where a slat fragment too narrow for screws is left out
    # screws
    screw_clearance: int  # near side of the kerf to a screw's centre
    screw_edge: float  # diameters, new screw to a slat's or backer's edge
    screw_end: float  # diameters, new screw to an end
    screw_row: float  # diameters, between screws across the grain
    kept_screw_edge: int  # kept screw to a new edge
    screw_hole_clear: int  # screw's centre to a pin hole's centre
    old_hole_clear: int  # new screw to an old screw hole
    # holes
    hole_wood: int  # wood around a pin hole, from its rim
    # fragments of slats
    fragment_normal: int
    fragment_least: int
    short_fragment: int  # a shorter one may hang on a single backer
    # backers
    longest_overhang: int
    shaved_least: int
    spare_backers: int  # count: most bought for the job
    # standing
    bearing_least: int
    face_past_bearing: int
    wall_face_past_bearing: int
    backer_past_pad: int
    pad_past_pin: int  # beyond a pin's rim
    # cutting
    end_grain_angle: float  # degrees from the slats; a cut nearer to them leaves no end grain to seal
    widest_rip: int  # table saw's fence reach
    jigsaw_reach: int  # longest straight leg that a jigsaw cuts
    overcut: int  # a circular saw stops this far short of an inside corner
    keep_offcut: float  # square metres: least area of an offcut worth racking
    # uncertainty
    tape_fixed: int  # class II tape: +-(a + b L), a
    tape_per_metre: int  # ticks per metre, b
    joint_bias: int  # a joint, adds up over n
    joint_random: int  # a joint, adds up over the root of n
    scribe_spare: tuple[int, int]
    # buying
    breakage_whole: float  # percent
    breakage_cut: float  # percent
    breakage_least: int  # count
    tiles_a_pack: int  # count
    screws_a_box: int  # count
    sealer_coverage: float  # square metres a litre
    guide_holes: int  # count: holes a drilling guide is good for
    coats: int  # count: on the walking face
    coat_coverage: float  # square metres a litre, one coat
    disc_coverage: float  # square metres: what an abrasive disc sands once
    blade_cuts: int  # count: cuts that a circular saw's blade is good for
    jigsaw_blade_cuts: int  # count
    dabs_a_support: int  # count: of adhesive; 0: supports stand loose
    dabs_a_cartridge: int  # count
    # rates, minutes
    rate_mark: float
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


@dataclass(frozen=True, kw_only=True, slots=True)
class RuleLine:
    """A rule as `cutopt rules` prints it: its default as text and the unit of that, its meaning, where it comes from.

    The value of a pair reads "6 to 12"; the unit of a count is empty.
    """

    name: str
    value: str
    unit: str
    text: str
    source: str


@dataclass(frozen=True, kw_only=True, slots=True)
class _Entry:
    """A table of `shared/rules.toml`."""

    name: str
    default: RuleValue
    unit: RuleUnit
    text: str
    source: str


class _WrongValueError(ValueError):
    """A value breaks the rules of its unit: what is allowed, and what to do."""

    def __init__(self, rule: str, remedy: str) -> None:
        self.rule = rule
        self.remedy = remedy
        super().__init__(rule)


def load_rules(overrides: Mapping[str, object] | None = None, *, unit: Unit = "mm", file: str = "") -> Rules:
    """The rules with a job's [rules] table over their defaults; bare numbers for lengths are in `unit`.

    Raises `BadInput` with each mistake: unknown rules, wrong units, values out of range, a least above its most.
    """
    overrides = overrides or {}
    entries = {entry.name: entry for entry in _entries()}
    values: dict[str, Any] = {name: entry.default for name, entry in entries.items()}
    mistakes = []
    for name, value in overrides.items():
        try:
            if name not in entries:
                raise _WrongValueError("is not a rule", nearest(name, entries) or "see `cutopt rules` for their names")
            values[name] = _read(value, entries[name].unit, unit)
            if name in _MORE_THAN_NOUGHT and value == 0:
                raise _WrongValueError("is more than 0", "write the number that you mean")
        except _WrongValueError as wrong:
            rule, remedy = wrong.rule, wrong.remedy
            mistakes.append(Mistake(file=file, key=f"rules.{name}", value=shown(value), rule=rule, remedy=remedy))
    if values["fragment_least"] > values["fragment_normal"]:
        rule, remedy = "fragment_least does not exceed fragment_normal", "change one of them"
        value = shown(overrides.get("fragment_least"))
        mistakes.append(Mistake(file=file, key="rules.fragment_least", value=value, rule=rule, remedy=remedy))
    if mistakes:
        raise BadInput(mistakes)
    return Rules(**values)


def rule_lines(show: Show = "mm") -> tuple[RuleLine, ...]:
    """Every rule with its default, in the order of `Rules`; lengths as text in `show`."""
    return tuple(
        RuleLine(name=e.name, value=_text(e, show), unit=_printed_unit(e.unit, show), text=e.text, source=e.source)
        for e in _entries()
    )


def rule_units() -> dict[str, RuleUnit]:
    """Each rule's unit, in the order of `Rules`."""
    return {entry.name: entry.unit for entry in _entries()}


def as_plan_values(rules: Rules) -> dict[str, float | list[float]]:
    """The rules as the plan file has them: lengths in mm, (least, most) as lists, other numbers as they are."""
    units = rule_units()
    return {field.name: _plan_value(getattr(rules, field.name), units[field.name]) for field in fields(rules)}


@cache
def _entries() -> tuple[_Entry, ...]:
    tables = tomllib.loads(shared_text("rules.toml"))
    found = []
    for field in fields(Rules):
        table = tables[field.name]
        default = _read(table["default"], table["unit"], "mm")
        unit, text, source = table["unit"], table["text"], table["source"]
        found.append(_Entry(name=field.name, default=default, unit=unit, text=text, source=source))
    return tuple(found)


def _read(value: object, rule_unit: RuleUnit, unit: Unit) -> RuleValue:
    """A rule's value in ticks or in its plain unit. Raises `_WrongValueError`."""
    assert rule_unit in get_args(RuleUnit), rule_unit
    if rule_unit == "length":
        return _read_length(value, unit)
    if rule_unit == "length pair":
        return _read_pair(value, unit)
    return _read_number(value, rule_unit)


def _read_length(value: object, unit: Unit) -> int:
    try:
        return parse_length(value, unit=unit)
    except LengthError as error:
        raise _WrongValueError(error.rule, error.remedy) from error


def _read_pair(value: object, unit: Unit) -> tuple[int, int]:
    if not isinstance(value, list | tuple) or len(value) != 2:
        raise _WrongValueError("is two lengths, the least and the most", 'write it like ["6 mm", "12 mm"]')
    least, most = (_read_length(one, unit) for one in value)
    if least > most:
        raise _WrongValueError("the least does not exceed the most", "put the smaller length first")
    return least, most


def _read_number(value: object, unit: RuleUnit) -> int | float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        what = "is a whole number, 0 or more" if unit == "count" else f"is a plain number, in {unit}"
        raise _WrongValueError(what, "write it without quotes")
    if not (-1e9 < value < 1e9):  # not a number is outside as well
        raise _WrongValueError(f"is a finite number below 1e9, in {unit}", "write the number that you mean")
    if unit == "count":
        if value != math.floor(value) or value < 0:
            raise _WrongValueError("is a whole number, 0 or more", "write it without decimals or a sign")
        return int(value)
    least, most = {"degrees": (0, 90), "percent": (0, 100)}.get(unit, (0, math.inf))
    if not least <= value <= most:
        raise _WrongValueError(
            f"is from 0 to {most}, in {unit}" if most < math.inf else f"is not negative, in {unit}", "change it"
        )
    return float(value)


def _text(entry: _Entry, show: Show) -> str:
    if isinstance(entry.default, tuple):
        return " to ".join(_length_text(one, show) for one in entry.default)
    return _length_text(round(entry.default), show) if entry.unit == "length" else f"{entry.default:g}"


def _length_text(value: int, show: Show) -> str:
    """Inches as decimals: the rules are metric, and the nearest 1/64 in would state another rule."""
    return format_length(value, show="mm", unit=False) if show == "mm" else f"{value / TICKS_PER_INCH:.3f}"


def _printed_unit(unit: RuleUnit, show: Show) -> str:
    if unit in ("length", "length pair"):
        return show
    return "" if unit == "count" else unit


def _plan_value(value: RuleValue, unit: RuleUnit) -> float | list[float]:
    if isinstance(value, tuple):
        return [mm(one) for one in value]
    return mm(round(value)) if unit == "length" else value
