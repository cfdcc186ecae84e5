"""How fast the carpentry answers: `python -m tests.benchmarks.carpentry`.

`fit` is asked for 1,000 different pieces, a mix of every kind on the tiles that sites have; `hang` finishes 1,000
sources, each with one of the pieces that were accepted. Prints a table; the bars are times on one core.
"""

from __future__ import annotations

import platform
import random
import sys
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import cutopt
from cutopt.cut import CutTile
from cutopt.cut.patterns import pattern_of
from cutopt.cut.records import Place
from cutopt.cut.sawing import Saws, saw_tree
from cutopt.fit import Carpenter, Fit, Refusal, fit
from cutopt.geometry import Ring
from cutopt.hang import HungSource, hang
from cutopt.job.records import Job
from tests.fit.shapes import KINDS, NAMED, YARD, drawn_piece, shape_of

SEED, PIECES, SOURCES = 3, 1000, 1000
FIT_BAR, HANG_BAR = 10.0, 20.0  # seconds
SPARES = "[rules]\nspare_backers = 1000000\n" + YARD


@dataclass(frozen=True, kw_only=True, slots=True)
class Asked:
    """A piece and what the fitting said of it. `tile` names one of `NAMED`."""

    tile: str
    kind: str
    outline: Ring
    answer: Fit | Refusal


@dataclass(frozen=True, kw_only=True, slots=True)
class Timed:
    """What was asked and hung, and the seconds that it took."""

    asked: tuple[Asked, ...]
    fit_seconds: float
    hung: int
    hang_seconds: float


def drawn_pieces(count: int, seed: int) -> list[tuple[str, str, Ring]]:
    """That many different pieces: every kind in turn on every tile in turn."""
    dice, seen, found = random.Random(seed), set[tuple[str, Ring]](), list[tuple[str, str, Ring]]()
    names = list(NAMED)
    while len(found) < count:
        name, kind = names[len(found) % len(names)], KINDS[len(found) // len(names) % len(KINDS)]
        ring = drawn_piece(dice.randint, NAMED[name], kind)
        if (name, ring) not in seen:
            seen.add((name, ring))
            found.append((name, kind, ring))
    return found


def ask(pieces: Sequence[tuple[str, str, Ring]]) -> tuple[tuple[Asked, ...], float]:
    """Fit them all; nothing is remembered from one to the next."""
    jobs = {name: anatomy.job(SPARES) for name, anatomy in NAMED.items()}
    fit(pieces[0][2], jobs[pieces[0][0]].tile, jobs[pieces[0][0]].rules)  # what is loaded once is loaded now
    start = time.perf_counter()
    answers = [fit(ring, jobs[name].tile, jobs[name].rules) for name, _, ring in pieces]
    seconds = time.perf_counter() - start
    asked = [
        Asked(tile=name, kind=kind, outline=ring, answer=answer)
        for (name, kind, ring), answer in zip(pieces, answers, strict=True)
    ]
    return tuple(asked), seconds


def cut_tiles(asked: Sequence[Asked], count: int) -> tuple[Job, list[CutTile]]:
    """That many sources of the first tile in one job, each with one accepted piece, taken in turn."""
    name, anatomy = next(iter(NAMED.items()))
    job = anatomy.job(SPARES)
    carpenter = Carpenter(tile=job.tile, rules=job.rules)
    saws = Saws(tile=job.tile, rules=job.rules, cutting=job.cutting)
    made = []
    for one in asked:
        if one.tile == name and isinstance(one.answer, Fit):
            shape = shape_of(one.outline, anatomy)
            place = Place(kind=0, half_turn=False, shift=(0, 0), shape=shape, fit=one.answer)
            tree = saw_tree((place,), carpenter.outline, saws)
            made += [(pattern_of((place,), carpenter.tile, saws), tree)] if tree is not None else []
    turns = (made[n % len(made)] for n in range(count))
    return job, [CutTile(pattern=pattern, tree=tree, pieces=(n,), uses=1) for n, (pattern, tree) in enumerate(turns)]


def finish(asked: Sequence[Asked], count: int) -> tuple[tuple[HungSource, ...], float]:
    """Hang that many sources of one job, which take wood from one another."""
    job, tiles = cut_tiles(asked, count)
    start = time.perf_counter()
    hung = hang(tiles, job)
    return hung, time.perf_counter() - start


def run(pieces: int = PIECES, sources: int = SOURCES, seed: int = SEED) -> Timed:
    """Both halves of the benchmark."""
    asked, fit_seconds = ask(drawn_pieces(pieces, seed))
    hung, hang_seconds = finish(asked, sources)
    return Timed(asked=asked, fit_seconds=fit_seconds, hung=len(hung), hang_seconds=hang_seconds)


def table(timed: Timed, seed: int = SEED) -> str:
    """The figures in lines of text."""
    refused = Counter(one.answer.rule for one in timed.asked if isinstance(one.answer, Refusal))
    count = len(timed.asked)
    fits = [one.answer for one in timed.asked if isinstance(one.answer, Fit)]
    lines = [
        f"carpentry, {date.today().isoformat()}, cutopt {cutopt.__version__}, Python {platform.python_version()}, "
        f"seed {seed}",
        f"{'':12}{'count':>8}{'seconds':>10}{'bar':>8}",
        f"{'fit':12}{count:>8}{timed.fit_seconds:>10.2f}{FIT_BAR:>8.0f}",
        f"{'hang':12}{timed.hung:>8}{timed.hang_seconds:>10.2f}{HANG_BAR:>8.0f}",
        f"accepted {len(fits) / count:.1%}, of these least among the ways looked at "
        f"{sum(f.least for f in fits) / max(len(fits), 1):.1%}",
        "refused by rule: " + ", ".join(f"{rule} {n / count:.1%}" for rule, n in refused.most_common()),
        "accepted by kind: " + ", ".join(f"{kind} {_share(timed.asked, kind):.0%}" for kind in KINDS),
    ]
    return "\n".join(lines)


def _share(asked: Sequence[Asked], kind: str) -> float:
    mine = [one for one in asked if one.kind == kind]
    return sum(isinstance(one.answer, Fit) for one in mine) / max(len(mine), 1)


if __name__ == "__main__":
    sys.stdout.write(table(run()) + "\n")
