"""`companion check`: what this machine has, so that a missing thing is named before it is missed."""

from __future__ import annotations

import argparse
import os
import platform
from pathlib import Path
from typing import Any

import companion
from companion import __version__
from companion.cli import ports_command
from companion.cli.show import as_json, line
from companion.input.ports import list_ports
from companion.places import own_config, own_data
from companion.session.session_folders import taken_up, takes
from companion.sound.sound_settings import sound_settings
from companion.store.record import FILE

SCHEMA = "companion.check/1"


def run(given: argparse.Namespace) -> None:
    """Print what there is."""
    found = report()
    if given.json:
        as_json(found)
        return
    midi, sound, screen, record = found["midi"], found["sound"], found["screen"], found["record"]
    inputs = ", ".join(midi["inputs"]) or "no instrument"
    line(f"Box Companion {found['version']}, Python {found['python']}")
    line(f"MIDI     {midi['problem'] or inputs}")
    line(f"sound    {sound['problem'] or sound['device']}")
    line(f"screen   {screen['problem'] or screen['driver']}")
    line(f"font     {found['fonts']['window'] or 'none found'}")
    said = record["problem"] or ("" if record["exists"] else "nothing in it yet")
    line(f"record   {record['path']}" + (f" ({said})" if said else ""))
    left = found["takes"]
    much = f"{left['sessions']} session{'' if left['sessions'] == 1 else 's'}, {left['bytes'] / 1e6:.1f} MB"
    line(f"takes    {left['path']} ({much}; {'the last ' + str(left['kept']) if left['kept'] else 'all'} are kept)")
    line(f"tables   {own_config()} (tables you put here replace ours)")


def report() -> dict[str, Any]:
    """What there is, as plain values."""
    path = own_data() / FILE
    sessions, size = taken_up()
    return {
        "schema": SCHEMA,
        "version": __version__,
        "python": platform.python_version(),
        "midi": ports_command.report(list_ports()),
        "sound": _sound(),
        "screen": _screen(),
        "fonts": {"window": _font()},
        "record": {"path": str(path), "exists": path.is_file(), "problem": _writable(path.parent) or _damage(path)},
        "takes": {
            "path": str(takes()),
            "sessions": sessions,
            "bytes": size,
            "kept": sound_settings().kept.sessions,
        },
    }


def _sound() -> dict[str, str | None]:
    """The sound device, opened for a moment."""
    from companion.sound.speaker import open_speaker

    speaker = open_speaker()
    try:
        if speaker.missing:
            return {"device": None, "problem": speaker.missing}
        return {"device": "the system's default device", "problem": None}
    finally:
        speaker.close()


def _screen() -> dict[str, str | None]:
    """The driver of the screen, if there is a screen."""
    from companion.screen.window import open_window

    window = open_window()
    try:
        import pygame

        driver = pygame.display.get_driver()
        return {"driver": None if window.missing else driver, "problem": window.missing or None}
    finally:
        window.close()


def _font() -> str | None:
    """The font that comes with the program, None where it is lost."""
    path = Path(companion.__file__).parent / "screen" / "fonts" / "sans-regular.otf"
    return str(path) if path.is_file() else None


def _damage(path: Path) -> str | None:
    """What is damaged in the record, looked at whole; None where nothing is."""
    from companion.store.record_file import faults_of

    wrong = faults_of(path)
    return f"damaged: {wrong}; read a copy you exported back in with `companion record import`" if wrong else None


def _writable(there: Path) -> str | None:
    """Why the record could not be written, None where it can."""
    while not there.exists():
        there = there.parent
    return None if os.access(there, os.W_OK) else f"{there} cannot be written to"
