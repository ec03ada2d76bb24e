"""Only regular files of UTF-8 text are read, and never more of them than the limit."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from unfasten.evidence.errors import CallError
from unfasten.evidence.filebytes import decode, read_limited


def test_reads_at_most_one_byte_over_the_limit(tmp_path: Path) -> None:
    path = tmp_path / "x"
    path.write_bytes(b"0123456789")
    assert read_limited(path, 20) == b"0123456789"
    assert read_limited(path, 4) == b"01234"


def test_missing_directory_and_pipe_are_wrong_calls(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    found = {}
    for path in (tmp_path / "no", tmp_path, pipe, Path("/dev/zero"), tmp_path / "x" / "y"):
        with pytest.raises(CallError) as caught:
            read_limited(path)
        found[path.name] = caught.value.code
        assert caught.value.exit_code == 2
    assert found == {
        "no": "data.missing-file",
        tmp_path.name: "data.directory",
        "pipe": "data.no-file",
        "zero": "data.no-file",
        "y": "data.missing-file",
    }


def test_a_file_over_the_limit_is_no_text() -> None:
    text, (problem,) = decode(b"a" * 11, limit=10)
    assert text == ""
    assert problem.code == "data.too-large"


@pytest.mark.parametrize(
    ("data", "code", "said"),
    [
        ("a: 1\n".encode("utf-16"), "data.encoding", "UTF-16"),
        (b"\xfe\xff\x00a", "data.encoding", "UTF-16"),
        ("a: 1\n".encode("utf-32"), "data.encoding", "UTF-32"),
        ("a: 1\n".encode("utf-16-le"), "data.binary", "byte 1"),
        (b"\x7fELF\x02\x01\x01\x00", "data.binary", "byte 7"),
        ("a: é\n".encode("latin-1"), "data.encoding", "byte 3"),
        (b"\xef\xbb\xbfa: \xe9", "data.encoding", "byte 6"),
        (b"a: 1\nb: \x1b[2J\n", "data.control-character", "U+001B"),
    ],
)
def test_what_is_no_utf8_text(data: bytes, code: str, said: str) -> None:
    text, (problem,) = decode(data)
    assert text == ""
    assert problem.code == code
    assert said in problem.message
    assert problem.remedy


def test_the_line_of_a_wrong_byte_is_told() -> None:
    _, (problem,) = decode(b"a: 1\nb: 2\nc: \xe9\n")
    assert problem.line == 3
    _, (problem,) = decode(b"a: 1\nb: x\x07\n")
    assert (problem.line, problem.column) == (2, 5)
