"""The tables of `config/` that fingering, lessons, memory, marks and tempi stand on.

They are read once, at the edge, and handed in: what works with them takes the one that it needs. A player's own table
stands in for ours (`companion.places.table`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from companion.box.bellows import read_bellows
from companion.box.box_tables import BoxTables
from companion.box.choose_table import read_choose
from companion.box.hand_costs import read_hand
from companion.box.ornaments import read_ornaments
from companion.lesson.lesson_rules import LessonRules, read_lesson_rules
from companion.lesson.review import MemoryRules, read_memory_rules
from companion.marking.marking_rules import MarkingRules, read_marking_rules
from companion.places import shipped, table
from companion.sound.lift import DanceLift, read_lifts
from companion.sound.tempi import Dances, read_dances


@dataclass(frozen=True, slots=True, kw_only=True)
class Tables(BoxTables):
    """One field a table: those of the box, `lesson`, `memory`, `marks`, `tempi` and `lift.toml`."""

    lesson: LessonRules
    memory: MemoryRules
    marks: MarkingRules
    dances: Dances
    lifts: Mapping[str, DanceLift]


@cache
def read_tables() -> Tables:
    """Read every table.

    Raises
    ------
    UserError
        What is wrong, with its file and line.
    """
    return Tables(
        hand=read_hand(table("hand.toml")),
        bellows=read_bellows(table("bellows.toml")),
        ornaments=read_ornaments(table("ornaments.toml")),
        choose=read_choose(table("choose.toml")),
        lesson=read_lesson_rules(table("lesson.toml"), shipped("config", "lesson.toml")),
        memory=read_memory_rules(table("memory.toml")),
        marks=read_marking_rules(table("marks.toml"), shipped("config", "marks.toml")),
        dances=read_dances(table("tempi.toml")),
        lifts=read_lifts(table("lift.toml")),
    )
