"""Getting to know a box on the terminal: what it says, what comes of it."""

from __future__ import annotations

import threading
from collections.abc import Callable

import numpy as np

from companion.input.capture import Block
from companion.playback.learn_live import take_in_live
from tests.hearing.test_take_in import RATE, Sound, reed, room

ASKED = [(67, "C row, button 3, push"), (69, "C row, button 3, pull")]


class Desk:
    """A microphone by hand."""

    rate = RATE
    tap: Callable[[Block], None] | None = None

    def take_new(self) -> list[object]:
        return []

    def sound(self, *sounds: Sound) -> None:
        sound = np.concatenate(sounds)
        sound = (sound + room(len(sound) / RATE + 1, seed=3)[: len(sound)]).astype(np.float32)
        while self.tap is None:
            pass
        for at in range(0, len(sound), 2048):
            self.tap(Block(sound[at : at + 2048], at, 0.0))


def test_each_note_is_asked_for_and_a_wrong_one_told() -> None:
    desk, said = Desk(), []

    def play() -> None:
        desk.sound(room(2.2), reed(67), room(0.2), reed(71, 3.0), room(0.3), reed(69), room(0.2), reed(45), room(0.2))

    def say(line: str) -> None:
        said.append(line)

    threading.Thread(target=play, daemon=True).start()
    taking = take_in_live(desk, ASKED, 1, say)  # type: ignore[arg-type]
    assert taking.learnt == (67, 69)
    assert desk.tap is None
    assert said[-1] == "One moment …"


def test_every_step_has_its_line() -> None:
    desk, said, parts = Desk(), [], iter([(reed(67), room(0.2)), (reed(71, 3.0),), (room(0.3), reed(69), room(0.2))])
    now = [0.0]

    def say(line: str) -> None:
        said.append(line)
        if not line.startswith(("Keep still", "One moment", "Not quiet")):
            desk.sound(*next(parts, (room(6.0),)))

    def clock() -> float:
        now[0] += 0.5
        return now[0]

    starts = threading.Thread(target=lambda: desk.sound(room(2.2)), daemon=True)
    starts.start()
    taking = take_in_live(desk, ASKED, 16, say, clock)  # type: ignore[arg-type]
    assert taking.learnt == (67, 69)
    assert "1 of 2: C row, button 3, push. Hold it." in said
    assert "That was B. This one is A: C row, button 3, pull." in said
    assert "Left hand, 0 of 16: each bass and chord once, push and pull. Or just wait." in said
