"""The choices of a job: strategies, patterns and grid starts that its reader takes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import Literal, TypeVar, get_args

from cutopt.errors import BadInput, Mistake
from cutopt.job.laying import read_laying
from cutopt.job.ledger import Ledger
from cutopt.job.raw import CutTable, LayTable, Reading
from cutopt.job.records import GridRule, Job, Pattern, Strategy
from cutopt.job.shape import read_table
from cutopt.wording import nearest, shown

AsGiven = Literal["as-given"]
GridChoice = GridRule | AsGiven
AS_GIVEN: AsGiven = "as-given"  # the place that the job itself gives

STRATEGIES: tuple[Strategy, ...] = get_args(Strategy)
PATTERNS: tuple[Pattern, ...] = get_args(Pattern)
GRIDS: tuple[GridChoice, ...] = (AS_GIVEN, *get_args(GridRule))
Word = TypeVar("Word", bound=str)

NO_PLACE = "the job gives no place of its own"


@dataclass(frozen=True, kw_only=True, slots=True)
class Choice:
    """One way of planning a job."""

    strategy: Strategy
    pattern: Pattern
    grid: GridChoice

    @property
    def name(self) -> str:
        """`factory-edge/straight/best`."""
        return f"{self.strategy}/{self.pattern}/{self.grid}"

    def applied(self, job: Job) -> Job:
        """The job as it would be read with this choice in its file."""
        grid = job.laying.grid if self.grid == AS_GIVEN else self.grid
        own = job.laying.phase == "any" or self.pattern == job.laying.pattern
        phase = job.laying.phase if own else 0  # a number counts the cells of the job's own pattern
        return replace(
            job,
            laying=replace(job.laying, pattern=self.pattern, phase=phase, grid=grid),
            cutting=replace(job.cutting, strategy=self.strategy),
        )


@dataclass(frozen=True, kw_only=True, slots=True)
class Limits:
    """What the comparison is limited to; an empty list means all that the job allows."""

    strategies: tuple[str, ...] = ()
    patterns: tuple[str, ...] = ()
    grids: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True, slots=True)
class Menu:
    """The choices of one job, and what is not among them: the word and why."""

    choices: tuple[Choice, ...]
    not_offered: tuple[tuple[str, str], ...]


def limit_mistakes(limits: Limits) -> tuple[Mistake, ...]:
    """Words among the limits that are no choice of this version."""
    found = [*_unknown("--pattern", limits.patterns, PATTERNS), *_unknown("--grid", limits.grids, GRIDS)]
    for word in limits.strategies:
        if word not in STRATEGIES:
            found += _unknown("--strategy", [word], strategies())
        else:
            found += [replace(mistake, key="") for mistake in _strategy_mistakes(word)]
    return tuple(found)


def menu(job: Job, limits: Limits) -> Menu:
    """The choices of a job within limits that have no mistakes."""
    wanted = _within(PATTERNS, limits.patterns)
    not_offered: list[tuple[str, str]] = [(word, why) for word in wanted if (why := _pattern_refusal(job, word))]
    refused = [word for word, _ in not_offered]
    patterns = [word for word in wanted if word not in refused]
    given = isinstance(job.laying.grid, tuple)
    grids = [word for word in _within(GRIDS, limits.grids) if given or word != AS_GIVEN]
    if AS_GIVEN in limits.grids and not given:
        not_offered.append((AS_GIVEN, NO_PLACE))
    ways = product(_within(strategies(), limits.strategies), patterns, grids)
    return Menu(
        choices=tuple(Choice(strategy=strategy, pattern=pattern, grid=grid) for strategy, pattern, grid in ways),
        not_offered=tuple(not_offered),
    )


def strategies() -> tuple[Strategy, ...]:
    """The strategies that the reader of job files takes."""
    return tuple(word for word in STRATEGIES if not _strategy_mistakes(word))


def _within(known: Sequence[Word], wanted: Sequence[str]) -> list[Word]:
    return [word for word in known if not wanted or word in wanted]


def _unknown(option: str, words: Iterable[str], known: Sequence[str]) -> list[Mistake]:
    rule = f"is one of {', '.join(known)}"
    return [
        Mistake(file=option, key="", value=shown(word), rule=rule, remedy=nearest(word, known) or "choose among these")
        for word in words
        if word not in known
    ]


def _strategy_mistakes(word: str) -> tuple[Mistake, ...]:
    """What the reader of job files has against a strategy: it knows which of them this version plans."""
    ledger = Ledger("--strategy")
    read_table(CutTable, {"strategy": word}, "", ledger, Reading(unit="mm"))
    return _noted(ledger)


def _pattern_refusal(job: Job, pattern: Pattern) -> str:
    """Why the reader of job files would not take a pattern with this job's tile, or nothing."""
    against = set(_laying_mistakes(job, pattern)) - set(_laying_mistakes(job, "straight"))
    return "; ".join(sorted(mistake.rule for mistake in against))


def _laying_mistakes(job: Job, pattern: Pattern) -> tuple[Mistake, ...]:
    ledger = Ledger("")
    ledger.show = job.show
    along, across = job.laying.pitch
    # lengths are in ticks already, so the table is not read but made
    table = LayTable.model_construct(pattern=pattern, joint=job.laying.joint, pitch=[along, across])
    read_laying(table, job.tile, ledger)
    return _noted(ledger)


def _noted(ledger: Ledger) -> tuple[Mistake, ...]:
    try:
        ledger.close()
    except BadInput as error:
        return error.mistakes
    return ()
