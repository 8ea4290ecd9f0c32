"""The tables of `config/` that fingering, lessons, memory and marks stand on: read once, and handed in from the edge.

A player's own table stands in for ours (`companion.places.table`). What works with them takes the one that it needs.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from companion.box.bellows import read_bellows
from companion.box.box_tables import BoxTables
from companion.box.choose_table import read_choose
from companion.box.hand_costs import read_hand
from companion.box.ornaments import read_ornaments
from companion.input.standin import read_standin
from companion.lesson.lesson_rules import LessonRules, read_lesson_rules
from companion.lesson.review import MemoryRules, read_memory_rules
from companion.marking.marking_rules import MarkingRules, read_marking_rules
from companion.places import shipped, table
from companion.screen.actions import load_keys
from companion.screen.pedal_table import load_pedals
from companion.screen.theme import load_themes
from companion.screen.words import load_words
from companion.sound.lift import lifts
from companion.sound.sound_settings import sound_settings
from companion.sound.tempi import dances


@dataclass(frozen=True, slots=True, kw_only=True)
class Tables(BoxTables):
    """One field a table: those of the box, and `lesson.toml`, `memory.toml`, `marks.toml`."""

    lesson: LessonRules
    memory: MemoryRules
    marks: MarkingRules


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
        marks=read_marking_rules(table("marks.toml")),
    )


def check_tables() -> None:
    """Read every table, those of sound and window too, so that what is wrong is told before a session begins.

    Raises
    ------
    UserError
        What is wrong, with its file and line.
    """
    for read in (read_tables, read_standin, dances, lifts, sound_settings, load_keys, load_pedals, load_themes):
        read()
    load_words()
