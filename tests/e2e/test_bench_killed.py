"""The server is killed at random moments while benches enter: what was acknowledged is there, once each, in order."""

from __future__ import annotations

import json
import random
import sqlite3
import threading
import time
from contextlib import closing
from datetime import UTC, datetime
from http.client import HTTPConnection, HTTPException
from pathlib import Path
from uuid import uuid4

import pytest

from support.patience import PATIENCE_S
from support.serving import NEW, Serving
from unfasten.store.contract import Store
from unfasten.store.database import open_database

KILLS = 300
WRITERS = 3


class Writer(threading.Thread):
    """A page that sends its queue in order, each line until it is acknowledged, as `static/queue.js` does."""

    def __init__(self, server: Serving, number: int, stop: threading.Event) -> None:
        super().__init__(daemon=True)
        self.server, self.number, self.stop = server, number, stop
        self.token = server.token()
        self.acknowledged: list[tuple[str, str]] = []
        self.retries = 0

    def run(self) -> None:
        count = 0
        while not self.stop.is_set():
            batch = [(str(uuid4()), f"note bench {self.number} line {count + n}") for n in range(random.randint(1, 3))]
            count += len(batch)
            while not self.stop.is_set() and not self._sent(batch):
                self.retries += 1
                time.sleep(0.01)

    def _sent(self, batch: list[tuple[str, str]]) -> bool:
        lines = [{"id": entry, "line": line, "at": datetime.now(UTC).isoformat()} for entry, line in batch]
        page = HTTPConnection(self.server.base.removeprefix("http://"), timeout=5)
        headers = {"x-unfasten-token": self.token, "content-type": "application/json"}
        try:
            page.request("POST", "/api/records/slab/lines", json.dumps({"lines": lines}), headers)
            answer = page.getresponse()
            kept = json.loads(answer.read())["kept"] if answer.status == 200 else []
        except (OSError, HTTPException, ValueError):
            return False
        finally:
            page.close()
        done = {one["id"] for one in kept if one["ok"]}
        self.acknowledged += [one for one in batch if one[0] in done]
        return len(done) == len(batch)


def lines_of(store: Store) -> list[tuple[str, str]]:
    return [(entry.id, entry.tree["text"]) for entry in store.entries("slab") if entry.kind == "line"]


@pytest.mark.long
def test_no_acknowledged_entry_is_lost_in_300_kills(tmp_path: Path) -> None:
    server = Serving(tmp_path).start()
    stop = threading.Event()
    try:
        server.wait()
        server.post("/api/records", NEW)
        writers = [Writer(server, number, stop) for number in range(WRITERS)]
        for writer in writers:
            writer.start()
        chance, killed = random.Random(7), 0
        while killed < KILLS:
            before = sum(len(writer.acknowledged) for writer in writers)
            # most kills fall into the work of a server that has begun to answer, some into its start
            patience = time.monotonic() + (PATIENCE_S if chance.random() < 0.8 else 0.1)
            while time.monotonic() < patience:
                if sum(len(writer.acknowledged) for writer in writers) > before:
                    break
                time.sleep(0.005)
            time.sleep(chance.uniform(0, 0.05))
            server.kill()
            killed += 1
            server.start()
        server.wait()
        stop.set()
        for writer in writers:
            writer.join(PATIENCE_S)
            assert not writer.is_alive()
    finally:
        server.close()
    store = open_database(f"sqlite:///{tmp_path / 'ledger.sqlite'}", datetime.now(UTC))
    held = lines_of(store)
    store.close()
    assert len({entry for entry, _ in held}) == len(held)
    assert len({line for _, line in held}) == len(held), "a line stands there twice"
    for writer in writers:
        own = [one for one in held if one[1].startswith(f"note bench {writer.number} ")]
        lost = set(writer.acknowledged) - set(own)
        assert lost == set()
        numbers = [int(line.rpartition(" ")[2]) for _, line in own]
        assert numbers == sorted(numbers)
        assert len(writer.acknowledged) > 50
        assert writer.retries > 0
    with closing(sqlite3.connect(tmp_path / "ledger.sqlite")) as database:
        assert database.execute("pragma integrity_check").fetchone() == ("ok",)
