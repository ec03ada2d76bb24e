"""Files that are broken, odd or made to do harm get a clear error, in bounded time and memory.

A file that takes much is read by a process of its own: its address space and its time on the processor are limited by
the system, so that the test fails and not the machine, and a machine that is busy with other things fails no test.
"""

from __future__ import annotations

import json
import os
import resource
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest

from support.patience import PATIENCE_S
from unfasten.service.load import read_findings

MEMORY = 400 * 1024 * 1024
PROCESSOR_S = 60
HEAD = "format: unfasten-record/1\nproduct: {id: a, name: A, maker: Fellwright, category: other}\n"
BODY = "parts: {frame: {name: F, stays: true}}\njoints: {}\n"
LOG = f"{HEAD}{BODY}log: "


MEGA = "x" * 10**6


def _record(parts: int, joints: int, holds: str = "p") -> str:
    """A record with very many parts and joints, part n hidden by part n + 1."""
    lines = [
        HEAD + "parts:",
        "  frame: {name: F, stays: true}",
        *(f"  p{n}: {{name: P}}" for n in range(parts)),
        "joints:",
    ]
    for n in range(joints):
        way = f"{{under: [{holds}{(n + 1) % joints}]}}"
        lines.append(f"  j{n}: {{kind: clip, holds: [{holds}{n}, frame], reuse: reusable, ways: [{way}]}}")
    return "\n".join(lines) + "\n"


def _limit() -> None:
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    resource.setrlimit(resource.RLIMIT_CPU, (PROCESSOR_S, PROCESSOR_S))


def check(path: Path) -> tuple[int, dict[str, Any], str]:
    """Run the check on a file; give status, JSON and what stands on stderr."""
    done = subprocess.run(
        [sys.executable, "-c", "from unfasten.cli.main import main; main()", "check", str(path), "--json"],
        capture_output=True,
        timeout=PATIENCE_S,
        preexec_fn=_limit,
        check=False,
    )
    return done.returncode, json.loads(done.stdout or b"{}"), done.stderr.decode()


def _sparse(path: Path) -> None:
    with path.open("wb") as file:
        file.truncate(200 * 1024 * 1024)


def _bomb(levels: int, width: int) -> str:
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x, x]"]
    lines += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * width)}]" for n in range(1, levels)]
    return "\n".join(lines)


def _writes(data: str | bytes) -> Callable[[Path], None]:
    return lambda path: path.write_bytes(data if isinstance(data, bytes) else data.encode()) and None


#: what takes much -> (file name, how it is made, the code that must be told)
LARGE: dict[str, tuple[str, Callable[[Path], None], str]] = {
    "200 MB of nothing": ("big.yaml", _sparse, "data.too-large"),
    "just over the limit": ("over.yaml", _writes("# " + "x" * (8 * 1024 * 1024)), "data.too-large"),
    "aliases that multiply": ("bomb.yaml", _writes(_bomb(30, 10)), "data.too-large"),
    "aliases that multiply, as text": ("text.yaml", _writes(f"a: &a {MEGA}\nb: [{'*a, ' * 10**5}]"), "data.too-large"),
    "an alias inside itself": ("loop.yaml", _writes("a: &a [*a, *a]\n"), "data.loop"),
    "lists in lists": ("deep.yaml", _writes("[" * 10**6), "data.too-deep"),
    "mappings in mappings": ("deepmap.yaml", _writes("{a: " * 10**6), "data.too-deep"),
    "deep by indent": ("indent.yaml", _writes("\n".join(" " * n + "a:" for n in range(2000))), "data.too-deep"),
    "deep by dashes": ("dashes.yaml", _writes("- " * 10**5), "data.too-deep"),
    "keys in keys": ("keys.yaml", _writes("? " * 10**5), "data.key-not-text"),
    "deep JSON": ("deep.json", _writes("[" * 10**6), "data.too-deep"),
    "deep JSON objects": ("deepobj.json", _writes('{"a":' * 10**6), "data.too-deep"),
    "a huge number": ("int.json", _writes('{"a": ' + "9" * 10**6 + "}"), "data.number-too-long"),
    "a huge number in YAML": ("int.yaml", _writes("a: " + "9" * 10**6), "data.number-too-long"),
    "very many values": ("many.json", _writes("[" + "1," * 10**6 + "1]"), "data.too-large"),
    "very many values in YAML": ("many.yaml", _writes("- 1\n" * 10**6), "data.too-large"),
    "very many repeated keys": ("repeat.yaml", _writes("a: 1\n" * 10**6), "data.repeated-key"),
    "a key of 4 MB": ("key.json", _writes(json.dumps({"k" * (4 * 1024 * 1024): 1})), "record.unknown-key"),
    "a text of 7 MB": ("text7.yaml", _writes(f"{LOG}[{{do: note, text: {MEGA * 7}}}]"), "record.out-of-range"),
    "a quantity of 7 MB": ("mass.yaml", _writes(f"{LOG}[{{do: pause, took: {MEGA * 7} s}}]"), "record.bad-quantity"),
    "an open quote before 4 MB": ("quote.yaml", _writes("a: '" + "x\n" * (2 * 10**6)), "data.yaml-syntax"),
    "8 MB of empty lines": ("lines.yaml", _writes("\n" * 8_000_000), "data.empty"),
    "8 MB of empty lines in JSON": ("lines.json", _writes('{"a":' + "\n" * 8_000_000 + "}"), "data.json-syntax"),
    "JSON in one line": ("line.json", _writes('{"a": [' + '"b",' * 150_000 + "]}"), "data.json-syntax"),
    "8 MB of comments": ("comments.yaml", _writes("# x\n" * 2_000_000), "data.empty"),
    "8 MB of anchors without ends": ("anchors.yaml", _writes("- &a\n" * 1_500_000), "data.too-large"),
    "8 MB of aliases to nothing": ("aliases.yaml", _writes("- *a\n" * 1_500_000), "data.unknown-alias"),
    "very many unknown names": ("names.yaml", _writes(_record(1, 4000, holds="x")), "record.unknown-name"),
    "very many parts": ("parts.yaml", _writes(_record(40_000, 1)), "record.too-large"),
    "very many mistakes": ("wrong.yaml", _writes(f"{LOG}[{'{do: x}, ' * 60_000}]"), "record.bad-value"),
}  # fmt: skip
#: what is wrong with a small file, in the same form
SMALL: dict[str, tuple[str, Callable[[Path], None], str]] = {
    "a program": ("prog.yaml", _writes(b"\x7fELF\x02\x01\x01" + bytes(range(256)) * 100), "data.binary"),
    "a picture": ("photo.yaml", _writes(b"\xff\xd8\xff\xe0JFIF\x01\x02" * 50), "data.encoding"),
    "UTF-16": ("utf16.yaml", _writes((HEAD + BODY).encode("utf-16")), "data.encoding"),
    "UTF-16 without mark": ("utf16le.yaml", _writes((HEAD + BODY).encode("utf-16-le")), "data.binary"),
    "UTF-32": ("utf32.yaml", _writes((HEAD + BODY).encode("utf-32")), "data.encoding"),
    "Latin-1": ("latin.yaml", _writes(f"{HEAD}{BODY}# Rück".encode("latin-1")), "data.encoding"),
    "UTF-8 cut in a character": ("cut.yaml", _writes((HEAD + BODY + "# é").encode()[:-1]), "data.encoding"),
    "colours of a terminal": ("esc.yaml", _writes(HEAD + BODY + "# \x1b[31m"), "data.control-character"),
    "an escaped terminal code": ("esc2.yaml", _writes(HEAD + 'x: "\\e[31m"'), "data.control-character"),
    "half a character": ("half.json", _writes('{"format": "\\ud800"}'), "data.control-character"),
    "a repeated key": ("twice.yaml", _writes(HEAD + BODY + BODY), "data.repeated-key"),
    "tabs": ("tabs.yaml", _writes(HEAD + "parts:\n\tframe: {name: F}\n"), "data.tab"),
    "a tag that would run code": ("tag.yaml", _writes(HEAD + "x: !!python/object/apply:os.system [x]"), "data.tag"),
    "a merge key": ("merge.yaml", _writes("x: &x {a: 1}\ny: {<<: *x}\n"), "data.merge-key"),
    "two documents": ("two.yaml", _writes(HEAD + BODY + "---\n" + HEAD + BODY), "data.several-documents"),
    "a table": ("table.yaml", _writes("part,mass\nframe,92\ncover,78\n"), "record.wrong-type"),
    "a web page": ("page.yaml", _writes("<!doctype html>\n<html><body>x: y</body></html>\n"), "data.yaml-syntax"),
    "nothing": ("empty.yaml", _writes(""), "data.empty"),
    "only a byte-order mark": ("bom.yaml", _writes(b"\xef\xbb\xbf"), "data.empty"),
    "numbers for keys": ("numbers.yaml", _writes("1: a\n2: b\n"), "data.key-not-text"),
}  # fmt: skip


def _clear(findings: Sequence[dict[str, Any]], code: str) -> None:
    assert code in {finding["code"] for finding in findings}
    assert len(findings) <= 502
    for finding in findings:
        assert finding["level"] == "error"
        assert finding["at"]
        assert finding["try"]
        assert len(str(finding["message"])) < 400
        assert len(str(finding["at"])) < 400


@pytest.mark.parametrize("wrong", LARGE)
def test_a_file_that_takes_much_gets_a_clear_error(wrong: str, tmp_path: Path) -> None:
    name, make, code = LARGE[wrong]
    make(tmp_path / name)
    status, answer, stderr = check(tmp_path / name)
    assert (status, stderr) == (1, "")
    assert answer["ok"] is False
    _clear(answer["findings"], code)


@pytest.mark.parametrize("wrong", SMALL)
def test_a_broken_file_gets_a_clear_error(wrong: str, tmp_path: Path) -> None:
    name, make, code = SMALL[wrong]
    make(tmp_path / name)
    record, findings = read_findings(tmp_path / name)
    assert record is None
    _clear([finding.as_json() for finding in findings], code)


def test_a_pipe_is_refused_without_waiting(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe.yaml"
    os.mkfifo(pipe)
    status, answer, stderr = check(pipe)
    assert (status, answer) == (2, {})
    assert "data.no-file" in stderr
    assert "Traceback" not in stderr


@pytest.mark.parametrize(
    ("path", "code"), [("/dev/zero", "data.no-file"), ("/", "data.directory"), ("\udcff.yaml", "data.missing-file")]
)
def test_what_is_no_file_is_a_wrong_call(path: str, code: str) -> None:
    status, answer, stderr = check(Path(path))
    assert (status, answer) == (2, {})
    assert code in stderr
    assert "Traceback" not in stderr


def test_a_link_to_itself_is_a_wrong_call(tmp_path: Path) -> None:
    link = tmp_path / "loop.yaml"
    link.symlink_to(link)
    status, _, stderr = check(link)
    assert status == 2
    assert "data.unreadable" in stderr


def test_a_large_but_honest_record_is_read(tmp_path: Path) -> None:
    log = "".join(f"  - {{do: release, joint: j{n}}}\n  - {{do: lift, part: p{n}}}\n" for n in range(1999, -1, -1))
    path = tmp_path / "large.yaml"
    path.write_text(f"{_record(2000, 2000)}log:\n{log}")
    status, answer, _ = check(path)
    assert (status, answer["ok"]) == (0, True)
    assert [finding["code"] for finding in answer["findings"]] == ["record.log-cover-in-place"]
