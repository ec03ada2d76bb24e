"""A whole record, as a file holds it and as the ledger folds to it."""

from __future__ import annotations

from typing import Final, Literal

from pydantic import Field

from unfasten.record.bundle import Bundle, Swing
from unfasten.record.joint import Joint
from unfasten.record.log import LogEntry
from unfasten.record.measurement import Measurement
from unfasten.record.part import Part
from unfasten.record.photo import Photo
from unfasten.record.product import Product, Setup, Sheet, Supply
from unfasten.record.swaptest import SwapTest
from unfasten.record.testfigures import LabelTests
from unfasten.record.tool import Tool
from unfasten.record.types import Id, Noun

FORMAT: Final = "unfasten-record/1"


class Record(Noun):
    """One product's record. Cross-references are checked by `record.read`, not here."""

    format: Literal["unfasten-record/1"]
    product: Product
    sheet: Sheet = Sheet()
    setup: Setup = Setup()
    tools: dict[Id, Tool] = Field(default_factory=dict)
    parts: dict[Id, Part]
    joints: dict[Id, Joint]
    bundles: dict[Id, Bundle] = Field(default_factory=dict)
    swings: dict[Id, Swing] = Field(default_factory=dict)
    supply: Supply = Supply()
    tests: LabelTests = LabelTests()
    swap_tests: dict[Id, SwapTest] = Field(default_factory=dict)
    photos: dict[Id, Photo] = Field(default_factory=dict)
    measurements: dict[Id, Measurement] = Field(default_factory=dict)
    log: tuple[LogEntry, ...] = ()

    @property
    def frame(self) -> str:
        """Id of the part that stays."""
        return next(name for name, part in self.parts.items() if part.stays)
