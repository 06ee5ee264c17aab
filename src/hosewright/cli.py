"""The command line: parse, call, show."""

from __future__ import annotations

import logging
import sys
from pathlib import Path
from typing import Annotated

import typer

from hosewright import __version__
from hosewright.errors import HosewrightError

BAD_INPUT = 2
SOMETHING_FAILS = 1

program = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    help="Hydraulic hose assemblies: chosen, proved and documented by computing the real shape of the hose.",
)


@program.callback()
def _options(
    version: Annotated[bool, typer.Option("--version", help="Print the version and stop.", is_eager=True)] = False,
) -> None:
    if version:
        typer.echo(f"hosewright {__version__}")
        raise typer.Exit


@program.command()
def warmup() -> None:
    """Compile the solver for this machine; needed once, and done by itself when it is first used."""
    from hosewright.mechanics import warm_up

    warm_up()
    typer.echo("The solver is ready.")


@program.command()
def demo(
    out: Annotated[Path, typer.Option("-o", "--out", help="Folder for the picture.")] = Path("out"),
) -> None:
    """Carry one hose through a swinging motion of 200 poses; prints a table and draws a picture."""
    from hosewright import app

    report = app.demonstrate(out)
    typer.echo(report)


def main() -> None:
    """Run the command line; what a user can mend is said in a sentence, with exit status 2."""
    logging.basicConfig(level=logging.WARNING, format="%(message)s", stream=sys.stderr)
    try:
        program()
    except HosewrightError as error:
        typer.echo(f"hosewright: {error}", err=True)
        sys.exit(BAD_INPUT)
