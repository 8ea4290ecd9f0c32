"""The tables of `config/` that a session stands on, read before it begins."""

from __future__ import annotations

from companion.box.bellows import load_bellows
from companion.box.choose import load_choose
from companion.box.hand_costs import load_hand
from companion.box.ornaments import load_ornaments
from companion.input.standin import read_standin
from companion.lesson.lesson_rules import lesson_rules
from companion.lesson.review import memory_rules
from companion.marking.marking_rules import default_rules
from companion.pages.player_choices import calm_wait
from companion.screen.actions import load_keys
from companion.screen.pedal_table import load_pedals
from companion.screen.theme import load_themes
from companion.screen.words import load_words
from companion.sound.lift import lifts
from companion.sound.sound_settings import sound_settings
from companion.sound.tempi import dances

_TABLES = (
    *(load_hand, load_ornaments, load_bellows, load_choose, lesson_rules, memory_rules, default_rules, read_standin),
    *(dances, lifts, sound_settings, load_keys, load_pedals, load_themes, load_words, calm_wait),
)


def read_tables() -> None:
    """Read each table once. What is wrong with one is told before a session begins, not after it was played.

    Raises
    ------
    UserError
        What is wrong, with its file and line.
    """
    for read in _TABLES:
        read()
