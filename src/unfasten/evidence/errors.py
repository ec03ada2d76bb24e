"""The tree of errors: each says what, where and what to do, with a stable code.

UnfastenError
├── CallError          the call is wrong (exit status 2)
└── DataError          the data is wrong (exit status 1)
"""

from __future__ import annotations


class UnfastenError(Exception):
    """Base of all errors that a user can mend."""

    exit_code = 1

    def __init__(self, code: str, where: str, message: str, remedy: str) -> None:
        super().__init__(f"{where}: {message}; {remedy}" if where else f"{message}; {remedy}")
        self.code = code
        self.where = where
        self.message = message
        self.remedy = remedy

    def as_json(self) -> dict[str, object]:
        """Give the one JSON error shape."""
        return {"ok": False, "code": self.code, "where": self.where, "message": self.message, "try": self.remedy}


class CallError(UnfastenError):
    """The call is wrong: an unknown name or option value."""

    exit_code = 2


class DataError(UnfastenError):
    """A file or stored record is wrong."""
