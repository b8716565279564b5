"""The command `partsieve`. Whatever is slow to load is loaded inside the commands: help must answer at once."""

import datetime
import sys
from importlib.metadata import version
from pathlib import Path
from typing import Final

import click

from api.exits import refuse
from api.options import JOBS, MATERIAL, MEMORY, PER_CHILD, QUANTITY, REPAIR, TIMEOUT
from api.service_commands import serve, token, worker
from worker.export_kinds import FILE_OF

ACCEPT_HELP: Final = "Write all that fails the gate into this file of accepted findings, beside those of --baseline."
FORMATS: Final = ("table", "json", "jsonl", "csv", "junit", "sarif", "markdown", "lines")
LEVELS: Final = ("error", "warning", "note", "never")


@click.group(context_settings={"help_option_names": ["-h", "--help"], "auto_envvar_prefix": "PARTSIEVE"})
@click.version_option(version("partsieve"), prog_name="partsieve")
def main() -> None:
    """Screen STEP models for a machine shop: what is in a part, what makes it hard, what to ask, how long it takes.

    All times and limits are estimates from the model's geometry and the shop settings. Your shop's own procedures,
    local codes and the judgement of licensed or qualified people come first.

    Each option may also be given as a variable: PARTSIEVE_SERVE_DATABASE is --database of serve.
    """
    for stream in (sys.stdout, sys.stderr):
        stream.reconfigure(errors="backslashreplace")  # type: ignore[union-attr]  # a file name may hold anything


@main.command()
@click.argument("paths", nargs=-1, required=True, metavar="PATH...", type=click.Path(allow_dash=True))
@click.option(
    "--out",
    default="reports",
    show_default=True,
    metavar="DIR",
    type=click.Path(file_okay=False),
    help="Folder for the reports, one folder in it for each model.",
)
@click.option(
    "--format",
    "form",
    default="table",
    show_default=True,
    type=click.Choice(FORMATS),
    help="What is printed on stdout.",
)
@click.option(
    "--shop",
    metavar="FILE",
    type=click.Path(),
    help="The shop's machines, cutters, materials and limits (TOML).  [default: an invented example shop]",
)
@click.option(
    "--policy",
    metavar="FILE",
    type=click.Path(),
    help="What fails the gate (TOML).  [default: findings of level error]",
)
@click.option(
    "--baseline",
    metavar="FILE",
    type=click.Path(),
    help="Accepted findings (TOML); only what is not among them fails the gate.",
)
@MATERIAL
@QUANTITY
@REPAIR
@JOBS
@TIMEOUT
@MEMORY
@PER_CHILD
@click.option("--no-html", is_flag=True, help="Write report.json only.")
@click.option(
    "--export",
    "exports",
    multiple=True,
    type=click.Choice(tuple(FILE_OF)),
    help="Write this beside each report too, several times for several: workbook, feature list, glTF model, STEP AP242 "
    "with faces named and coloured by feature and finding, PDF (needs Chromium).",
)
@click.option(
    "--fail-on", type=click.Choice(LEVELS), help="Level from which findings fail the gate, instead of the policy's."
)
@click.option("--since", metavar="REV", help="Only models that differ from this revision of their git work tree.")
@click.option("--fresh", is_flag=True, help="Make every report anew, also of models that did not change.")
@click.option("--accept", metavar="FILE", type=click.Path(path_type=Path), help=ACCEPT_HELP)
@click.option("--reason", help="Why they are accepted; needed with --accept.")
@click.option("--owner", help="Who accepts them.")
@click.option(
    "--expires",
    metavar="DATE",
    type=click.DateTime(("%Y-%m-%d",)),
    help="Last day on which that counts, as 2027-06-30.",
)
@click.option("--quiet", is_flag=True, help="No progress and no summary; errors are still shown.")
@click.option("--verbose", is_flag=True, help="Show what went wrong inside, with tracebacks.")
def check(
    paths: tuple[str, ...],
    out: str,
    form: str,
    shop: str | None,
    policy: str | None,
    baseline: str | None,
    material: str | None,
    quantity: int,
    repair: bool,
    jobs: int,
    timeout: float,
    memory: int,
    files_per_child: int,
    no_html: bool,
    exports: tuple[str, ...],
    fail_on: str | None,
    since: str | None,
    fresh: bool,
    accept: Path | None,
    reason: str | None,
    owner: str | None,
    expires: datetime.datetime | None,
    quiet: bool,
    verbose: bool,
) -> None:
    """Analyse STEP files and write a report for each.

    PATH is a file, a folder (searched with all below it for .step .stp .stpz .p21 .zip, in any case), or - for a list
    of paths on stdin, one on each line.

    Exit status: 0 nothing fails the gate; 1 something fails it; 2 wrong usage or settings, or a PATH with nothing in
    it; 3 at least one model could not be analysed (it is still reported). Of several, 2 goes before 3 before 1.
    """
    from worker.sandbox import Sandbox
    from worker.store import MEMORY as CHECKED

    def path(name: str | None) -> Path | None:
        return None if name is None else Path(name)

    if no_html and "pdf" in exports:
        raise click.UsageError("--export pdf prints report.html: it cannot go with --no-html")
    if accept is not None and not reason:
        raise click.UsageError("--accept: found no --reason, expected one: who reads the file wants to know why")
    with Sandbox(warm=False) as sandbox:
        if not (Path(out) / CHECKED).exists():
            sandbox.start()  # it loads while this process loads the rest
        from api.accept import Acceptance
        from api.check import Order, run_check

        until = None if expires is None else expires.date()
        acceptance = Acceptance(path=accept, reason=reason, owner=owner, expires=until) if accept and reason else None
        order = Order(
            paths=paths,
            out=Path(out),
            form=form,
            shop=path(shop),
            policy=path(policy),
            baseline=path(baseline),
            material=material,
            quantity=quantity,
            repair=repair,
            jobs=jobs,
            seconds=timeout,
            memory_mib=memory,
            files_per_child=files_per_child,
            html=not no_html,
            exports=exports,
            fail_on=fail_on,
            since=since,
            fresh=fresh,
            acceptance=acceptance,
            quiet=quiet,
            verbose=verbose,
        )
        sys.exit(run_check(order, sandbox))


@main.command()
@click.argument("old", metavar="OLD", type=click.Path(path_type=Path))
@click.argument("new", metavar="NEW", type=click.Path(path_type=Path))
@click.option(
    "--out",
    default=Path("reports/comparison"),
    show_default=True,
    metavar="DIR",
    type=click.Path(file_okay=False, path_type=Path),
    help="Folder for comparison.json and comparison.html.",
)
@click.option(
    "--format",
    "form",
    default="table",
    show_default=True,
    type=click.Choice(("table", "json", "markdown")),
    help="What is printed on stdout.",
)
@click.option("--shop", metavar="FILE", type=click.Path(path_type=Path), help="The shop to judge both by (TOML).")
@MATERIAL
@QUANTITY
@REPAIR
@click.option(
    "--timeout",
    default=240.0,
    show_default=True,
    metavar="SECONDS",
    type=click.FloatRange(min=0, min_open=True),
    help="Time limit for both models together.",
)
@click.option(
    "--memory", default=2048, show_default=True, metavar="MIB", type=click.IntRange(min=1), help="Memory limit."
)
@click.option("--no-html", is_flag=True, help="Write comparison.json only.")
@click.option("--quiet", is_flag=True, help="Print nothing; the exit status tells.")
def compare(
    old: Path,
    new: Path,
    out: Path,
    form: str,
    shop: Path | None,
    material: str | None,
    quantity: int,
    repair: bool,
    timeout: float,
    memory: int,
    no_html: bool,
    quiet: bool,
) -> None:
    """Say what changed between two revisions of a part, wherever the new one lies.

    Features are matched and called changed, added or removed, with what follows for size, walls, time and questions.

    Exit status: 0 same geometry; 1 something differs (a mirror image too); 2 wrong usage or settings; 3 a model could
    not be analysed.
    """
    from worker.sandbox import COMPARE, Sandbox

    with Sandbox(COMPARE) as sandbox:
        sandbox.start()  # it loads while this process loads the rest
        from api.compare import Comparing, run_compare

        order = Comparing(
            old=old,
            new=new,
            out=out,
            form=form,
            shop=shop,
            material=material,
            quantity=quantity,
            repair=repair,
            seconds=timeout,
            memory_mib=memory,
            html=not no_html,
            quiet=quiet,
        )
        sys.exit(run_compare(order, sandbox))


@main.command()
def schema() -> None:
    """Print the JSON Schema of report.json."""
    from analyzers.report.schema import schema_text

    click.echo(schema_text())


@main.command()
@click.argument("names", nargs=-1, metavar="[RULE...]")
@click.option("--format", "form", type=click.Choice(["text", "html"]), default="text", help="A page, or plain text.")
def rules(names: tuple[str, ...], form: str) -> None:
    """Explain the rules: what, why, what instead, and each limit with its source."""
    from api.explain import rules_html, rules_text

    try:
        click.echo(rules_text(names) if form == "text" else rules_html(names))
    except KeyError as error:
        _complain(error.args[0])


@main.command()
@click.option(
    "--check", "checked", metavar="FILE", type=click.Path(), help="Check a shop file: every mistake on a line."
)
def shop(checked: str | None) -> None:
    """Print the example shop file to start one's own from, or check one."""
    from api.explain import example_shop, shop_mistakes

    if checked is None:
        click.echo(example_shop())
        return
    mistakes = shop_mistakes(Path(checked))
    if mistakes:
        _complain("\n".join(mistakes))
    click.echo(f"{checked}: no mistakes")


for command in (serve, worker, token):
    main.add_command(command)


def _complain(text: str) -> None:
    """Say what is wrong and end."""
    sys.exit(refuse(text))
