"""What `import cutopt` offers, and what it does not load."""

from __future__ import annotations

import inspect
import subprocess
import sys

import pytest

import cutopt

SLOW = ("ortools", "shapely", "numpy", "jinja2")


def loaded_after(code: str) -> set[str]:
    """The slow packages that a fresh interpreter has loaded after running `code`."""
    tell = f"\nimport sys\nsys.stderr.write(' '.join(name for name in {SLOW!r} if name in sys.modules))"
    done = subprocess.run([sys.executable, "-c", code + tell], capture_output=True, text=True, check=True, timeout=60)
    return set(done.stderr.split())


def test_the_probe_sees_a_slow_package() -> None:
    assert loaded_after("import numpy") == {"numpy"}


def test_import_is_quick() -> None:
    assert loaded_after("import cutopt") == set()


@pytest.mark.parametrize("arguments", [["--help"], ["rules"], ["rules", "--json"], ["--version"], ["plan", "--help"]])
def test_commands_that_plan_nothing_are_quick(arguments: list[str]) -> None:
    code = (
        f"import sys\nsys.argv = ['cutopt', *{arguments!r}]\n"
        "from cutopt.commands import main\n"
        "try:\n    main()\nexcept SystemExit as end:\n    assert end.code == 0, end.code"
    )
    assert loaded_after(code) == set()


def test_public_names() -> None:
    assert set(cutopt.__all__) == {"__version__", "check", "load_job", "plan"}
    assert set(cutopt.__all__) <= set(dir(cutopt))


def test_plan_takes_the_job_and_three_keywords() -> None:
    parameters = inspect.signature(cutopt.plan).parameters
    assert list(parameters) == ["job", "seconds", "seed", "progress"]
    assert all(parameters[name].kind is inspect.Parameter.KEYWORD_ONLY for name in ("seconds", "seed", "progress"))
    assert parameters["seconds"].default is None
    assert parameters["seed"].default == 0
    assert parameters["progress"].default is None


def test_load_job_and_check_are_functions() -> None:
    assert inspect.isfunction(cutopt.load_job)
    assert inspect.isfunction(cutopt.check)


def test_an_unknown_name_is_an_attribute_error() -> None:
    with pytest.raises(AttributeError, match="no attribute 'nail'"):
        cutopt.nail  # noqa: B018
