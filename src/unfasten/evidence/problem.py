"""A problem in a data file: what is wrong, at which place, on which line, and what to do."""

from __future__ import annotations

from dataclasses import dataclass

from unfasten.evidence.place import Path, place


@dataclass(frozen=True, slots=True)
class Problem:
    """One problem. `path` leads to the node, () is the whole file; `line` and `column` count from 1."""

    code: str
    path: Path
    message: str
    remedy: str
    line: int | None = None
    column: int | None = None

    def __str__(self) -> str:
        """Give one line: place, line number, message, remedy and code."""
        line = "" if self.line is None else f" (line {self.line})"
        return f"{place(self.path)}{line}: {self.message}; {self.remedy} [{self.code}]"
