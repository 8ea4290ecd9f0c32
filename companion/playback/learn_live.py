"""Getting to know a box on the terminal: the same steps as in the window, said line by line.

`companion.pages.learn_box` is the window's.
"""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable, Sequence

from companion.box.pitch_names import name_of
from companion.hearing.take_in import Stage, TakeIn
from companion.input.capture import Block
from companion.input.microphone import Microphone

LOOK = 0.02  # seconds between two looks
LEAVES = 12.0  # seconds of silence after which the left hand is left out


def take_in_live(
    microphone: Microphone,
    asked: Sequence[tuple[int, str]],
    left: int,
    say: Callable[[str], None],
    clock: Callable[[], float] = time.monotonic,
) -> TakeIn:
    """Take a box in through a microphone, and say what to play; what `learn_ear` then learns from.

    Parameters
    ----------
    asked : the notes in order: the pitch, and where it is played ("C row, button 3, push").
    left : how many basses and chords there are. They may be left out: by waiting.
    say : says one line.
    """
    blocks: deque[Block] = deque()
    microphone.tap = blocks.append
    taking = TakeIn(microphone.rate, [pitch for pitch, _ in asked], left)
    said = ""
    heard_at = clock()
    try:
        while not taking.done:
            time.sleep(LOOK)
            microphone.take_new()
            for _ in range(len(blocks)):
                taking.take(blocks.popleft().sound)
            line = _line(taking, asked)
            if line != said:
                said = line
                say(line)
            if taking.stage is not Stage.LEFT or not taking.silent:
                heard_at = clock()
            elif clock() - heard_at > LEAVES:
                taking.skip()
    finally:
        microphone.tap = None
    return taking


def _line(taking: TakeIn, asked: Sequence[tuple[int, str]]) -> str:
    """What is to be done now."""
    if taking.stage is Stage.ROOM:
        return "Not quiet yet. I wait." if taking.loud else "Keep still for a moment: I listen to the room."
    if taking.stage is Stage.LEFT:
        return f"Left hand, {taking.at} of {taking.left}: each bass and chord once, push and pull. Or just wait."
    if taking.done:
        return "One moment …"
    pitch, where = asked[taking.at]
    line = f"{taking.at + 1} of {len(asked)}: {where}. Hold it."
    if taking.other is not None:
        return f"That was {name_of(taking.other, octave=False)}. This one is {name_of(pitch, octave=False)}: {where}."
    return f"I hear nothing. Play a little louder: {where}." if taking.silent else line
