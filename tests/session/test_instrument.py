"""A player whose box sounds an octave lower: heard once, confirmed the second time, and right from then on."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import mido
import pytest

from companion.hearing.ear import open_ear
from companion.practice.machine import LISTEN
from companion.session.listening import Listening
from tests.session.fakes import Bench, a_tune_in_hand, exactly


def test_a_box_an_octave_lower_is_learnt_and_no_mistake(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    bench = Bench(tmp_path)
    bench.player.standin_on = False
    bench.player.choose = lambda going, asked: replace(exactly(going, asked), pitch=asked.pitch - 12)  # type: ignore[type-var]
    session = bench.session
    begin = session._begin

    def begin_and_play(asked: Any) -> None:
        begin(asked)
        going = session._underway[-1].going
        if going.task.step != LISTEN:
            bench.player.play(going, bench.speaker)

    monkeypatch.setattr(session, "_begin", begin_and_play)
    said = []
    for n in range(600):
        bench.wind(0.1)
        if n % 40 == 39 and session._underway and not session._underway[-1].going.clocked:
            # Nothing seems to be right: the player tries the piece again.
            going = session._underway[-1].going
            bench.player.play(replace(going, timeline=going.timeline.moved(bench.speaker.time)), bench.speaker)
        if session._sentence not in said:
            said.append(session._sentence)
        if session.rounds:
            break
    shifted = [sentence for sentence in said if "12 semitones lower" in sentence]
    assert len(shifted) == 2
    assert "Once more" in shifted[0]
    assert "from now on that is right" in shifted[1]
    assert bench.player.known.shift == -12
    # Nothing that sounded at another pitch was kept as a mistake.
    assert session.rounds
    assert all(one.marks.clean for one in session.rounds)


class ByHand:
    """A port that sends what the test tells it to."""

    name = "by hand"
    callback: Any = None

    def close(self) -> None:
        pass


def test_the_measured_delay_is_taken_off_what_the_player_plays() -> None:
    port = ByHand()
    listening = Listening(open_ear(port, clock=lambda: 5.0), a_tune_in_hand()[0].fingering, standin=False)
    try:
        listening.delay = 0.04
        port.callback(mido.Message("note_on", note=62, velocity=80))
        assert [note.seconds for note in listening.new(lambda stamp: stamp + 1.0)] == [pytest.approx(5.96)]
    finally:
        listening.close()
