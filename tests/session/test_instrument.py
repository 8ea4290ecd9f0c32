"""A player whose box sounds an octave lower: heard once, confirmed the second time, and right from then on."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from tests.session.fakes import Bench, exactly, play_every_round


def test_a_box_an_octave_lower_is_learnt_and_no_mistake(tmp_path: Path) -> None:
    bench = Bench(tmp_path)
    bench.player.choose = lambda going, asked: replace(exactly(going, asked), pitch=asked.pitch - 12)  # type: ignore[type-var]
    session = bench.session
    play_every_round(bench)
    said = []
    for n in range(600):
        bench.wind(0.1)
        if n % 40 == 39 and session.state.in_play and not bench.plan.clocked:
            # Nothing seems to be right: the player tries the piece again.
            going = bench.plan
            bench.player.play(replace(going, timeline=going.timeline.moved(bench.speaker.time)), 0.0)
        if bench.sentence not in said:
            said.append(bench.sentence)
        if session.rounds:
            break
    shifted = [sentence for sentence in said if "12 semitones lower" in sentence]
    assert len(shifted) == 2
    assert "Play it again" in shifted[0]
    assert "From now on that counts as right" in shifted[1]
    assert bench.player.known.shift == -12
    # Nothing that sounded at another pitch was kept as a mistake.
    assert session.rounds
    assert all(one.marks.clean for one in session.rounds)
