"""What a traced program flushed before it acknowledged: reads the output of `strace -f -y`, a call a line.

A power cut keeps what was flushed and may lose all else. So an acknowledgement that names an id is early unless a write
that holds the id was made before it, to the ledger's write-ahead log, and that file was flushed after the write and
before the acknowledgement began.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

_LINE = re.compile(r"^(\d+)\s+(?:(\w+)\((.*)|<\.\.\. (\w+) resumed>(.*))$")
_FD = re.compile(r"^(?:AT_FDCWD<[^>]*>|\d+<([^>]*)>)")
FLUSHES = ("fsync", "fdatasync")
WRITES = ("pwrite64", "write", "writev")
SENDS = ("sendto", "sendmsg")


@dataclass(frozen=True)
class Call:
    """A system call: the lines at which it began and ended, its file, and all that was printed of it."""

    name: str
    began: int
    ended: int
    file: str
    text: str


def calls(lines: Iterable[str]) -> Iterator[Call]:
    """The calls that came to an end, in the order in which they did; a failed one is left out."""
    waiting: dict[str, tuple[str, int, str]] = {}
    for number, line in enumerate(lines):
        found = _LINE.match(line.rstrip("\n"))
        if found is None:
            continue
        process, name, rest, _, tail = found.groups()
        if name is None:
            if process not in waiting:
                continue
            name, began, rest = waiting.pop(process)
            rest += tail
        else:
            began = number
        if rest.endswith("<unfinished ...>"):
            waiting[process] = (name, began, rest.removesuffix("<unfinished ...>"))
            continue
        if not re.search(r"= -1 \w+ \([^)]*\)$", rest):
            file = _FD.match(rest)
            yield Call(name, began, number, (file[1] or "") if file else "", rest)


@dataclass
class Trace:
    """A trace, read once."""

    calls: list[Call] = field(default_factory=list)

    @classmethod
    def of(cls, lines: Iterable[str]) -> Trace:
        """Read a trace."""
        return cls(list(calls(lines)))

    def acknowledged(self, text: str) -> Call | None:
        """The first send to a peer that holds a text."""
        return next((one for one in self.calls if one.name in SENDS and text in one.text), None)

    def is_flushed(self, file_end: str, after: int, before: int) -> bool:
        """Tell whether a file, by the end of its path, was flushed wholly between two lines."""
        return any(
            one.name in FLUSHES and one.file.endswith(file_end) and after <= one.began and one.ended < before
            for one in self.calls
        )

    def early(self, ids: Iterable[str], log_end: str = "-wal") -> list[str]:
        """The ids that were acknowledged though their last write before that was not flushed, or there was none."""
        return [one for one in ids if not self._is_kept(one, log_end)]

    def _is_kept(self, entry: str, log_end: str) -> bool:
        told = self.acknowledged(entry)
        if told is None:
            return True
        written = [
            one
            for one in self.calls
            if one.name in WRITES and one.file.endswith(log_end) and entry in one.text and one.ended < told.began
        ]
        return bool(written) and self.is_flushed(log_end, written[0].ended, told.began)
