"""`unfasten account`: make, list and disable the accounts of a lab."""

from __future__ import annotations

import sys
from datetime import datetime
from pathlib import Path

import click

_FOLDER = click.option(
    "-w", "--workspace", "folder", type=click.Path(file_okay=False, path_type=Path), metavar="DIR",
    help="Folder of the workspace.  [default: workspace]",
)  # fmt: skip


@click.group("account")
def command() -> None:
    """Make, list and disable the accounts of a lab (the database that UNFASTEN_DB names, or the workspace's own).

    A reader looks, a recorder also adds entries and photos, a publisher also issues sheets and manages accounts.
    """


@command.command("add")
@click.argument("name")
@click.option("--role", required=True, metavar="ROLE", help="reader, recorder or publisher.")
@_FOLDER
def add(name: str, role: str, folder: Path | None) -> None:
    """Make an account NAME; the password is asked for, or read from the first line of stdin, never an argument."""
    from unfasten.service.accounts import add_account
    from unfasten.service.settings import WORKSPACE
    from unfasten.service.workspace import open_workspace

    password = _password()
    now = datetime.now().astimezone()
    with open_workspace(folder or WORKSPACE, now) as workspace:
        made = add_account(workspace.store.accounts, name, role, password, now)
    click.echo(f"{made.name}: {made.role}")


@command.command("list")
@_FOLDER
def list_accounts(folder: Path | None) -> None:
    """List the accounts with their roles."""
    from unfasten.service.settings import WORKSPACE
    from unfasten.service.workspace import open_workspace

    with open_workspace(folder or WORKSPACE, datetime.now().astimezone()) as workspace:
        held = workspace.store.accounts.all()
    width = max((len(account.name) for account in held), default=0)
    for account in held:
        state = f"disabled {account.disabled[:10]}" if account.disabled else f"since {account.made[:10]}"
        click.echo(f"{account.name:<{width}}  {account.role:<9}  {state}")
    if not held:
        click.echo("no accounts", err=True)


@command.command("disable")
@click.argument("name")
@_FOLDER
def disable(name: str, folder: Path | None) -> None:
    """Disable the account NAME and end its sessions at once."""
    from unfasten.service.accounts import disable_account
    from unfasten.service.settings import WORKSPACE
    from unfasten.service.workspace import open_workspace

    now = datetime.now().astimezone()
    with open_workspace(folder or WORKSPACE, now) as workspace:
        disable_account(workspace.store.accounts, name, now)
    click.echo(f"{name}: disabled")


@command.command("audit")
@_FOLDER
def audit(folder: Path | None) -> None:
    """List who signed in, was refused, and made keys and accounts, oldest first; records have ledgers of their own."""
    from unfasten.service.settings import WORKSPACE
    from unfasten.service.workspace import open_workspace

    with open_workspace(folder or WORKSPACE, datetime.now().astimezone()) as workspace:
        events = workspace.store.accounts.events()
    for event in events:
        about = "".join(letter if letter.isprintable() else "?" for letter in event.about)
        click.echo(f"{event.at[:19].replace('T', ' ')}  {event.what:<18}  {event.by or '-'}  {about}")


def _password() -> str:
    if sys.stdin.isatty():
        return str(click.prompt("Password", hide_input=True, confirmation_prompt="Once more"))
    return sys.stdin.readline().rstrip("\r\n")
