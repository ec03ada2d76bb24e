"""Bounded reading of files: never more than a limit, only regular files, only UTF-8 text."""

from __future__ import annotations

import os
import re
import stat
from pathlib import Path
from typing import BinaryIO, Final

from unfasten.evidence.errors import CallError
from unfasten.evidence.problem import Problem

#: largest data file that is read [byte]
SIZE_LIMIT: Final = 8 * 1024 * 1024
_CONTROL: Final = re.compile("[^\\t\\n\\r\\x20-\\x7e\\x85\\xa0-\\ud7ff\\ue000-\\ufffd\\U00010000-\\U0010ffff]")
_MARKS: Final = ((b"\xff\xfe", "UTF-16 or UTF-32"), (b"\xfe\xff", "UTF-16"), (b"\x00\x00\xfe\xff", "UTF-32"))
_MEND_ENCODING: Final = "save the file as UTF-8 text"


def read_limited(path: Path, limit: int = SIZE_LIMIT) -> bytes:
    """Read a regular file, at most `limit` + 1 bytes of it; raise `CallError` where there is no such file."""
    with open_regular(path) as stream:
        try:
            return stream.read(limit + 1)
        except OSError as error:
            raise _unreadable(path, error) from error


def open_regular(path: Path) -> BinaryIO:
    """Open a regular file for reading; raise `CallError` where there is no such file.

    A named pipe or a device is refused without waiting for it.
    """
    flags = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_CLOEXEC", 0) | getattr(os, "O_BINARY", 0)
    try:
        handle = os.open(path, flags)
        try:
            _check_regular(path, os.fstat(handle).st_mode)
        except CallError:
            os.close(handle)
            raise
        return os.fdopen(handle, "rb")
    except OSError as error:
        raise _unreadable(path, error) from error


def _check_regular(path: Path, mode: int) -> None:
    if stat.S_ISDIR(mode):
        raise CallError("data.directory", _name(path), "this is a directory", "name a file in it")
    if not stat.S_ISREG(mode):
        raise CallError("data.no-file", _name(path), "this is a pipe or device, no file", "save it as a file first")


def _unreadable(path: Path, error: OSError) -> CallError:
    if isinstance(error, FileNotFoundError | NotADirectoryError):
        return CallError("data.missing-file", _name(path), "no such file", "check the path")
    if isinstance(error, IsADirectoryError):
        return CallError("data.directory", _name(path), "this is a directory", "name a file in it")
    why = (error.strerror or "it cannot be opened").lower()
    return CallError("data.unreadable", _name(path), f"cannot be read: {why}", "check the path and its permissions")


def _name(path: Path) -> str:
    return str(path).encode("utf-8", "replace").decode("utf-8")


def decode(data: bytes, limit: int = SIZE_LIMIT) -> tuple[str, list[Problem]]:
    """Decode UTF-8 text (a byte-order mark is dropped); problems instead of text where it is something else."""
    if len(data) > limit:
        size = f"larger than {limit // 1024 // 1024} MB"
        return "", [_whole("data.too-large", f"the file is {size}", "split it, or leave out what is no record")]
    for mark, name in _MARKS:
        if data.startswith(mark):
            return "", [_whole("data.encoding", f"the file is {name} text (byte-order mark at byte 0)", _MEND_ENCODING)]
    nul = data.find(b"\0")
    if nul >= 0:
        what = f"the file is no text: a zero byte at byte {nul}"
        return "", [_whole("data.binary", what, "name a YAML or JSON file in UTF-8")]
    return _decoded(data.removeprefix(b"\xef\xbb\xbf"), offset=3 if data.startswith(b"\xef\xbb\xbf") else 0)


def _decoded(data: bytes, offset: int) -> tuple[str, list[Problem]]:
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        message = f"byte {error.start + offset} (0x{data[error.start]:02x}) is no UTF-8"
        return "", [Problem("data.encoding", (), message, _MEND_ENCODING, line)]
    found = _CONTROL.search(text)
    if found is None:
        return text, []
    line = text.count("\n", 0, found.start()) + 1
    column = found.start() - text.rfind("\n", 0, found.start())
    message = f"control character U+{ord(found[0]):04X} in column {column}"
    return "", [Problem("data.control-character", (), message, "delete this character", line, column)]


def _whole(code: str, message: str, remedy: str) -> Problem:
    return Problem(code, (), message, remedy)
