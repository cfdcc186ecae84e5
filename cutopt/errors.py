"""What can go wrong.

CutoptError
├── BadInput    the job or plan file is wrong: each mistake on a line of its own      exit 2
├── NoPlan      no plan exists under the given rules; says which rule to loosen       exit 3
└── OurFault    cutopt itself failed; anything uncaught counts as one                 exit 70
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


class CutoptError(Exception):
    """Any error that cutopt raises on purpose. `exit_code` is what the command ends with."""

    exit_code = 70


@dataclass(frozen=True, kw_only=True, slots=True)
class Mistake:
    """One mistake in a file: where, what is written there, what is allowed, and what to do."""

    file: str
    key: str
    value: str
    rule: str
    remedy: str

    def __str__(self) -> str:
        where = f"{self.file}: {self.key}" if self.key else self.file
        value = f" = {self.value}" if self.value else ""
        return f"{where}{value}: {self.rule}; {self.remedy}"


class BadInput(CutoptError):
    """A file is wrong. Carries every mistake found in one run."""

    exit_code = 2

    def __init__(self, mistakes: Sequence[Mistake]) -> None:
        self.mistakes = tuple(mistakes)
        super().__init__("\n".join(str(mistake) for mistake in self.mistakes))


class NoPlan(CutoptError):
    """No plan exists under the rules: `rule` is the one to loosen, `remedy` says how."""

    exit_code = 3

    def __init__(self, *, what: str, rule: str, remedy: str) -> None:
        self.rule = rule
        super().__init__(f"{what}; rule {rule}; {remedy}")


class ShortOfBackers(NoPlan):
    """A cut plan wants more backers bought than the rules allow: `excess` more."""

    def __init__(self, *, bought: int, allowed: int) -> None:
        self.excess = bought - allowed
        super().__init__(
            what=f"{bought} backers would have to be bought, {allowed} are allowed",
            rule="spare_backers",
            remedy="allow more of them in [rules]",
        )


class OurFault(CutoptError):
    """cutopt contradicted itself: please report the job file."""

    exit_code = 70
