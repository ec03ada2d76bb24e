"""What a power cut would leave: each entry and photo is flushed to the disk before the server acknowledges it.

No test can pull the cable of the machine on which it runs. This one watches the served bench's system calls (strace)
and checks their order, which is all that the program can do; the rest is the file system's and the disk's.
"""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import UTC, datetime
from uuid import UUID, uuid4, uuid5

import httpx
import pytest

from support.flushes import Trace
from support.patience import PATIENCE_S
from support.photo_files import jpeg
from support.serving import NEW, token_of
from unfasten.web.settings import server_key

CALLS = "trace=fsync,fdatasync,pwrite64,write,writev,sendto,sendmsg,rename,renameat,renameat2,mkdir,mkdirat"


@dataclass
class Seen:
    """A trace, as lines, with the ids that were acknowledged and the photo's SHA-256."""

    lines: list[str]
    ids: list[str]
    photo: str


@pytest.fixture(scope="module")
def seen(tmp_path_factory: pytest.TempPathFactory) -> Seen:
    """A served bench at which three enter at the same time, under strace."""
    if shutil.which("strace") is None:
        pytest.skip("NOT TRIED: no strace on the path, so the flushes before acknowledgements were not watched")
    folder = tmp_path_factory.mktemp("traced")
    trace = folder / "trace.txt"
    watch = ["strace", "-D", "-f", "-y", "-s", "20000", "-e", CALLS, "-e", "signal=none", "-o", str(trace)]
    if subprocess.run([*watch, "true"], capture_output=True, check=False).returncode != 0:
        pytest.skip("NOT TRIED: this machine lets no program be traced, so the flushes were not watched")
    command = [sys.executable, "-m", "unfasten", "serve", "-w", str(folder / "ws"), "--port", "0"]
    server = subprocess.Popen([*watch, *command], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    try:
        assert server.stdout is not None
        said = server.stdout.readline()
        found = re.search(r"http://\S+", said)
        assert found is not None, said
        headers = {"x-unfasten-token": token_of(server_key(folder / "ws"))}
        with httpx.Client(base_url=found[0], headers=headers, timeout=PATIENCE_S) as client:
            client.post("/api/records", json=NEW).raise_for_status()
            with ThreadPoolExecutor(3) as pool:
                ids = [one for each in pool.map(lambda _: enter(client, 6), range(3)) for one in each]
            files = {"file": ("bench.jpg", jpeg(64, 48), "image/jpeg")}
            client.post("/api/records/slab/photos", files=files).raise_for_status()
            photo = next(iter(client.get("/api/records/slab/photos").json()["photos"].values()))["file"]
    finally:
        server.terminate()
        server.communicate()
    return Seen(trace.read_text("utf-8", "replace").splitlines(), ids, str(photo))


def enter(client: httpx.Client, count: int) -> list[str]:
    """Enter remarks one after the other; give the ids that were acknowledged."""
    told = []
    for number in range(count):
        line = {"id": str(uuid4()), "line": f"note {number}", "at": datetime.now(UTC).isoformat()}
        answer = client.post("/api/records/slab/lines", json={"lines": [line]})
        told += [str(one["id"]) for one in answer.raise_for_status().json()["kept"] if one["ok"]]
    return told


def test_every_entry_is_flushed_before_it_is_acknowledged(seen: Seen) -> None:
    trace = Trace.of(seen.lines)
    assert len(seen.ids) == 18
    assert [one for one in seen.ids if trace.acknowledged(f'\\"id\\":\\"{one}') is None] == []
    assert trace.early(seen.ids) == []
    pieces = [str(uuid5(UUID(one), "0")) for one in seen.ids]
    for line, piece in zip(seen.ids, pieces, strict=True):
        told = trace.acknowledged(line)
        assert told is not None
        written = next(one for one in trace.calls if one.file.endswith("-wal") and piece in one.text)
        assert written.ended < told.began
        assert trace.is_flushed("-wal", written.ended, told.began), "what the line stands for is flushed with it"


def test_the_log_itself_is_in_its_folder_before_the_first_acknowledgement(seen: Seen) -> None:
    trace = Trace.of(seen.lines)
    first = trace.acknowledged(seen.ids[0])
    assert first is not None
    assert trace.is_flushed("/ws", 0, first.began)


def test_a_photo_and_its_name_are_flushed_before_the_entry_that_names_it(seen: Seen) -> None:
    trace = Trace.of(seen.lines)
    named = next(one for one in trace.calls if one.name.startswith("rename") and seen.photo in one.text)
    entry = next(one for one in trace.calls if one.file.endswith("-wal") and seen.photo in one.text)
    part = re.findall(r'"([^"]+\.part)"', named.text)[0]
    wrote = [one for one in trace.calls if one.file == part and one.name == "write"]
    assert wrote
    assert trace.is_flushed(part, wrote[-1].ended, named.began)
    assert trace.is_flushed(f"/photos/{seen.photo[:2]}", named.ended, entry.began)
    made = next(one for one in trace.calls if one.name.startswith("mkdir") and f"/photos/{seen.photo[:2]}" in one.text)
    assert trace.is_flushed("/photos", made.ended, entry.began)


def test_the_check_finds_what_is_acknowledged_too_early(seen: Seen) -> None:
    """The same trace without its flushes, and with each flush after the acknowledgement, has every entry as early."""
    careless = [line for line in seen.lines if not re.search(r"\bf(data)?sync\b", line)]
    assert Trace.of(careless).early(seen.ids) == seen.ids
    late = careless + [line for line in seen.lines if re.search(r"\bf(data)?sync\b", line)]
    assert Trace.of(late).early(seen.ids) == seen.ids
