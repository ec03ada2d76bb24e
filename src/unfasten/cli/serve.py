"""`unfasten serve`: the bench in the browser."""

from __future__ import annotations

import socket
from contextlib import suppress
from datetime import date, datetime
from ipaddress import ip_address
from pathlib import Path
from typing import TYPE_CHECKING

import click

from unfasten.evidence.errors import CallError
from unfasten.service.settings import WORKSPACE

if TYPE_CHECKING:
    import uvicorn
    from fastapi import FastAPI

    from unfasten.web.proxy import Address

#: addresses that stand for all of this machine
ANYWHERE = ("", "0.0.0.0", "::")


@click.command("serve")
@click.option("-w", "--workspace", "folder", type=click.Path(path_type=Path), default=WORKSPACE, show_default=True)
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen on.")
@click.option("--port", default=8080, show_default=True, type=click.IntRange(0, 65535), help="0 takes a free one.")
@click.option("--lab", is_flag=True, help="Serve a lab's network: everybody signs in (see 'unfasten account').")
@click.option("--host-name", "names", multiple=True, help="A name by which the server is called.")
@click.option("--tls", "tls", nargs=2, type=click.Path(exists=True, dir_okay=False), help="Certificate and key (PEM).")
@click.option(
    "--behind-tls-proxy",
    "proxies",
    multiple=True,
    metavar="ADDRESS",
    help="Address of the proxy that speaks TLS for the server; nobody else is answered.",
)
@click.option("--as", "name", default="bench", show_default=True, help="Who enters, without --lab.")
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), help="Day of the rules (default: today).")
def command(
    folder: Path,
    host: str,
    port: int,
    lab: bool,
    names: tuple[str, ...],
    tls: tuple[str, str] | None,
    proxies: tuple[str, ...],
    name: str,
    on: datetime | None,
) -> None:
    """Serve the bench: record a disassembly live, and see at once what it means.

    Without --lab only this machine is served, and nobody has to sign in.
    """
    import uvicorn

    from unfasten.web.app import make_app
    from unfasten.web.settings import LOOPBACK, WebSettings, server_key

    host = host.strip("[]").lower()
    is_own = _is_this_machine(host)
    if not lab and not is_own:
        remedy = "add --lab (everybody then signs in), or leave --host out"
        raise CallError("serve.open-door", "--host", f"{host} can be reached from other machines", remedy)
    trusted = _proxies(proxies, names, lab=lab)
    if lab:
        _check_accounts(folder)
    listening = _listen(host, port)
    shown = f":{listening.getsockname()[1]}"
    scheme = "https" if tls or trusted else "http"
    address = f"[{host}]" if ":" in host else host
    called = [one.lower() for one in (*names, address) if one.strip("[]") not in ANYWHERE]
    hosts = tuple(dict.fromkeys([*LOOPBACK, *called]))
    first = next((one for one in called if one not in LOOPBACK), None)
    if trusted:  # browsers call the proxy, which has a port of its own
        first, _, number = names[0].lower().partition(":")
        shown = f":{number}" if number else ""
        hosts = tuple(dict.fromkeys(one.lower().partition(":")[0] for one in names))
    settings = WebSettings(
        folder,
        on.date() if on else date.today(),
        server_key(folder),
        lab=lab,
        secure=bool(tls or trusted),
        name=name,
        hosts=hosts,
        base=f"{scheme}://{first}{shown}" if lab and first else None,
        proxies=trusted,
    )
    if lab and not tls and not is_own:
        where = "between the proxy and this server" if trusted else "the network"
        click.echo(f"Without --tls, passwords cross {where} as they are typed", err=True)
    if lab and first is None and not is_own:
        click.echo("Without --host-name, other machines are not served: name what they will call it", err=True)
    app = make_app(settings)
    config = uvicorn.Config(
        app,
        log_level="warning",
        server_header=False,
        proxy_headers=False,  # what a proxy says is read by web.proxy, if one is named
        ssl_certfile=tls[0] if tls else None,
        ssl_keyfile=tls[1] if tls else None,
        timeout_graceful_shutdown=10,
    )
    try:
        config.load()
    except OSError as error:
        remedy = "name a certificate and its key, both as PEM"
        raise CallError("serve.tls", tls[0] if tls else "", error.strerror or str(error), remedy) from error
    behind = f"for the proxy at {address}:{listening.getsockname()[1]}; " if trusted else ""
    where = f"{scheme}://{first or '127.0.0.1'}{shown}"
    click.echo(f"The bench is at {where} ({behind}workspace {folder}; stop with Ctrl-C)")
    with suppress(KeyboardInterrupt):  # the server has stopped in good order when it passes Ctrl-C on
        _server(config, app).run(sockets=[listening])


def _proxies(given: tuple[str, ...], names: tuple[str, ...], *, lab: bool) -> frozenset[Address]:
    """Addresses of the proxies; `CallError` for what is none, and for a server that they would open to everybody."""
    from unfasten.web.proxy import address_of

    wrong = [one for one in given if address_of(one) is None]
    if wrong:
        remedy = "give the address from which the proxy calls, such as 127.0.0.1"
        raise CallError("serve.proxy", "--behind-tls-proxy", f"{', '.join(wrong)} is no address", remedy)
    if given and not (lab and names):
        remedy = "add --lab, and --host-name with the name by which browsers call the proxy"
        raise CallError("serve.proxy", "--behind-tls-proxy", "a proxy opens the server to others", remedy)
    return frozenset(found for found in map(address_of, given) if found is not None)


def _server(config: uvicorn.Config, app: FastAPI) -> uvicorn.Server:
    """A server that ends the streams of its pages before it waits for what is under way."""
    import uvicorn

    class Server(uvicorn.Server):
        async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
            app.state.hub.hush()
            await super().shutdown(sockets)

    return Server(config)


def _listen(host: str, port: int) -> socket.socket:
    try:
        listening = socket.create_server((host, port), family=socket.AF_INET6 if ":" in host else socket.AF_INET)
    except OSError as error:
        remedy = "name another --port, or 0 for a free one"
        raise CallError("serve.port", f"{host}:{port}", error.strerror or str(error), remedy) from error
    return listening


def _is_this_machine(host: str) -> bool:
    if host == "localhost":
        return True
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return False


def _check_accounts(folder: Path) -> None:
    from unfasten.service.workspace import open_workspace

    with open_workspace(folder, datetime.now().astimezone()) as workspace:
        if any(account.disabled is None for account in workspace.store.accounts.all()):
            return
    remedy = "make the first account: unfasten account add NAME --role publisher"
    raise CallError("serve.no-account", "--lab", "there is no account by which somebody could sign in", remedy)
