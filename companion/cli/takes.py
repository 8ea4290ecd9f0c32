"""A take on file, MIDI or a recording: the notes that were played in it, and how sure that is."""

from __future__ import annotations

import multiprocessing
import os
import signal
import sys
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from companion.errors import Place, UserError
from companion.input.take_file import read_take
from companion.marking.mark_values import Asked, Heard
from companion.marking.marking_rules import MarkingRules
from companion.marking.take_marks import TakeMarks
from companion.sound.sound_file import ENDINGS

if TYPE_CHECKING:
    from companion.hearing.ear import Ear, Sound
    from companion.hearing.hear import SoundHeard

MIDI = (".mid", ".midi")
# From so many recordings on, they are heard on all cores: a process of its own takes half a second to begin.
_MANY = 3


@dataclass(frozen=True, slots=True)
class HowToHear:
    """How recordings are heard.

    `ear` is what was learnt of the box (None: guess), `playback` what the program played meanwhile, as a sound and its
    rate (None: nothing).
    """

    ear: Ear | None = None
    playback: tuple[Sound, int] | None = None


@dataclass(frozen=True, slots=True)
class TakeHeard:
    """The notes of a take in order of onset, and of a recording what tells how sure the marks are."""

    notes: tuple[Heard, ...]
    sound: SoundHeard | None = None
    guessed: bool = False  # nothing was learnt of the box

    def weighed(self, found: TakeMarks, rules: MarkingRules) -> TakeMarks:
        """Marks made of these notes, with how sure they are: what may have been heard wrong faults nobody."""
        return self.sound.weighed(found, rules) if self.sound is not None else found


def how_to_hear(ear: str | None, playback: str | None = None) -> HowToHear:
    """What `--ear` and `--playback` name. Raises `UserError` where one of them cannot be read."""
    if ear is None and playback is None:
        return HowToHear()
    from companion.hearing.ear import read_ear
    from companion.sound.sound_file import read_sound

    return HowToHear(
        read_ear(Path(ear)) if ear is not None else None, read_sound(Path(playback)) if playback is not None else None
    )


def is_recording(path: Path) -> bool:
    """Whether a take is no MIDI file, by its ending, or its first bytes where that says nothing."""
    if path.suffix.lower() in (*MIDI, *ENDINGS):
        return path.suffix.lower() in ENDINGS
    try:
        with path.open("rb") as file:
            return file.read(4) not in (b"MThd", b"")
    except OSError:
        return False


def say_that_it_guesses(how: HowToHear, takes: Sequence[Path]) -> None:
    """Where recordings are to be heard and the box was not learnt: say so, in a line on the terminal."""
    if how.ear is None and any(is_recording(path) for path in takes):
        print(
            "No --ear named, so how your box sounds is a guess. Learn it once: "
            "companion microphone --learn box.wav --box bc-21 -o box.ear",
            file=sys.stderr,
        )


def read_any_take(path: Path, asked: Sequence[Asked], how: HowToHear) -> TakeHeard:
    """Read a take, MIDI or a recording.

    Parameters
    ----------
    asked : the notes of one round, to hear a recording by; () where they are not known.

    Raises
    ------
    UserError
        Where it cannot be read, or no note is in it.
    """
    if not is_recording(path):
        return TakeHeard(read_take(path))
    from companion.hearing.guess import own_ear
    from companion.hearing.hear import hear
    from companion.sound.rates import at_rate
    from companion.sound.sound_file import read_sound

    sound, rate = read_sound(path)
    playback = at_rate(how.playback[0], how.playback[1], rate) if how.playback is not None else None
    heard = hear(sound, rate, how.ear or own_ear(), asked, playback=playback)
    if not heard.notes:
        raise UserError("No note of a box was heard in this recording; record it again, nearer to it.", Place(path))
    return TakeHeard(heard.notes, heard, how.ear is None)


def read_many(paths: Sequence[Path], asked: Sequence[Asked], how: HowToHear) -> Iterator[TakeHeard | UserError]:
    """Read takes, each as `read_any_take` or the error that it raised, in order; many recordings on all cores."""
    read = partial(_tried, asked=tuple(asked), how=how)
    if sum(map(is_recording, paths)) < _MANY:
        yield from map(read, paths)
        return
    workers = min(len(paths), os.cpu_count() or 1)
    fresh = multiprocessing.get_context("spawn")  # the same on every system, and no lock of a thread is copied
    with ProcessPoolExecutor(workers, fresh, _leave_interrupts_alone) as pool:
        try:
            yield from pool.map(read, paths)
        finally:
            pool.shutdown(cancel_futures=True)


def _tried(path: Path, asked: Sequence[Asked], how: HowToHear) -> TakeHeard | UserError:
    try:
        return read_any_take(path, asked, how)
    except UserError as why:
        return why


def _leave_interrupts_alone() -> None:
    """Ctrl-C ends the program; its helpers end with it, without a word."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
