"""Figures of tests made on whole units: what the label and the ecodesign rules ask for."""

from __future__ import annotations

from typing import Annotated, Final, Literal

from pydantic import Field, StrictInt, StringConstraints

from unfasten.record.types import Noun, Share, Time

Count = Annotated[StrictInt, Field(ge=0, le=10_000_000)]
#: IP code of EN 60529: protection against objects, then against water; X where it was not tested
INGRESS_PATTERN: Final = r"^IP[0-6X][0-8X]$"
Ingress = Annotated[str, StringConstraints(pattern=INGRESS_PATTERN)]


class Capacity(Noun):
    """Capacity left after full charge cycles, as a share of the rated capacity."""

    cycles: Count
    left: Share


class Actuations(Noun):
    """Operations that a control or connector withstood; None: not tested."""

    power_button: Count | None = None
    volume_button: Count | None = None
    charging_port: Count | None = None


class LabelTests(Noun):
    """Test figures of the product; what is left out was not tested. `falls` has one figure for each unit tested."""

    endurance: Time | None = None
    falls: tuple[Count, ...] = ()
    falls_extended: tuple[Count, ...] = ()
    capacity: tuple[Capacity, ...] = ()
    ingress: Ingress | None = None
    scratch: Annotated[StrictInt, Field(ge=1, le=10)] | None = None
    spill: Literal["passed", "failed"] | None = None
    actuations: Actuations = Actuations()
