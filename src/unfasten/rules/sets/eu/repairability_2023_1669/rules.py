"""The criteria of this edition, in the order of the law. Numbers stand in parameters/, readings in ruleset.yaml."""

from __future__ import annotations

from unfasten.rules.sets.eu.repairability_2023_1669.depth import disassembly_depth
from unfasten.rules.sets.eu.repairability_2023_1669.fasteners import fasteners
from unfasten.rules.sets.eu.repairability_2023_1669.index import grade, index
from unfasten.rules.sets.eu.repairability_2023_1669.information import repair_information
from unfasten.rules.sets.eu.repairability_2023_1669.spares import spare_parts
from unfasten.rules.sets.eu.repairability_2023_1669.tools import tools
from unfasten.rules.sets.eu.repairability_2023_1669.updates import software_updates

CRITERIA = (disassembly_depth, fasteners, tools, spare_parts, software_updates, repair_information)
INDEX = index
GRADE = grade
