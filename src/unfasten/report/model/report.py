"""The whole report."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from unfasten.report.model.depth import DepthChart
from unfasten.report.model.procedure import Procedure
from unfasten.report.model.score import IndexSection
from unfasten.report.model.sheet import Summary, TitleBlock
from unfasten.report.model.span import Caution
from unfasten.report.model.structure import Structure
from unfasten.report.model.tables import BatterySheet, FastenerGroup, LogRow, Method, ToolTable


@dataclass(frozen=True, slots=True)
class Report:
    """Everything one report shows; HTML and PDF are renderings of this and of nothing else."""

    title: Annotated[TitleBlock, "title block"]
    summary: Annotated[Summary, "first sheet"]
    stop: Annotated[Caution | None, "notice that stops every procedure; empty: none"]
    index: Annotated[IndexSection, "index tree"]
    depth: Annotated[DepthChart, "depth chart and route table"]
    structure: Annotated[Structure, "structure drawing"]
    procedures: Annotated[tuple[Procedure, ...], "operation sheets of the priority parts"]
    fasteners: Annotated[tuple[FastenerGroup, ...], "fastener chart"]
    tools: Annotated[ToolTable, "tools needed"]
    batteries: Annotated[tuple[BatterySheet, ...], "battery data"]
    log: Annotated[tuple[LogRow, ...], "log of the bench"]
    method: Annotated[Method, "how the figures were obtained"]
