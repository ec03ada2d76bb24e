"""A server that can be killed and started again at once: the program is loaded once, each start is a fork of it.

Run as a script: the workspace's folder is the argument. It says its port, then for every line `start` on its input
starts a server on that port and says its process number. The socket is kept open between servers, as with a service
manager that holds it, so that a client waits and is not refused.
"""

from __future__ import annotations

import os
import signal
import socket
import sys
from datetime import date
from pathlib import Path


def main(folder: Path) -> None:
    import sqlalchemy.dialects.sqlite  # noqa: F401 - loaded before the fork
    import uvicorn

    from unfasten.service.bench.ranked import ranked  # noqa: F401
    from unfasten.web.app import make_app
    from unfasten.web.settings import WebSettings, server_key

    signal.signal(signal.SIGCHLD, signal.SIG_IGN)
    listening = socket.create_server(("127.0.0.1", 0), backlog=256)
    settings = WebSettings(folder, date(2026, 6, 1), server_key(folder))
    app = make_app(settings)
    app.openapi()
    config = uvicorn.Config(app, log_level="error", server_header=False, loop="asyncio", ws="none")
    config.load()
    print(listening.getsockname()[1], flush=True)
    for line in sys.stdin:
        if line.strip() != "start":
            continue
        child = os.fork()
        if child == 0:
            sys.stdin.close()
            uvicorn.Server(config).run(sockets=[listening])
            os._exit(0)
        print(child, flush=True)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
