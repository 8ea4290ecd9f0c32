"""The colours of the window, read from `config/themes.toml` and checked for contrast as they are read."""

from __future__ import annotations

import re
from dataclasses import dataclass, fields
from functools import lru_cache

from companion.errors import UserError
from companion.places import table
from companion.screen.contrast import Colour, contrast
from companion.toml_file import TomlFile, read_toml

DEFAULT = "dark"
TEXT = 4.5  # WCAG 2.2, success criterion 1.4.3 (level AA)
SHAPE = 3.0  # WCAG 2.2, success criterion 1.4.11

# (what is drawn, what it is drawn on)
_TEXTS = (
    *((name, ground) for ground in ("ground", "board") for name in ("ink", "soft", "push", "pull")),
    ("button_ink", "button"),
    ("on_push", "push"),
    ("on_pull", "pull"),
    *((name, "ground") for name in ("warn", "care", "standin")),
)
_SHAPES = (
    ("rule", "ground"),
    ("rule", "board"),
    *((name, "board") for name in ("push", "pull")),
    *((name, "ground") for name in ("right", "wrong", "missed", "extra")),
)


@dataclass(frozen=True, slots=True)
class Theme:
    """A set of colours; what each is for stands in `config/themes.toml`."""

    name: str
    ground: Colour
    board: Colour
    hair: Colour
    rule: Colour
    ink: Colour
    soft: Colour
    button: Colour
    button_ink: Colour
    push: Colour
    on_push: Colour
    pull: Colour
    on_pull: Colour
    right: Colour
    wrong: Colour
    missed: Colour
    extra: Colour
    warn: Colour
    care: Colour
    standin: Colour

    def faults(self) -> tuple[str, ...]:
        """The pairs of colours that are too near to each other, in words; empty in a good theme."""
        found = []
        for pairs, least in ((_TEXTS, TEXT), (_SHAPES, SHAPE)):
            for front, back in pairs:
                ratio = contrast(getattr(self, front), getattr(self, back))
                if ratio < least:
                    found.append(f"{front} on {back} has a contrast of {ratio:.2f}:1, less than {least}:1")
        return tuple(found)


COLOURS = tuple(field.name for field in fields(Theme) if field.name != "name")


@lru_cache(maxsize=4)
def load_themes() -> dict[str, Theme]:
    """All themes by name.

    Raises
    ------
    UserError
        Where the table cannot be read, a colour is missing or none, or a contrast is too low.
    """
    file = read_toml(table("themes.toml"))
    if not file.data:
        raise file.wrong("The table of colours has no theme in it: remove the file to get ours back.")
    return {name: _theme(file, name) for name in file.data}


def load_theme(name: str = DEFAULT) -> Theme:
    """One theme by name; `UserError` where there is no such theme."""
    themes = load_themes()
    if name not in themes:
        raise UserError(f"There is no theme '{name}': choose one of {', '.join(sorted(themes))}.")
    return themes[name]


def _theme(file: TomlFile, name: str) -> Theme:
    """One table of the file."""
    read: dict[str, Colour] = {}
    for colour in COLOURS:
        value = file.string(name, colour)
        if not re.fullmatch(r"#[0-9a-fA-F]{6}", value):
            raise file.wrong(f'`{name}.{colour}` must be a colour such as "#14171b"; correct it', name, colour)
        read[colour] = (int(value[1:3], 16), int(value[3:5], 16), int(value[5:7], 16))
    theme = Theme(name, **read)
    if faults := theme.faults():
        raise file.wrong(f"Theme '{name}' cannot be read by everyone: {faults[0]}.", name, faults[0].split()[0])
    return theme
