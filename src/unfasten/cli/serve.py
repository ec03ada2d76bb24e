"""`unfasten serve`: the bench in the browser."""

from __future__ import annotations

import socket
from datetime import date, datetime
from pathlib import Path

import click

from unfasten.evidence.errors import CallError
from unfasten.service.settings import WORKSPACE

#: addresses that stand for all of this machine
ANYWHERE = ("0.0.0.0", "::")


@click.command("serve")
@click.option("-o", "--workspace", "folder", type=click.Path(path_type=Path), default=WORKSPACE, show_default=True)
@click.option("--host", default="127.0.0.1", show_default=True, help="Address to listen on.")
@click.option("--port", default=8080, show_default=True, type=click.IntRange(0, 65535), help="0 takes a free one.")
@click.option("--lab", is_flag=True, help="Serve a lab's network: everybody signs in (see 'unfasten account').")
@click.option("--host-name", "names", multiple=True, help="A name by which the server is called.")
@click.option("--tls", "tls", nargs=2, type=click.Path(exists=True, dir_okay=False), help="Certificate and key (PEM).")
@click.option("--as", "name", default="bench", show_default=True, help="Who enters, without --lab.")
@click.option("--on", type=click.DateTime(["%Y-%m-%d"]), help="Day of the rules (default: today).")
def command(
    folder: Path,
    host: str,
    port: int,
    lab: bool,
    names: tuple[str, ...],
    tls: tuple[str, str] | None,
    name: str,
    on: datetime | None,
) -> None:
    """Serve the bench: record a disassembly live, and see at once what it means.

    Without --lab only this machine is served, and nobody has to sign in.
    """
    import uvicorn

    from unfasten.web.app import make_app
    from unfasten.web.settings import LOOPBACK, WebSettings, server_key

    if not lab and host not in LOOPBACK:
        remedy = "add --lab (everybody then signs in), or leave --host out"
        raise CallError("serve.open-door", "--host", f"{host} can be reached from other machines", remedy)
    listening = _listen(host, port)
    shown = listening.getsockname()[1]
    scheme = "https" if tls else "http"
    called = [one.lower() for one in (*names, host) if one not in ANYWHERE]
    hosts = tuple(dict.fromkeys([*LOOPBACK, *called]))
    first = next((one for one in called if one not in LOOPBACK), None)
    settings = WebSettings(
        folder,
        on.date() if on else date.today(),
        server_key(folder),
        lab=lab,
        secure=bool(tls),
        name=name,
        hosts=hosts,
        base=f"{scheme}://{first}:{shown}" if lab and first else None,
    )
    click.echo(f"The bench is at {scheme}://{first or '127.0.0.1'}:{shown} (workspace {folder}; stop with Ctrl-C)")
    config = uvicorn.Config(
        make_app(settings),
        log_level="warning",
        server_header=False,
        ssl_certfile=tls[0] if tls else None,
        ssl_keyfile=tls[1] if tls else None,
        timeout_graceful_shutdown=2,
    )
    uvicorn.Server(config).run(sockets=[listening])


def _listen(host: str, port: int) -> socket.socket:
    try:
        listening = socket.create_server((host, port), family=socket.AF_INET6 if ":" in host else socket.AF_INET)
    except OSError as error:
        remedy = "name another --port, or 0 for a free one"
        raise CallError("serve.port", f"{host}:{port}", error.strerror or str(error), remedy) from error
    return listening
