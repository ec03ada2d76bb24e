"""The requirements of this edition, in the order of the law. Numbers stand in parameters/, readings in ruleset.yaml."""

from __future__ import annotations

from unfasten.rules.sets.eu.ecodesign_2023_1670.access import delivery, prices, response, update_years
from unfasten.rules.sets.eu.ecodesign_2023_1670.disassembly import battery, inner, outer
from unfasten.rules.sets.eu.ecodesign_2023_1670.durability import endurance, falls, scratch, water
from unfasten.rules.sets.eu.ecodesign_2023_1670.pairing import pairing
from unfasten.rules.sets.eu.ecodesign_2023_1670.spares import bundled, for_end_users, for_professionals, for_years

REQUIREMENTS = (
    for_professionals,
    for_end_users,
    for_years,
    bundled,
    delivery,
    prices,
    response,
    inner,
    outer,
    battery,
    pairing,
    endurance,
    falls,
    scratch,
    water,
    update_years,
)
