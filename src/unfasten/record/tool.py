"""Tools as the record names them."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from unfasten.record.types import Noun, Text

ToolClass = Literal["basic", "with-part", "with-product", "commercial", "proprietary"]


class Tool(Noun):
    """A tool; `tool_class` (key `class`) follows the tool levels of the rules and is None where it is not known."""

    name: Text
    kind: Text | None = None
    tool_class: ToolClass | None = Field(default=None, alias="class")
    size: Text | None = None
    note: Text | None = None
