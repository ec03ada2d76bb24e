"""A finding: what is wrong or remarkable in a record, where, and what to do about it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class Finding:
    """One finding. `at` is the place (`joints.x.ways[0].tools[0]`), `remedy` what to do; `line` counts from 1."""

    level: Literal["error", "warning"]
    code: str
    at: str
    message: str
    remedy: str
    line: int | None = None

    def __str__(self) -> str:
        """Give one line: place, line number, message, remedy and code."""
        line = "" if self.line is None else f" (line {self.line})"
        return f"{self.at}{line}: {self.message}; {self.remedy} [{self.code}]"

    def as_json(self) -> dict[str, object]:
        """Give the JSON form that other programs rely on (`remedy` under the key `try`)."""
        out: dict[str, object] = {
            "level": self.level,
            "code": self.code,
            "at": self.at,
            "message": self.message,
            "try": self.remedy,
        }
        if self.line is not None:
            out["line"] = self.line
        return out
