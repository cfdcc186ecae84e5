"""From what became of each choice to the comparison of a job."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cutopt.comparing.choices import Choice, Menu
from cutopt.comparing.records import ChoiceLine, Figures, JobComparison, NotOffered, State
from cutopt.comparing.unbeaten import beaten_by, best, lays_more
from cutopt.comparing.words import Terms, against
from cutopt.job.records import Job


@dataclass(frozen=True, kw_only=True, slots=True)
class Outcome:
    """What became of a choice. `figures` where it was planned, `reason` where it was not."""

    choice: Choice
    state: State
    figures: Figures | None = None
    reason: str = ""


def terms_of(job: Job) -> Terms:
    """How the job's amounts are worded: without prices there is no money to tell of."""
    priced = any((job.money.tile, job.money.hour, job.money.backer))
    return Terms(currency=job.money.currency if priced else "", show=job.show)


def judged(job: Job, menu: Menu, outcomes: Sequence[Outcome]) -> JobComparison:
    """The comparison of a job: which choices are unbeaten among those planned, and what the others cost or save."""
    planned = [(outcome.choice.name, outcome.figures) for outcome in outcomes if outcome.figures is not None]
    names, figures = [name for name, _ in planned], [each for _, each in planned]
    first = best(figures, job.cutting.aim) if planned else None
    beaten = dict(zip(names, beaten_by(figures), strict=True))
    terms = terms_of(job)
    lines = []
    for outcome in outcomes:
        name, words = outcome.choice.name, ""
        if outcome.figures is not None and first is not None and name != names[first]:
            words = against(outcome.figures, figures[first], terms, name=names[first])
        beaters = beaten.get(name, ())
        more = outcome.figures is not None and lays_more(outcome.figures, [figures[k] for k in beaters])
        lines.append(_line(outcome, tuple(names[k] for k in beaters), more, words))
    return JobComparison(
        job=job.name,
        sha256=job.sha256,
        show=job.show,
        aim=job.cutting.aim,
        currency=terms.currency,
        best=None if first is None else names[first],
        not_offered=tuple(NotOffered(word=word, why=why) for word, why in menu.not_offered),
        choices=tuple(lines),
    )


def _line(outcome: Outcome, beaten: tuple[str, ...], more: bool, words: str) -> ChoiceLine:
    choice = outcome.choice
    return ChoiceLine(
        name=choice.name,
        strategy=choice.strategy,
        pattern=choice.pattern,
        grid=choice.grid,
        state=outcome.state,
        reason=outcome.reason,
        figures=outcome.figures,
        unbeaten=outcome.figures is not None and not beaten,
        beaten_by=beaten,
        lays_more=more,
        words=words,
    )
