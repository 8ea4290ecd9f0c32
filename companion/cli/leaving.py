"""What `companion practise` leaves in a folder when it ends: the picture, the sound, the take and the marks."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from companion.cli.ready_tune import Opened
from companion.cli.show import line
from companion.errors import UserError
from companion.input.listening import Listening
from companion.input.take_file import write_take
from companion.screen.window import Window
from companion.session.session import Session
from companion.session.session_files import write_marks
from companion.session.session_folders import MARKS, PICTURE, SOUND, TAKE
from companion.sound.files import write_sound
from companion.sound.speaker import DeviceSpeaker


def leave(
    folder: Path,
    window: Window,
    speaker: DeviceSpeaker,
    listening: Listening,
    done: Sequence[tuple[Opened, Session]],
) -> None:
    """Leave what can be left, each whole or not at all, and say what is there.

    Raises
    ------
    UserError : why something could not be left; what could is there.
    """
    best = next((best for _, session in reversed(done) if (best := session.picture()) is not None), None)
    if best is not None:
        window.show(best)
    things: dict[str, Callable[[], None]] = {"the picture": lambda: window.picture(folder / PICTURE)}
    sound = speaker.recording()
    if len(sound):
        things["the sound"] = lambda: write_sound(folder / SOUND, sound, speaker.rate)
    things["the take"] = lambda: write_take(folder / TAKE, listening.taken)
    things["the marks"] = lambda: _marks(folder, done)
    if speaker.unkept:
        line(speaker.unkept)
    there, faults = [], []
    for name, write in things.items():
        try:
            write()
            there.append(name)
        except UserError as why:
            faults.append(why)
    if there:
        listed = " and ".join([", ".join(there[:-1]), there[-1]] if there[1:] else there)
        line(f"{listed[0].upper()}{listed[1:]} {'are' if there[1:] else 'is'} in: {folder}")
    for fault in faults[1:]:
        line(str(fault))
    if faults:
        raise faults[0]


def _marks(folder: Path, done: Sequence[tuple[Opened, Session]]) -> None:
    for number, (opened, session) in enumerate(done, 1):
        name = MARKS if number == 1 else MARKS.replace(".", f"-{number}.")
        write_marks(folder / name, opened.tune.title, opened.box.id, session.setting.tune.beat, session.rounds)
