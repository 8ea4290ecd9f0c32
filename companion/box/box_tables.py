"""The tables that a fingering stands on, as one value."""

from __future__ import annotations

from dataclasses import dataclass

from companion.box.bellows import BellowsTable
from companion.box.choose_table import ChooseTable
from companion.box.hand_costs import Hand
from companion.box.ornaments import OrnamentTable


@dataclass(frozen=True, slots=True, kw_only=True)
class BoxTables:
    """`hand.toml`, `bellows.toml`, `ornaments.toml` and `choose.toml` of `config/`."""

    hand: Hand
    bellows: BellowsTable
    ornaments: OrnamentTable
    choose: ChooseTable
