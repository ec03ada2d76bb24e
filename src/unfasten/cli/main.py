"""Entry point of the command line: command groups are imported only when they run, so that help starts quickly."""

from __future__ import annotations

import importlib
import io
import sys
from types import MappingProxyType
from typing import Final

import click

from unfasten import __version__
from unfasten.evidence.errors import UnfastenError

#: command -> (module, one line of help)
COMMANDS: Final = MappingProxyType(
    {
        "account": ("unfasten.cli.account", "Make, list and disable the accounts of a lab."),
        "answer": ("unfasten.cli.answer", "Enter the answer to a bench question into a record."),
        "ask": ("unfasten.cli.ask", "Rank the bench questions by what an answer would narrow."),
        "battery": ("unfasten.cli.battery", "Work out label, bay, transport class and handling of a battery."),
        "camera": ("unfasten.cli.camera", "Calibrate a lens from photos of the mat, list lens profiles."),
        "check": ("unfasten.cli.check", "Read a record strictly and list every finding."),
        "compare": ("unfasten.cli.compare", "Show what changed between two to eight records, and how surely."),
        "demo": ("unfasten.cli.demo", "Run the main job on the shipped example records."),
        "exchange": ("unfasten.cli.exchange", "Judge which parts of a family serve in one another's place."),
        "identify": ("unfasten.cli.identify", "Name a thread, drive, package, date code or marking; use of a board."),
        "export": ("unfasten.cli.export", "Write a record of the workspace as YAML or as an archive."),
        "history": ("unfasten.cli.history", "List the ledger of a record, or show it as it once stood."),
        "import": ("unfasten.cli.importfile", "Take a record file or an archive into the workspace."),
        "index": ("unfasten.cli.index", "Compute a legal repair index as an interval, with reasons."),
        "mat": ("unfasten.cli.mat", "Write the bench mat, a PDF at exactly 1:1."),
        "measure": ("unfasten.cli.measure", "Measure on a photo, with uncertainty and budget."),
        "label": ("unfasten.cli.label", "Compute the quantities of the label from test figures."),
        "report": ("unfasten.cli.report", "Write the report of a record as HTML and PDF."),
        "requirements": ("unfasten.cli.requirements", "Judge the legal requirements one by one: four verdicts."),
        "routes": ("unfasten.cli.routes", "Find the shortest route to every part, proven."),
        "rubric": ("unfasten.cli.rubric", "Score a record by a rubric of your own, in percent."),
        "rules": ("unfasten.cli.rules", "List the rule sets, their state, and what is not coded."),
        "serve": ("unfasten.cli.serve", "Serve the bench in the browser: record a disassembly live."),
        "schema": ("unfasten.cli.schema", "Print the JSON Schema of the record file."),
        "swaps": ("unfasten.cli.swaps", "Lay out the swap tests of a family and the tests to run next."),
        "whatif": ("unfasten.cli.whatif", "Show what a change would do, or which one would help most."),
        "why": ("unfasten.cli.why", "Explain why a part sits as deep as it does."),
        "worktime": ("unfasten.cli.worktime", "Predict work times and compare them with the log."),
        "verify": ("unfasten.cli.verify", "Recompute every published check value on this machine."),
    }
)


class LazyGroup(click.Group):
    """A group whose commands live in modules of their own, each with a `command` attribute."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names of all commands."""
        return sorted(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import the command's module and give the command."""
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = importlib.import_module(COMMANDS[cmd_name][0]).command
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands from the table, without importing them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, COMMANDS[name][1]) for name in sorted(COMMANDS)])


@click.group(cls=LazyGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="unfasten")
def cli() -> None:
    """From one recorded disassembly: proven shortest routes, repair indices as intervals, and the report."""


def main() -> None:
    """Run the command line; an error that the user can mend is printed without a traceback."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")  # a terminal that lacks a letter still shows the rest
    try:
        cli()
    except UnfastenError as error:
        click.echo(f"unfasten: {error} [{error.code}]", err=True)
        sys.exit(error.exit_code)
