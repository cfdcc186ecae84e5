"""cutopt: from a measured terrace to a cut plan for timber deck tiles.

    job = cutopt.load_job(Path("terrace.toml"))
    plan = cutopt.plan(job)
    findings = cutopt.check(plan)

The three functions are loaded when they are first asked for, so that `import cutopt` stays quick: the solver and the
geometry take most of a second to load.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from cutopt.checks import check
    from cutopt.job import load_job
    from cutopt.planning import plan

__version__ = "0.1.0"

__all__ = ["__version__", "check", "load_job", "plan"]

_MODULES = {"check": "cutopt.checks", "load_job": "cutopt.job", "plan": "cutopt.planning"}


def __getattr__(name: str) -> object:
    """The public function of that name, from the module that has it."""
    if name not in _MODULES:
        raise AttributeError(f"module 'cutopt' has no attribute {name!r}")
    found: object = getattr(import_module(_MODULES[name]), name)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
