"""The commands. They read, ask the stages, write and print; they compute nothing.

What is slow to load (solver, geometry, page templates) is imported inside the command that needs it, Ctrl-C put off.
"""

from __future__ import annotations

import gc
import io
import json
import math
import platform
import sys
import textwrap
import time
import traceback
from dataclasses import asdict, dataclass
from enum import StrEnum
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NoReturn

import typer
from typer.models import OptionInfo

from cutopt import __version__
from cutopt.errors import BadInput, CutoptError, OurFault
from cutopt.interrupts import put_off
from cutopt.memory import rarely_searched
from cutopt.shipped import shared_folder

if TYPE_CHECKING:
    from cutopt.job import Job
    from cutopt.planfile import Plan

FILES = ("plan.json", "cutbook.html", "cutbook.pdf", "cuts.csv", "pieces.csv", "hardware.csv", "shopping.csv")
DRAWINGS = ("site.svg", "site.dxf", "tiles.svg", "tiles.dxf")

app = typer.Typer(
    name="cutopt",
    help="Turn a measured terrace into a cut plan for timber deck tiles.",
    epilog="Exit codes: 0 done, 1 the check found faults, 2 wrong input, 3 no plan, 70 a fault of cutopt.",
    add_completion=False,
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)


class Show(StrEnum):
    """The unit that lengths are printed in."""

    MM = "mm"
    IN = "in"


class Sheet(StrEnum):
    """The paper that the PDF is laid out for."""

    A4 = "a4"
    LETTER = "letter"


@dataclass(frozen=True, kw_only=True, slots=True)
class Wish:
    """What the options of `plan` and `demo` say."""

    out: Path
    quiet: bool
    as_json: bool
    seconds: float | None
    seed: int
    paper: Sheet


def _sensible_seconds(value: float | None) -> float | None:
    if value is not None and not (math.isfinite(value) and value > 0):
        raise typer.BadParameter(f"{value} is no length of time: give a number above 0, such as 20.")
    return value


def _version(wanted: bool) -> None:
    if wanted:
        print(f"cutopt {__version__}")
        raise typer.Exit


OutOption = Annotated[
    Path, typer.Option("--out", metavar="DIR", show_default=False, help="Folder for the files; made if need be.")
]
QuietOption = Annotated[bool, typer.Option("--quiet", help="Print nothing unless something is wrong.")]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON on stdout and nothing else.")]
SecondsOption = Annotated[
    float | None,
    typer.Option(
        "--seconds",
        metavar="N",
        callback=_sensible_seconds,
        show_default=False,
        help="About how long the search may take; the job's own value if not given.",
    ),
]
SeedOption = Annotated[
    int, typer.Option("--seed", metavar="N", min=0, max=2**31 - 1, help="Same job and seed, same plan.")
]
PaperOption = Annotated[Sheet, typer.Option("--paper", help="Paper of cutbook.pdf.")]


def _some(option: str, words: str) -> OptionInfo:
    """An option that limits what is compared."""
    about = f"Only these {words}, with commas between them; all that the job allows if not given."
    found: OptionInfo = typer.Option(option, metavar="NAMES", show_default=False, help=about)
    return found


@app.callback()
def _top(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version and stop.")
    ] = False,
) -> None:
    pass


@app.command("plan")
def plan_command(
    job: Annotated[Path, typer.Argument(metavar="JOB", show_default=False, help="The job file (TOML).")],
    out: OutOption,
    quiet: QuietOption = False,
    as_json: JsonOption = False,
    seconds: SecondsOption = None,
    seed: SeedOption = 0,
    paper: PaperOption = Sheet.A4,
) -> None:
    """Plan a job: write plan.json, the cut book (page and PDF) and its lists.

    The files appear whole or not at all. Ends with a summary and the files' paths. Interrupted (Ctrl-C) while it
    compares grid starts, it writes the best plan so far, marked as such, and ends with code 130.
    """
    _plan(job, Wish(out=out, quiet=quiet, as_json=as_json, seconds=seconds, seed=seed, paper=paper))


@app.command("demo")
def demo_command(
    out: OutOption,
    quiet: QuietOption = False,
    as_json: JsonOption = False,
    seconds: SecondsOption = None,
    seed: SeedOption = 0,
    paper: PaperOption = Sheet.A4,
) -> None:
    """Plan the invented roof terrace that comes with cutopt.

    Does what `cutopt plan` does, with a job file that is already there.
    """
    _plan(
        shared_folder() / "demo.toml",
        Wish(out=out, quiet=quiet, as_json=as_json, seconds=seconds, seed=seed, paper=paper),
    )


@app.command("compare")
def compare_command(
    jobs: Annotated[list[Path], typer.Argument(metavar="JOB", show_default=False, help="Job files (TOML).")],
    strategy: Annotated[list[str] | None, _some("--strategy", "strategies")] = None,
    pattern: Annotated[list[str] | None, _some("--pattern", "patterns (straight, alternate, two-and-one)")] = None,
    grid: Annotated[list[str] | None, _some("--grid", "grid starts (as-given, best, full-first, centred)")] = None,
    pick: Annotated[
        str | None,
        typer.Option("--pick", metavar="NAME", show_default=False, help="Write this choice as `cutopt plan` would."),
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="DIR", show_default=False, help="Folder for the files of --pick.")
    ] = None,
    quiet: QuietOption = False,
    as_json: JsonOption = False,
    seconds: SecondsOption = None,
    seed: SeedOption = 0,
    paper: PaperOption = Sheet.A4,
) -> None:
    """Set strategies, patterns and grid starts side by side.

    Plans a job in each way, as many at once as there are processors, and marks the choices that no other beats in
    tiles, money and minutes. A choice is named like factory-edge/straight/best. Ctrl-C keeps what is done.
    """
    with put_off():
        from cutopt.comparecommand import Asked, Files, compare, limits

    asked = Asked(
        jobs=tuple(jobs),
        limits=limits(strategy or (), pattern or (), grid or ()),
        pick=pick,
        out=out,
        quiet=quiet,
        as_json=as_json,
        seconds=seconds,
        seed=seed,
    )
    raise typer.Exit(compare(asked, Files(names=FILES, made=partial(_files, paper=paper))))


@app.command("check")
def check_command(
    plan: Annotated[Path, typer.Argument(metavar="PLAN", show_default=False, help="A plan.json.")],
    as_json: JsonOption = False,
) -> None:
    """Replay a plan file and list what is wrong with it.

    Reads the plan file alone and shares no code with the planner. Exit code 1 if there are faults.
    """
    with put_off():
        from cutopt.checks import check
        from cutopt.planfile import load
        from cutopt.planfile.reading import escaped

    findings = check(load(plan))
    if as_json:
        print(json.dumps({"findings": [asdict(finding) for finding in findings]}, indent=1))
    else:
        for finding in findings:
            print(finding)
        many = f"{len(findings)} fault{'s' * (len(findings) > 1)}" if findings else "no faults found"
        print(f"{escaped(str(plan))}: {many}")
    if findings:
        raise typer.Exit(1)


@app.command("show")
def show_command(
    plan: Annotated[Path, typer.Argument(metavar="PLAN", show_default=False, help="A plan.json.")],
    name: Annotated[
        str | None,
        typer.Argument(metavar="[ID]", show_default=False, help="A tile (T3), a piece (P5) or a cell (3,2)."),
    ] = None,
) -> None:
    """Show one card of a plan in the terminal.

    A tile's card has its drawing, as it lies on the bench, and its steps; a piece's or a cell's has the tiles that it
    is cut from. A cell is its row and its place in the row, from the start corner. Without ID: the summary and all
    tiles.
    """
    with put_off():
        from rich.console import Console

        from cutopt.book import contents, shown, summary
        from cutopt.planfile import load
        from cutopt.planfile.reading import escaped

    made = load(plan)
    if name is None:
        Console(highlight=False).print(summary(made))
        print(f"\n{contents(made)}")
    else:
        print(shown(made, name, escaped(str(plan))))


@app.command("draw")
def draw_command(
    plan: Annotated[Path, typer.Argument(metavar="PLAN", show_default=False, help="A plan.json.")],
    out: OutOption,
    quiet: QuietOption = False,
) -> None:
    """Draw a plan as SVG and DXF files.

    site.svg and site.dxf have the areas with posts, tiles and pieces; tiles.svg and tiles.dxf every tile as it lies on
    the bench. DXF is in millimetres, with a layer for each kind of thing.
    """
    with put_off():
        from cutopt.book import drawing_files
        from cutopt.planfile import load
        from cutopt.planfile.reading import escaped
        from cutopt.writing import folder_mistakes, write_all

    mistakes = folder_mistakes(out, DRAWINGS)
    if mistakes:
        raise BadInput(mistakes)
    for path in write_all(out, drawing_files(load(plan))):
        if not quiet:
            print(escaped(str(path)))


@app.command("rules")
def rules_command(
    as_json: JsonOption = False,
    show: Annotated[Show, typer.Option("--show", help="Unit for lengths.")] = Show.MM,
) -> None:
    """Print every rule with its default, unit and source.

    A job's [rules] table overrides them by name.
    """
    from cutopt.rules import rule_lines

    lines = rule_lines(show.value)
    if as_json:
        print(json.dumps({"rules": [asdict(line) for line in lines]}, indent=1))
        return
    for line in lines:
        print(f"{line.name}: {line.value} {line.unit}".rstrip())
        _print_indented(f"{line.text} [{line.source}]")


def _print_indented(text: str) -> None:
    print(textwrap.fill(text, width=78, initial_indent="    ", subsequent_indent="    "))


def _plan(job_file: Path, wish: Wish) -> None:
    """Plan, write and tell: the whole of `plan` and `demo`."""
    began = time.perf_counter()
    job = _read(job_file, wish.out)
    # the slow ones, once the input is known to be good
    with put_off():
        from rich.console import Console

        from cutopt.book import summary
        from cutopt.planfile.reading import escaped
        from cutopt.planning import plan
        from cutopt.progress import search_bar
        from cutopt.writing import write_all

    with search_bar(wanted=not (wish.quiet or wish.as_json)) as move:
        made = plan(job, seconds=wish.seconds, seed=wish.seed, progress=move)
    told = summary(made)
    written = write_all(wish.out, _files(made, wish.paper))
    if wish.as_json:
        print(_as_json(made, written))
    elif not wish.quiet:
        Console(highlight=False).print(told)
        print(f"\nPlanned in {time.perf_counter() - began:.1f} s. Files:")
        for path in written:
            print(f"  {escaped(str(path))}")
    if made.proof.stopped == "interrupted":
        raise KeyboardInterrupt  # all is written; the shell is told that it was stopped


def _files(plan: Plan, paper: Sheet) -> dict[str, bytes]:
    """The files of a plan, name to contents."""
    from cutopt.book import book_files
    from cutopt.planfile import dump

    return book_files(plan, "Letter" if paper is Sheet.LETTER else "A4", {"plan.json": partial(dump, plan)})


def _read(job_file: Path, out: Path) -> Job:
    """The job, once the folder for the files is known to take them; the mistakes of both come together."""
    with put_off():
        from cutopt.job import load_job
        from cutopt.writing import folder_mistakes

    mistakes = folder_mistakes(out, FILES)
    try:
        job = load_job(job_file)
    except BadInput as error:
        raise BadInput([*error.mistakes, *mistakes]) from error
    if mistakes:
        raise BadInput(mistakes)
    return job


def _as_json(plan: Plan, written: tuple[Path, ...]) -> str:
    said = {
        "job": plan.job.name,
        "totals": plan.totals.model_dump(mode="json"),
        "proof": plan.proof.model_dump(mode="json"),
        "warnings": list(plan.warnings),
        "files": [str(path) for path in written],
    }
    return json.dumps(said, indent=1)


def main() -> NoReturn:
    """Run the command line and end the process with its exit code."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")  # a terminal that lacks a character gets a question mark, no crash
    try:
        with rarely_searched():
            app(prog_name="cutopt")
    except CutoptError as error:
        sys.exit(_tell(error) if isinstance(error, OurFault) else _say(error))
    except KeyboardInterrupt:
        sys.exit(130)
    except Exception as error:  # whatever else was raised is a fault of cutopt
        sys.exit(_tell(error))
    finally:
        gc.freeze()  # the end of the process would search all of it once more
    sys.exit(0)


def _say(error: CutoptError) -> int:
    print(error, file=sys.stderr)
    return error.exit_code


def _tell(error: Exception) -> int:
    """Own up to a fault in a few lines; return its exit code."""
    frames = [frame for frame in traceback.extract_tb(error.__traceback__) if "cutopt" in Path(frame.filename).parts]
    where = f" in {Path(frames[-1].filename).name}, line {frames[-1].lineno}" if frames else ""
    print(f"cutopt has made a fault of its own: {type(error).__name__}: {error}{where}", file=sys.stderr)
    print(
        "Please report it to the cutopt authors with the job file, the command and this line:\n"
        f"cutopt {__version__}, Python {platform.python_version()}, {platform.system()} {platform.machine()}",
        file=sys.stderr,
    )
    return OurFault.exit_code
