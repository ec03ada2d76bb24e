"""The requirements of Article 11. Numbers stand in parameters/, readings in ruleset.yaml."""

from __future__ import annotations

from unfasten.rules.sets.eu.batteries_2023_1542.offer import instructions, spare_battery
from unfasten.rules.sets.eu.batteries_2023_1542.removal import removable
from unfasten.rules.sets.eu.batteries_2023_1542.replacement import replaceable, software

REQUIREMENTS = (removable, replaceable, software, spare_battery, instructions)
