"""The command ``bloomless``: one sub-command a job.

Exit codes: 0 done, 1 the job says no (a finding that blocks, a bowl not in temper), 2 wrong usage, 3 bad input,
4 a device, book or file that cannot be reached, 130 stopped by the person.
"""

from __future__ import annotations

import sys
from typing import Annotated

import typer
from rich.console import Console

from bloomless import __version__
from bloomless.cli import bench, demo, label, practice, probe, replay, rules, schema, serve, sources, study
from bloomless.errors import BloomlessError, DeviceFailure, StorageFailure

__all__ = ["app", "main"]

app = typer.Typer(
    name="bloomless",
    help=__doc__,
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
# One module a command or group of commands; each brings its own function, help included.
app.command("bench")(bench.bench)
app.command("demo")(demo.demo)
app.command("practice")(practice.practice)
app.add_typer(label.app, name="label")
app.add_typer(probe.app, name="probe")
app.command("replay")(replay.replay)
app.add_typer(rules.app, name="rules")
app.command("schema")(schema.schema)
app.command("sources")(sources.sources)
app.command("serve")(serve.serve)
app.command("study")(study.study)


def _show_version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"bloomless {__version__}")
        raise typer.Exit


@app.callback()
def _root(
    version: Annotated[
        bool, typer.Option("--version", help="Show the version and stop.", callback=_show_version, is_eager=True)
    ] = False,
) -> None:
    pass


def main() -> None:
    """Run the command; a named error becomes one sentence on standard error and an exit code."""
    try:
        app()
    except BloomlessError as error:
        Console(stderr=True, highlight=False, markup=False).print(f"bloomless: {error}")
        sys.exit(4 if isinstance(error, DeviceFailure | StorageFailure) else 3)
    except KeyboardInterrupt:
        sys.exit(130)
    except BrokenPipeError:
        # The reader went away (`bloomless … | head`): that is not an error of ours.
        sys.stderr.close()
        sys.exit(0)
