"""Writers that are killed at random moments, again and again, and the count of what they had acknowledged.

`python kill_writers.py FOLDER KILLS [early]`: three processes write sets of three entries and a photo each, and say of
each set that it is kept once the store has said so (with `early`: before, which must be found out). One after the
other is killed with SIGKILL and replaced. Prints JSON with what was killed, acknowledged, lost, torn and damaged.
"""

from __future__ import annotations

import json
import os
import random
import select
import signal
import sqlite3
import sys
import time
from contextlib import closing
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from uuid import uuid4

from unfasten.record.ledger import fold
from unfasten.store.blobs import Blobs
from unfasten.store.database import DatabaseStore, open_database
from unfasten.store.entry import draft_of

NOW = datetime(2026, 4, 1, 9, 0, tzinfo=UTC)
PRODUCT = {"id": "lamp", "name": "Lamp", "maker": "Fellwright", "category": "other"}
AT_ONCE = 3
SET = 3
#: longest time a writer lives after it was chosen [s]
LIFE = 0.02


@dataclass
class Writer:
    """A process that writes, and what it has said."""

    pid: int
    pipe: int
    said: bytearray = field(default_factory=bytearray)


def opened(folder: Path) -> DatabaseStore:
    """The store in the folder."""
    return open_database(f"sqlite:///{folder / 'ledger.sqlite'}", NOW)


def write(folder: Path, pipe: int, early: bool) -> None:
    """Write sets without end, and say which are kept."""
    store, blobs = opened(folder), Blobs(folder / "photos")
    while True:
        name = str(uuid4())
        photo = name.encode() * 50
        bodies = [{"entry": {"do": "note", "text": name, "n": number}} for number in range(SET)]
        drafts = [draft_of("lamp", "log", body, entry=uuid4(), at=NOW, by=str(os.getpid())) for body in bodies]
        if early:
            os.write(pipe, f"{name}\n".encode())
        blobs.put(photo)
        store.append(*drafts)
        if not early:
            os.write(pipe, f"{name}\n".encode())


def start(folder: Path, early: bool) -> Writer:
    """Start a writer in a process of its own."""
    out, into = os.pipe()
    pid = os.fork()
    if pid == 0:
        os.close(out)
        try:
            write(folder, into, early)
        finally:
            os._exit(1)
    os.close(into)
    return Writer(pid, out)


def listen(writer: Writer, seconds: float) -> None:
    """Take down what a writer says for some time; what it said last may stand in the pipe."""
    end = time.monotonic() + seconds
    while (left := end - time.monotonic()) > 0 and select.select([writer.pipe], [], [], left)[0]:
        data = os.read(writer.pipe, 65536)
        if not data:
            return
        writer.said += data


def kill(writer: Writer) -> list[str]:
    """Kill a writer and give the sets that it had acknowledged; `RuntimeError` if it had ended by itself."""
    os.kill(writer.pid, signal.SIGKILL)
    _, status = os.waitpid(writer.pid, 0)
    if not os.WIFSIGNALED(status):
        raise RuntimeError(f"a writer ended by itself with status {os.waitstatus_to_exitcode(status)}")
    while data := os.read(writer.pipe, 65536):
        writer.said += data
    os.close(writer.pipe)
    return writer.said.decode().split("\n")[:-1]


def main(folder: Path, kills: int, early: bool) -> None:
    """Kill so many writers, then count."""
    store = opened(folder)
    store.put_record({"product": PRODUCT}, entry=uuid4(), at=NOW)
    store.close()
    chance = random.Random(kills)
    writers = [start(folder, early) for _ in range(AT_ONCE)]
    acknowledged: list[str] = []
    silent = 0
    for number in range(kills):
        writer = writers.pop(0)
        if number % 10:
            select.select([writer.pipe], [], [], 600)
        listen(writer, chance.uniform(0, LIFE))
        said = kill(writer)
        silent += not said
        acknowledged += said
        writers.append(start(folder, early))
    for writer in writers:
        acknowledged += kill(writer)
    json.dump({"kills": kills + len(writers), "silent": silent} | count(folder, acknowledged), sys.stdout)


def count(folder: Path, acknowledged: list[str]) -> dict[str, object]:
    """Compare what was acknowledged with what is there."""
    with closing(sqlite3.connect(folder / "ledger.sqlite")) as db:
        integrity = db.execute("pragma integrity_check").fetchone()[0]
        stray = db.execute("pragma foreign_key_check").fetchall()
    store, blobs = opened(folder), Blobs(folder / "photos")
    entries = store.entries("lamp")
    store.close()
    sets: dict[str, set[int]] = {}
    for entry in entries[1:]:
        sets.setdefault(entry.tree["entry"]["text"], set()).add(entry.tree["entry"]["n"])
    names = {blobs.get(path.name)[:36].decode() for path in blobs.folder.glob("??/*") if path.suffix != ".part"}
    return {
        "acknowledged": len(acknowledged),
        "lost": len(set(acknowledged) - set(sets)),
        "lost_photos": len(set(acknowledged) - names),
        "torn": sum(len(numbers) != SET for numbers in sets.values()),
        "gaps": sum(entry.seq != number for number, entry in enumerate(entries, 1)),
        "in_the_record": len(fold(entries).tree["log"]) == len(entries) - 1,
        "integrity": integrity,
        "stray": len(stray),
    }


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]), "early" in sys.argv[3:])
