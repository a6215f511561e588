"""The command ``bloomless``: one sub-command a job.

Exit codes: 0 done, 1 the job says no (a finding that blocks, a bowl not in temper), 2 wrong usage, 3 bad input,
4 a device, book or file that cannot be reached, 130 stopped by the person.
"""

from __future__ import annotations

import sys
from importlib import import_module
from typing import Annotated, Final

import typer
from rich.console import Console

from bloomless import __version__
from bloomless.cli.firsts import in_words
from bloomless.errors import BloomlessError, DeviceFailure, StorageFailure

__all__ = ["COMMANDS", "command_line", "main"]

COMMANDS: Final = (
    "backup",
    "bench",
    "demo",
    "label",
    "mould",
    "practice",
    "probe",
    "recipe",
    "replay",
    "rules",
    "schema",
    "serve",
    "sources",
    "study",
)
"""One module of ``bloomless.cli`` each. A module brings a group of commands as ``app``, or a function of its own name.

Only the module that is asked for is imported: a bench answers within a second or so, and need not wait for plots, law
and paper.
"""


def _show_version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"bloomless {__version__}")
        raise typer.Exit


def _root(
    version: Annotated[
        bool, typer.Option("--version", help="Show the version and stop.", callback=_show_version, is_eager=True)
    ] = False,
) -> None:
    pass


def command_line(*names: str) -> typer.Typer:
    """The command with these sub-commands; with all of them if none is named."""
    app = typer.Typer(
        name="bloomless",
        help=__doc__,
        no_args_is_help=True,
        add_completion=False,
        pretty_exceptions_enable=False,
        rich_markup_mode=None,
    )
    app.callback()(_root)
    for name in names or COMMANDS:
        module = import_module(f"bloomless.cli.{name}")
        if hasattr(module, "app"):
            app.add_typer(module.app, name=name)
        else:
            app.command(name)(getattr(module, name))
    return app


def __getattr__(name: str) -> typer.Typer:
    if name == "app":
        return command_line()
    raise AttributeError(name)


def main() -> None:
    """Run the command; a named error becomes one sentence on standard error and an exit code."""
    wanted = [word for word in sys.argv[1:2] if word in COMMANDS]
    try:
        command_line(*wanted)()
    except BloomlessError as error:
        Console(stderr=True, highlight=False, markup=False).print(f"bloomless: {in_words(error)}", soft_wrap=True)
        sys.exit(4 if isinstance(error, DeviceFailure | StorageFailure) else 3)
    except KeyboardInterrupt:
        sys.exit(130)
    except BrokenPipeError:
        # The reader went away (`bloomless … | head`): that is not an error of ours.
        sys.stderr.close()
        sys.exit(0)
