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
from companion.box.hand_costs import PLAIN, Hand, parent_of, read_hand
from companion.box.ornaments import read_ornaments
from companion.errors import UserError
from companion.lesson.lesson_rules import LessonRules, read_lesson_rules
from companion.lesson.review import MemoryRules, read_memory_rules
from companion.marking.marking_rules import MarkingRules, read_marking_rules
from companion.places import own_config, shipped, table
from companion.sound.lift import DanceLift, read_lifts
from companion.sound.tempi import Dances, read_dances

HANDS = "hands"  # the folder of the hands that say where they differ from another, or from the plain one


@dataclass(frozen=True, slots=True, kw_only=True)
class Tables(BoxTables):
    """One field a table: those of the box, `lesson`, `memory`, `marks`, `tempi` and `lift.toml`."""

    lesson: LessonRules
    memory: MemoryRules
    marks: MarkingRules
    dances: Dances
    lifts: Mapping[str, DanceLift]


@cache
def read_tables(hand: str = PLAIN) -> Tables:
    """Read every table; `hand` is the name of a hand (`hand_names`).

    Raises
    ------
    UserError
        What is wrong, with its file and line.
    """
    return Tables(
        hand=load_hand(hand),
        bellows=read_bellows(table("bellows.toml")),
        ornaments=read_ornaments(table("ornaments.toml")),
        choose=read_choose(table("choose.toml")),
        lesson=read_lesson_rules(table("lesson.toml"), shipped("config", "lesson.toml")),
        memory=read_memory_rules(table("memory.toml")),
        marks=read_marking_rules(table("marks.toml"), shipped("config", "marks.toml")),
        dances=read_dances(table("tempi.toml")),
        lifts=read_lifts(table("lift.toml")),
    )


def hand_names() -> tuple[str, ...]:
    """The hands there are: the plain one, ours, and then the player's own."""
    folders = (shipped("config", HANDS), own_config() / HANDS)
    return tuple(dict.fromkeys([PLAIN, *(file.stem for at in folders for file in sorted(at.glob("*.toml")))]))


def load_hand(name: str = PLAIN) -> Hand:
    """A hand by its name, such as "flowing".

    Raises
    ------
    UserError : there is none of that name, or its file is broken.
    """
    return _load(name, ())


def _load(name: str, children: tuple[str, ...]) -> Hand:
    if name == PLAIN:
        # What an older table of the player's own does not know is as in ours.
        return read_hand(table("hand.toml"), read_hand(shipped("config", "hand.toml")))
    if name not in hand_names():
        raise UserError(f"there is no hand “{name}”; there are: {', '.join(hand_names())}")
    path = table(HANDS, f"{name}.toml")
    below = (*children, name)
    parent = parent_of(path, [one for one in hand_names() if one not in below])
    return read_hand(path, _load(parent, below))
