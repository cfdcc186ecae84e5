"""What to buy: tiles in one batch, supports, screws, backers, and what sawing, sealing and coating use up."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from cutopt.job.records import Job
from cutopt.planfile.model import Purchase
from cutopt.rules import Rules
from cutopt.work.names import STATIONS, Wording, counted
from cutopt.work.pilot import bit, source
from cutopt.work.supporting import Parts

STONE_DEPTH = 0.05  # metres: depth of a stone border where nothing else is said; common practice, no source
SPARE_SCREWS = 0.1  # of those that are driven again; common practice, no source
LITRE = 0.05  # litres: what quantities are rounded up to
GRITS = (80, 120)  # one after the other before an oil or stain; common practice, no source

Size = tuple[int, int]  # ticks: a backer's length and width


@dataclass(frozen=True, kw_only=True, slots=True)
class Needs:
    """Counts over all copies of all areas; areas in square metres.

    `spare`: bought backers by their size. `cuts`: by saw. `standing`: supports, whatever they are sawn to. `face`: the
    walking face of all wood that is laid.
    """

    whole: int
    cut: int
    supports: Parts
    standing: int
    holes_drilled: int
    screws_driven: int
    predrilled: int
    spare: Mapping[Size, int]
    cuts: Mapping[str, int]
    sealed: float
    face: float
    stone: float

    @property
    def spare_backers(self) -> int:
        """Backers to buy, of all sizes."""
        return sum(self.spare.values())


def breakage(needs: Needs, rules: Rules) -> int:
    """Tiles bought beyond the plan, common practice: a share of whole and of cut ones, and a least number."""
    share = needs.whole * rules.breakage_whole / 100 + needs.cut * rules.breakage_cut / 100
    return max(rules.breakage_least, math.ceil(share - 1e-9))


def purchases(needs: Needs, job: Job) -> tuple[Purchase, ...]:
    """The shopping list, nothing that is not needed."""
    lines = [
        _tiles(needs, job.rules),
        _supports(needs, job.rules),
        _screws(needs, job.rules),
        _bit(needs, job),
        *_backers(needs, job),
        *_blades(needs, job.rules),
        *_finish(needs, job.rules),
        _stone(needs),
        _adhesive(needs, job.rules),
    ]
    return tuple(line for line in lines if line.count)


def _line(item: str, count: float, unit: str, why: str) -> Purchase:
    return Purchase(item=item, count=count, unit=unit, why=why)


def _up(amount: float, step: float) -> float:
    """The amount in whole steps, rounded up; a step is a whole part of 1."""
    return math.ceil(round(amount / step, 6)) / round(1 / step)


def _packed(count: int, pack: int, one: str, many: str) -> tuple[int, str]:
    """The count in whole packs, and words for them; none where things are sold singly."""
    packs = math.ceil(count / pack)
    return packs * pack, f", in {packs} {one if packs == 1 else many} of {pack}" if pack > 1 else ""


def _tiles(needs: Needs, rules: Rules) -> Purchase:
    tiles, extra = needs.whole + needs.cut, breakage(needs, rules)
    count, packs = _packed(tiles + extra, rules.tiles_a_pack, "pack", "packs")
    return _line("tile", count, "pieces", f"{tiles} and {extra} for breakage{packs}, all of one batch")


def _supports(needs: Needs, rules: Rules) -> Purchase:
    guides = math.ceil(needs.holes_drilled / rules.guide_holes)
    words = f"{needs.supports.words}; {guides} worn out as drilling guides"
    return _line("support", needs.supports.to_buy + guides, "pieces", words)


def _screws(needs: Needs, rules: Rules) -> Purchase:
    count, boxes = _packed(math.ceil(needs.screws_driven * SPARE_SCREWS), rules.screws_a_box, "box", "boxes")
    return _line("screw", count, "pieces", f"one for ten of the {needs.screws_driven} that are driven again{boxes}")


def _bit(needs: Needs, job: Job) -> Purchase:
    words = f"for {needs.predrilled} screws near an edge or end, predrilled; {source(job.tile)}"
    item = f"drill bit, {Wording(job=job, source=()).length(bit(job))}"
    return _line(item, min(needs.predrilled, 1), "pieces", words)


def _backers(needs: Needs, job: Job) -> Iterator[Purchase]:
    """A line for each size, the longest first."""
    say = Wording(job=job, source=())
    for (long, wide), count in sorted(needs.spare.items(), reverse=True):
        words = f"{say.length(long)} long, {say.length(wide)} wide, wanted beyond what the tiles leave"
        yield _line("backer", count, "pieces", words)


def _blades(needs: Needs, rules: Rules) -> Iterator[Purchase]:
    """The first of each counts as well: it starts sharp."""
    for saw, name in STATIONS.items():
        cuts, lasts = needs.cuts.get(saw, 0), rules.jigsaw_blade_cuts if saw == "jigsaw" else rules.blade_cuts
        yield _line(f"blade, {name}", math.ceil(cuts / lasts), "pieces", f"{counted(cuts, 'cut')}, {lasts} a blade")


def _finish(needs: Needs, rules: Rules) -> Iterator[Purchase]:
    """Sealer for the sawn ends; discs and coating for the walking face, and a disc of each grit for sawn edges."""
    litres = _up(needs.sealed / rules.sealer_coverage, LITRE)
    words = f"{needs.sealed:.2f} m² at {rules.sealer_coverage:g} m² a litre"
    yield _line("end-grain sealer", litres, "litres", words)
    sanded = needs.face if rules.coats else 0.0
    sawn = min(1, sum(needs.cuts.values()))
    discs = max(math.ceil(round(sanded / rules.disc_coverage, 6)), sawn)
    for grit in GRITS:
        words = f"{sanded:.2f} m² of walking face, {rules.disc_coverage:g} m² a disc" if sanded else "for sawn edges"
        yield _line(f"abrasive disc, grit {grit}", discs, "pieces", words)
    coated = needs.face * rules.coats
    words = f"{needs.face:.2f} m² of walking face, {counted(rules.coats, 'coat')} at {rules.coat_coverage:g} m² a litre"
    yield _line("coating", _up(coated / rules.coat_coverage, LITRE), "litres", words)


def _stone(needs: Needs) -> Purchase:
    words = f"{needs.stone:.2f} m² of border, {STONE_DEPTH * 1000:g} mm deep"
    return _line("stone", math.ceil(needs.stone * STONE_DEPTH * 100) / 100, "m³", words)


def _adhesive(needs: Needs, rules: Rules) -> Purchase:
    """An option: dabs under the supports."""
    dabs = needs.standing * rules.dabs_a_support
    words = f"{counted(dabs, 'dab')}, {rules.dabs_a_support} for each of {counted(needs.standing, 'support')}"
    return _line("adhesive", math.ceil(dabs / rules.dabs_a_cartridge), "cartridges", words)
