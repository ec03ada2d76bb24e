"""The quantities of this label, in the order of its rows. Numbers stand in parameters/, readings in ruleset.yaml."""

from __future__ import annotations

from unfasten.rules.sets.eu.label_2023_1669.cycles import cycles
from unfasten.rules.sets.eu.label_2023_1669.energy import endurance, energy
from unfasten.rules.sets.eu.label_2023_1669.falls import falls
from unfasten.rules.sets.eu.label_2023_1669.ingress import ingress

QUANTITIES = (endurance, energy, falls, cycles, ingress)
