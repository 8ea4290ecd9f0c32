"""`companion microphone`: learn how a box sounds in a room, so that it can be heard through a microphone."""

from __future__ import annotations

import argparse
import re
from pathlib import Path

from companion.box.layout import load_box
from companion.cli.show import as_json, line, note_name
from companion.errors import Place, UserError

SCHEMA = "companion.microphone/1"
EXAMPLE = "companion microphone --learn box.wav --box bc-21 -o box.ear"
MOST_PITCH = 127


def run(given: argparse.Namespace) -> None:
    """List the microphones; or learn a box, from a recording or from what is played now."""
    if given.learn is None:
        _list(given)
    elif given.learn:
        _learn_from_file(given)
    else:
        _learn_live(given)


def _list(given: argparse.Namespace) -> None:
    from companion.input.capture import list_microphones

    microphones = list_microphones()
    if given.json:
        as_json({"schema": SCHEMA, "microphones": list(microphones)})
        return
    for name in microphones:
        line(name)
    if not microphones:
        line("No microphone found. Plug one in, or allow this program to use it in your system's privacy settings.")
    line("Learn your box, about a minute: companion microphone --learn --box bc-21")


def _learn_live(given: argparse.Namespace) -> None:
    """Learn from what is played now, note by note; keep it for this box and microphone, or write it where `-o` says."""
    from companion.hearing.ear import write_ear
    from companion.hearing.guess import own_ear
    from companion.hearing.learn import learn_ear
    from companion.input.microphone import open_microphone
    from companion.pages.learn_box import keep_ear, presses_to_learn
    from companion.playback.learn_live import take_in_live

    if given.box is None or given.pitches is not None:
        raise UserError("say which box you play: companion microphone --learn --box bc-21")
    box = load_box(given.box)
    asked = [
        (pitch, f"{press.row} row, button {press.button}, {press.bellows.value}")
        for press in presses_to_learn(box)
        if (pitch := box.pitch(press)) is not None
    ]
    microphone = open_microphone(given.microphone, lambda _name: own_ear())
    try:
        line(f"I listen through {microphone.name}. Nothing leaves this machine, and no sound is kept.")
        taking = take_in_live(microphone, asked, 2 * len(box.basses), line)
    finally:
        microphone.close()
    if given.out is not None:
        write_ear(Path(given.out), learn_ear(taking.sound, taking.rate, taking.learnt))
        line(f"Learnt: {given.out}.")
        return
    keep_ear(taking, box.id, microphone.name)
    line("Learnt. From now on you are heard with this, on this box and microphone.")


def _learn_from_file(given: argparse.Namespace) -> None:
    """Learn from a recording in which each note sounds once, and write the ear."""
    from companion.hearing.ear import write_ear
    from companion.hearing.learn import learn_ear
    from companion.sound.sound_file import read_sound

    pitches = _pitches(given)
    if given.out is None:
        raise UserError(f"name the file to write: {EXAMPLE}")
    sound, rate = read_sound(Path(given.learn))
    try:
        ear = learn_ear(sound, rate, pitches)
    except UserError as why:
        raise UserError(why.message, Place(Path(given.learn))) from why
    write_ear(Path(given.out), ear)
    if given.json:
        cents = [round(float(one), 1) for one in ear.cents]
        learnt = {"ear": given.out, "from": given.learn, "pitches": list(ear.pitches), "cents": cents}
        as_json({"schema": SCHEMA, "learnt": learnt})
        return
    first, last = note_name(ear.pitches[0]), note_name(ear.pitches[-1])
    notes = f"{len(ear.pitches)} notes learnt, {first} to {last}" if len(ear.pitches) > 1 else f"{first} learnt"
    line(f"{given.out}: {notes}. Use it: companion mark BOOK TAKE --ear {given.out}")


def _pitches(given: argparse.Namespace) -> tuple[int, ...]:
    """The notes of the recording, in order: those named, or all that the box has, the lowest first."""
    if given.pitches is not None and given.box is not None:
        raise UserError("give either --pitches or --box, not both")
    if given.pitches is not None:
        return pitches_named(given.pitches)
    if given.box is None:
        raise UserError("say which notes the recording has: --box bc-21 for all of your box's, or --pitches 57-88")
    box = load_box(given.box)
    return tuple(sorted({pitch for row in box.rows for pitch in (*row.push, *row.pull) if pitch is not None}))


def pitches_named(text: str) -> tuple[int, ...]:
    """Pitches as they are typed, MIDI numbers and ranges: ``57-60`` or ``57,59,61-64``. Raises `UserError`."""
    found: list[int] = []
    for part in text.replace("–", "-").split(","):
        numbers = re.fullmatch(r"\s*(\d{1,3})(?:\s*-\s*(\d{1,3}))?\s*", part)
        if numbers is None:
            raise UserError(f"--pitches takes MIDI numbers and ranges, such as 57,59,61-64, not “{text[:40]}”")
        first, last = int(numbers[1]), int(numbers[2] or numbers[1])
        if max(first, last) > MOST_PITCH:
            raise UserError(f"--pitches takes numbers from 0 to {MOST_PITCH} (middle C is 60), not {max(first, last)}")
        if last < first:
            raise UserError(f"--pitches: write {last}-{first}, the lower note first")
        found += range(first, last + 1)
    twice = next((pitch for pitch in found if found.count(pitch) > 1), None)
    if twice is not None:
        raise UserError(f"--pitches names {twice} twice; each note sounds once")
    return tuple(found)
