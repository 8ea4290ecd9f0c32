"""Where things are kept: the tables, sounds and tunes that come with the program, and the player's own folders.

A player's own file of the same name, in the folder that :func:`own_config` gives, stands in for the one that
comes with the program.
"""

from __future__ import annotations

import os
from pathlib import Path

APP = "box-companion"
_PACKAGE = Path(__file__).resolve().parent


def shipped(*parts: str) -> Path:
    """A file or folder that comes with the program: ``shipped("config", "boxes")``."""
    inside = _PACKAGE / "_data"
    return (inside if inside.is_dir() else _PACKAGE.parent).joinpath(*parts)


def own_config() -> Path:
    """The player's own folder of tables (`$BOX_COMPANION_CONFIG` names another)."""
    named = os.environ.get("BOX_COMPANION_CONFIG")
    if named:
        return Path(named)
    from platformdirs import user_config_path

    return user_config_path(APP)


def own_data() -> Path:
    """The folder of the player's record and kept takes (`$BOX_COMPANION_DATA` names another)."""
    named = os.environ.get("BOX_COMPANION_DATA")
    if named:
        return Path(named)
    from platformdirs import user_data_path

    return user_data_path(APP)


def own_cache() -> Path:
    """A folder whose contents can be lost without harm (`$BOX_COMPANION_CACHE` names another)."""
    named = os.environ.get("BOX_COMPANION_CACHE")
    if named:
        return Path(named)
    from platformdirs import user_cache_path

    return user_cache_path(APP)


def table(*parts: str) -> Path:
    """A table of `config/`: the player's own where there is one, else the one that comes with the program."""
    own = own_config().joinpath(*parts)
    return own if own.is_file() else shipped("config", *parts)
