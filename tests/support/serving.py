"""A served bench for tests: started, killed with SIGKILL, started again on the same port."""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import httpx

from support.patience import PATIENCE_S

ZYGOTE = Path(__file__).with_name("zygote.py")
NEW = {"id": "slab", "name": "Slab", "maker": "Fellwright", "category": "slate-tablet"}


class Serving:
    """A server on a workspace; `kill` leaves it no time for anything."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.pid: int | None = None
        command = [sys.executable, str(ZYGOTE), str(folder)]
        self.process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        self.base = f"http://127.0.0.1:{self._said()}"

    def _said(self) -> int:
        assert self.process.stdout is not None
        return int(self.process.stdout.readline())

    def start(self) -> Serving:
        assert self.process.stdin is not None
        self.process.stdin.write("start\n")
        self.process.stdin.flush()
        self.pid = self._said()
        return self

    def kill(self) -> None:
        if self.pid is not None:
            with contextlib.suppress(ProcessLookupError):
                os.kill(self.pid, signal.SIGKILL)
            self.pid = None

    def close(self) -> None:
        self.kill()
        self.process.kill()
        self.process.communicate()

    def wait(self, seconds: float = PATIENCE_S) -> None:
        """Wait until it answers."""
        until = time.monotonic() + seconds
        while time.monotonic() < until:
            try:
                httpx.get(f"{self.base}/api/records", timeout=20)
            except httpx.HTTPError:
                time.sleep(0.05)
            else:
                return
        raise TimeoutError("the server does not answer")

    def token(self) -> str:
        from unfasten.web.settings import server_key

        return token_of(server_key(self.folder))

    def post(self, path: str, body: Any) -> Any:
        headers = {"x-unfasten-token": self.token()}
        answer = httpx.post(f"{self.base}{path}", json=body, headers=headers, timeout=PATIENCE_S)
        answer.raise_for_status()
        return answer.json()

    def get(self, path: str) -> Any:
        answer = httpx.get(f"{self.base}{path}", timeout=PATIENCE_S)
        answer.raise_for_status()
        return answer.json()


def token_of(key: bytes) -> str:
    """The token of a page of a server for this machine only."""
    import hashlib
    import hmac

    return hmac.new(key, b"loopback", hashlib.sha256).hexdigest()
