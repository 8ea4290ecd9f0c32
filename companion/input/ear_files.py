"""The ears that the player has had learnt: one file for each box and microphone, in the player's own folder."""

from __future__ import annotations

import re
from pathlib import Path

from companion.errors import UserError
from companion.hearing.ear import Ear, read_ear
from companion.hearing.guess import own_ear
from companion.places import own_data

FOLDER = "ears"
_UNSAFE = re.compile(r"[^\w-]+")


def ear_path(box: str, microphone: str) -> Path:
    """Where the ear for a box (its id) and a microphone is kept."""
    return own_data() / FOLDER / f"{_safe(box)}--{_safe(microphone)}.ear"


def ear_for(box: str, microphone: str) -> Ear:
    """What was learnt of a box through a microphone; the program's own reeds where nothing was, or its file is
    damaged."""
    path = ear_path(box, microphone)
    try:
        return read_ear(path) if path.is_file() else own_ear()
    except UserError:
        return own_ear()


def _safe(name: str) -> str:
    return _UNSAFE.sub("-", name.strip().lower()).strip("-")[:80] or "any"
