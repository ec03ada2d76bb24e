"""`unfasten serve --behind-tls-proxy` as a person runs it, with what a proxy would send over real connections."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import httpx
import pytest
from tests.e2e.test_serve_command import COMMAND, PASSWORD, run
from tests.support.patience import PATIENCE_S

TOLD = {"host": "bench.example", "x-forwarded-proto": "https", "x-forwarded-for": "198.51.100.7"}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A workspace with one account."""
    made = tmp_path_factory.mktemp("lab")
    assert run("account", "add", "pia", "--role", "publisher", "-w", made, typed=f"{PASSWORD}\n").returncode == 0
    return made


def client(url: str, address: str) -> httpx.Client:
    """A client that calls from an address of this machine."""
    door = httpx.HTTPTransport(local_address=address)
    return httpx.Client(base_url=url, transport=door, headers=TOLD, timeout=PATIENCE_S)


def test_only_the_proxy_is_answered_and_its_browsers_get_a_secure_cookie(folder: Path) -> None:
    words = ["--lab", "--behind-tls-proxy", "127.0.0.2", "--host-name", "bench.example:8443", "--port", "0"]
    call = [*COMMAND, "serve", "-w", str(folder), *words]
    server = subprocess.Popen(call, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    try:
        assert server.stdout is not None
        said = server.stdout.readline()
        found = re.match(r"The bench is at https://bench.example:8443 \(for the proxy at (127.0.0.1:\d+); ", said)
        assert found is not None, (said, server.poll())
        url = f"http://{found[1]}"
        with client(url, "127.0.0.1") as another, client(url, "127.0.0.2") as proxy:
            assert another.get("/sign-in").json()["code"] == "web.not-the-proxy"
            assert proxy.get("/sign-in").status_code == 200
            sent = {"name": "pia", "password": PASSWORD}
            answer = proxy.post("/sign-in", data=sent)
            assert answer.headers["set-cookie"].startswith("__Host-unfasten=")
            assert proxy.get("/", headers={"x-forwarded-proto": "http"}).json()["code"] == "web.proxy"
    finally:
        server.terminate()
        server.communicate()
    assert run("account", "audit", "-w", folder).stdout.splitlines()[-1].split()[-1] == "198.51.100.7"


def test_without_a_proxy_an_address_that_is_forwarded_is_not_believed(folder: Path) -> None:
    call = [*COMMAND, "serve", "-w", str(folder), "--lab", "--port", "0"]
    server = subprocess.Popen(call, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    try:
        assert server.stdout is not None
        found = re.search(r"http://\S+", server.stdout.readline())
        assert found is not None
        sent = {"name": "pia", "password": PASSWORD}
        answer = httpx.post(f"{found[0]}/sign-in", data=sent, headers={**TOLD, "host": "127.0.0.1"}, timeout=PATIENCE_S)
        assert answer.headers["set-cookie"].startswith("unfasten=")
    finally:
        server.terminate()
        server.communicate()
    assert run("account", "audit", "-w", folder).stdout.splitlines()[-1].split()[-1] == "127.0.0.1"


@pytest.mark.parametrize(
    "words",
    [
        ["--lab", "--host-name", "bench.example", "--behind-tls-proxy", "proxy.example"],
        ["--lab", "--host-name", "bench.example", "--behind-tls-proxy", "10.0.0.0/8"],
        ["--lab", "--behind-tls-proxy", "127.0.0.1"],
        ["--host-name", "bench.example", "--behind-tls-proxy", "127.0.0.1"],
    ],
)
def test_what_cannot_be_served_behind_a_proxy_is_told(folder: Path, words: list[str]) -> None:
    done = run("serve", "-w", folder, "--port", 0, *words)
    assert done.returncode == 2
    assert "[serve.proxy]" in done.stderr
