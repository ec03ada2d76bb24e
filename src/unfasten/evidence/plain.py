"""Unquoted words of a data file: what they mean under the core schema of YAML 1.2 (section 10.3.2 of its text)."""

from __future__ import annotations

import math
import re
from types import MappingProxyType
from typing import Final

LONGEST: Final = 40
_LONGEST_INT: Final = 18
_WORDS: Final = MappingProxyType(
    {
        **dict.fromkeys(("", "~", "null", "Null", "NULL")),
        **dict.fromkeys(("true", "True", "TRUE"), True),
        **dict.fromkeys(("false", "False", "FALSE"), False),
    }
)
_FIRST: Final = frozenset("~nNtTfF+-.0123456789")
_INT: Final = re.compile(r"[-+]?[0-9]+|0o[0-7]+|0x[0-9a-fA-F]+")
_FLOAT: Final = re.compile(r"[-+]?(?:\.[0-9]+|[0-9]+(?:\.[0-9]*)?)(?:[eE][-+]?[0-9]+)?")
_NOT_FINITE: Final = re.compile(r"[-+]?\.(?:inf|Inf|INF)|\.(?:nan|NaN|NAN)")

Scalar = str | int | float | bool | None


class PlainError(ValueError):
    """An unquoted word that is no usable value; `code` is stable, the arguments are message and remedy."""

    def __init__(self, code: str, message: str, remedy: str) -> None:
        super().__init__(message)
        self.code = code
        self.message = message
        self.remedy = remedy


def plain_value(text: str) -> Scalar:
    """Give the value of an unquoted word; raise `PlainError` for numbers that are not finite or too long.

    >>> plain_value("no"), plain_value("0:50"), plain_value("012"), plain_value("1e3"), plain_value("~")
    ('no', '0:50', 12, 1000.0, None)
    """
    if text and text[0] not in _FIRST:
        return text
    if text in _WORDS:
        return _WORDS[text]
    if _INT.fullmatch(text):
        return _integer(text)
    if _FLOAT.fullmatch(text):
        return _float(text)
    if _NOT_FINITE.fullmatch(text):
        raise PlainError("data.not-finite", f"{text} is no finite number", "write a number, or leave the key out")
    return text


def _integer(text: str) -> int:
    if len(text) > _LONGEST_INT:
        raise _too_long()
    prefix = text[:2]
    return int(text, 8) if prefix == "0o" else int(text, 16) if prefix == "0x" else int(text)


def _float(text: str) -> float:
    if len(text) > LONGEST:
        raise _too_long()
    value = float(text)
    if math.isinf(value):
        raise PlainError("data.not-finite", f"{text} is too large a number", "write a smaller number")
    return value


def _too_long() -> PlainError:
    return PlainError(
        "data.number-too-long", "this number has too many digits", "write it shorter, or put it in quotes"
    )
