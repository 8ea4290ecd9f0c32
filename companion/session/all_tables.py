"""Every table of `config/`, those of sound and window too, looked at before a session begins."""

from __future__ import annotations

from companion.input.standin import read_standin
from companion.pages.player_choices import calm_wait
from companion.screen.actions import load_keys
from companion.screen.pedal_table import load_pedals
from companion.screen.theme import load_themes
from companion.screen.words import load_words
from companion.sound.sound_settings import sound_settings
from companion.tables import read_tables


def check_tables() -> None:
    """Read each table. What is wrong with one is told before a session begins, not after it was played.

    Raises
    ------
    UserError
        What is wrong, with its file and line.
    """
    for read in (read_tables, read_standin, sound_settings, load_keys, load_pedals, load_themes, load_words, calm_wait):
        read()
