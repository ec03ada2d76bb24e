"""`unfasten serve` as a person runs it: who can reach it, what it refuses to do, and how it stops."""

from __future__ import annotations

import re
import shutil
import signal
import socket
import ssl
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import httpx
import pytest
from tests.conftest import missing
from tests.support.patience import PATIENCE_S

PASSWORD = "a quiet bench at dusk"
COMMAND = [sys.executable, "-W", "error", "-m", "unfasten"]


def run(*words: object, typed: str = "") -> subprocess.CompletedProcess[str]:
    """Run a command to its end."""
    given = [str(word) for word in words]
    return subprocess.run(
        [*COMMAND, *given], input=typed, capture_output=True, text=True, timeout=PATIENCE_S, check=False
    )


class Server:
    """A server that was started by the command; `url` is what it said."""

    def __init__(self, folder: Path, *words: str) -> None:
        self.folder = folder
        call = [*COMMAND, "serve", "-w", str(folder), "--port", "0", *words]
        self.process = subprocess.Popen(call, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        assert self.process.stdout is not None
        said = self.process.stdout.readline()
        found = re.search(r"https?://\S+:(\d+)", said)
        assert found is not None, (said, self.process.communicate(), self.process.returncode)
        self.url, self.port = found[0], int(found[1])

    def get(self, path: str = "/api/records", **how: object) -> httpx.Response:
        """Ask once the server answers."""
        door = httpx.HTTPTransport(retries=0, verify=how.pop("verify", True))  # type: ignore[arg-type]
        with httpx.Client(transport=door, timeout=PATIENCE_S) as client:
            return client.get(f"{self.url}{path}", **how)  # type: ignore[arg-type]

    def stop(self, by: signal.Signals = signal.SIGINT) -> tuple[int, str]:
        """Stop it as Ctrl-C does; give its exit status and what it complained of."""
        self.process.send_signal(by)
        _, complaints = self.process.communicate(timeout=PATIENCE_S)
        return self.process.returncode, complaints


@contextmanager
def serving(folder: Path, *words: str) -> Iterator[Server]:
    """A server that is ended at the end whatever happens."""
    server = Server(folder, *words)
    try:
        yield server
    finally:
        if server.process.poll() is None:
            server.process.kill()
        server.process.communicate()


@pytest.fixture(scope="module")
def lab_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A workspace with one account, made on the command line."""
    folder = tmp_path_factory.mktemp("lab")
    made = run("account", "add", "pia", "--role", "publisher", "-w", folder, typed=f"{PASSWORD}\n")
    assert made.returncode == 0, made.stderr
    return folder


def listening(port: int) -> set[str]:
    """Addresses on which somebody listens on a port, as the kernel lists them."""
    found = set()
    for name in ("tcp", "tcp6"):
        for row in Path(f"/proc/net/{name}").read_text("ascii").splitlines()[1:]:
            local, state = row.split()[1], row.split()[3]
            address, _, number = local.rpartition(":")
            if state == "0A" and int(number, 16) == port:
                found.add(address)
    return found


def test_it_serves_this_machine_and_stops_in_good_order(tmp_path: Path) -> None:
    with serving(tmp_path) as server:
        assert server.url.startswith("http://127.0.0.1:")
        assert server.get().status_code == 200
        if Path("/proc/net/tcp").exists():
            assert listening(server.port) == {"0100007F"}
        assert server.get(headers={"host": "evil.example"}).status_code == 421
        assert "server" not in server.get().headers
        assert server.stop() == (0, "")
        with pytest.raises(ConnectionRefusedError):
            socket.create_connection(("127.0.0.1", server.port), 5)


def test_it_stops_while_somebody_listens(tmp_path: Path) -> None:
    with serving(tmp_path) as server:
        token = re.search(r'name="token" content="(\w+)"', server.get("/").text)
        assert token is not None
        new = {"id": "slab", "name": "Slab", "maker": "Fellwright", "category": "slate-tablet"}
        headers = {"x-unfasten-token": token[1]}
        assert httpx.post(f"{server.url}/api/records", json=new, headers=headers, timeout=PATIENCE_S).status_code == 201
        began, heard = threading.Event(), []

        def listen() -> None:
            with httpx.stream("GET", f"{server.url}/api/records/slab/live", timeout=PATIENCE_S) as stream:
                try:
                    for text in stream.iter_text():
                        heard.append(text)
                        began.set()
                except httpx.HTTPError:
                    heard.append("cut off")

        listener = threading.Thread(target=listen)
        listener.start()
        assert began.wait(PATIENCE_S)
        status, complaints = server.stop()
        listener.join(PATIENCE_S)
        assert not listener.is_alive()
        assert (status, complaints) == (0, "")
        assert heard[0].startswith("event: rows")


def test_told_to_end_it_ends(tmp_path: Path) -> None:
    with serving(tmp_path) as server:
        assert server.get().status_code == 200
        status, complaints = server.stop(signal.SIGTERM)
        assert status in (0, -signal.SIGTERM)
        assert complaints == ""


@pytest.mark.parametrize("host", ["0.0.0.0", "::", "192.0.2.1", "bench.example", "", "10.0.0.5", "[::]", "0"])
def test_other_machines_are_not_let_in_without_a_lab(tmp_path: Path, host: str) -> None:
    done = run("serve", "-w", tmp_path, "--port", 0, "--host", host)
    assert done.returncode == 2
    assert "[serve.open-door]" in done.stderr
    assert "--lab" in done.stderr
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("host", ["localhost", "127.0.0.2", "LOCALHOST"])
def test_this_machine_has_several_names(tmp_path: Path, host: str) -> None:
    with serving(tmp_path, "--host", host) as server:
        url = f"http://{host.lower()}:{server.port}/api/records"
        assert httpx.get(url, timeout=PATIENCE_S).status_code == 200


def test_the_lab_lets_in_who_signs_in(lab_folder: Path) -> None:
    with serving(lab_folder, "--lab") as server:
        assert server.get().status_code == 401
        with httpx.Client(base_url=server.url, timeout=PATIENCE_S) as client:
            assert client.get("/").headers["location"] == "/sign-in"
            wrong = client.post("/sign-in", data={"name": "pia", "password": "wrong"})
            assert wrong.status_code == 401
            right = client.post("/sign-in", data={"name": "pia", "password": PASSWORD})
            assert (right.status_code, right.headers["location"]) == (303, "/")
            assert client.get("/api/records").json() == {"records": []}
            assert "pia, publisher" in client.get("/").text
        assert server.stop() == (0, "")


def test_a_disabled_account_is_out_of_the_running_server_at_once(tmp_path: Path) -> None:
    for name in ("pia", "paul"):
        run("account", "add", name, "--role", "publisher", "-w", tmp_path, typed=f"{PASSWORD}\n")
    with serving(tmp_path, "--lab") as server, httpx.Client(base_url=server.url, timeout=PATIENCE_S) as client:
        client.post("/sign-in", data={"name": "paul", "password": PASSWORD})
        assert client.get("/api/records").status_code == 200
        assert run("account", "disable", "paul", "-w", tmp_path).returncode == 0
        assert client.get("/api/records").status_code == 401


def test_the_audit_is_listed(lab_folder: Path) -> None:
    with serving(lab_folder, "--lab") as server:
        httpx.post(f"{server.url}/sign-in", data={"name": "eve\n2026", "password": "wrong"}, timeout=PATIENCE_S)
        httpx.post(f"{server.url}/sign-in", data={"name": "pia", "password": PASSWORD}, timeout=PATIENCE_S)
    rows = [row.split(None, 2)[2].split() for row in run("account", "audit", "-w", lab_folder).stdout.splitlines()]
    assert rows[0] == ["account-made", "-", "pia", "(publisher)"]
    refused = ["sign-in-refused", "-", "a", "name", "that", "nobody", "has,", "from", "127.0.0.1"]
    assert rows[-2:] == [refused, ["signed-in", "pia", "127.0.0.1"]]


def test_a_lab_without_accounts_is_not_served(tmp_path: Path) -> None:
    done = run("serve", "-w", tmp_path, "--port", 0, "--lab")
    assert done.returncode == 2
    assert "[serve.no-account]" in done.stderr
    assert "unfasten account add" in done.stderr


def test_a_lab_on_a_network_is_called_by_its_names_only_and_told_what_is_open(lab_folder: Path) -> None:
    with serving(lab_folder, "--lab", "--host", "0.0.0.0", "--host-name", "Bench.example") as server:
        assert server.url == f"http://bench.example:{server.port}"
        local = f"http://127.0.0.1:{server.port}/sign-in"
        for host, status in (("bench.example", 200), ("BENCH.EXAMPLE:1", 200), ("other.example", 421)):
            assert httpx.get(local, headers={"host": host}, timeout=PATIENCE_S).status_code == status
        status, complaints = server.stop()
        assert status == 0
        assert complaints.startswith("Without --tls, passwords cross the network")


def test_a_port_that_is_taken_is_told(tmp_path: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        done = run("serve", "-w", tmp_path, "--port", taken.getsockname()[1])
    assert done.returncode == 2
    assert "[serve.port]" in done.stderr
    assert "--port" in done.stderr


def test_the_secret_of_the_workspace_is_for_its_owner_only(tmp_path: Path) -> None:
    with serving(tmp_path) as server:
        assert server.get().status_code == 200
        key = tmp_path / "server.key"
        assert key.stat().st_mode & 0o077 == 0
        first = re.search(r'name="token" content="(\w+)"', server.get("/").text)
        server.stop()
    with serving(tmp_path) as server:
        second = re.search(r'name="token" content="(\w+)"', server.get("/").text)
    assert first is not None
    assert second is not None
    assert first[1] == second[1]


@pytest.fixture(scope="module")
def certificate(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A certificate for 127.0.0.1, signed by itself."""
    if shutil.which("openssl") is None:
        missing("no openssl on the path: it makes the certificate of the test")
    folder = tmp_path_factory.mktemp("tls")
    made = (folder / "cert.pem", folder / "key.pem")
    words = ["req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes", "-days", "2"]
    words += ["-subj", "/CN=bench.example", "-addext", "subjectAltName=IP:127.0.0.1", "-out", str(made[0])]
    subprocess.run(["openssl", *words, "-keyout", str(made[1])], check=True, capture_output=True)
    return made


def test_over_tls_the_cookie_does_not_leave_it(lab_folder: Path, certificate: tuple[Path, Path]) -> None:
    trust = ssl.create_default_context(cafile=str(certificate[0]))
    with serving(lab_folder, "--lab", "--tls", *map(str, certificate)) as server:
        assert server.url.startswith("https://")
        sent = {"name": "pia", "password": PASSWORD}
        answer = httpx.post(f"{server.url}/sign-in", data=sent, verify=trust, timeout=PATIENCE_S)
        assert answer.status_code == 303
        cookie = answer.headers["set-cookie"]
        assert cookie.startswith("__Host-unfasten=")
        assert {"HttpOnly", "Secure", "Path=/", "SameSite=strict"} <= set(cookie.split("; "))
        assert answer.headers["strict-transport-security"] == "max-age=31536000"
        with pytest.raises(httpx.HTTPError):
            httpx.get(server.url.replace("https", "http"), timeout=PATIENCE_S).raise_for_status()
        assert server.stop() == (0, "")


def test_a_certificate_that_is_none_is_told(lab_folder: Path, tmp_path: Path) -> None:
    for name in ("cert.pem", "key.pem"):
        (tmp_path / name).write_text("this is no key", "ascii")
    done = run("serve", "-w", lab_folder, "--port", 0, "--tls", tmp_path / "cert.pem", tmp_path / "key.pem")
    assert done.returncode == 2
    assert "[serve.tls]" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_folder_that_cannot_be_made_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("this is no folder", "ascii")
    done = run("serve", "-w", tmp_path / "file" / "workspace", "--port", 0)
    assert done.returncode == 2
    assert "[workspace.folder]" in done.stderr
