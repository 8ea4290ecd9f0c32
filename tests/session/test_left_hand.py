"""A player whose box sends both hands on one channel: basses and chords are no mistakes, live or at the round's end."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from companion.input.take_file import read_take, write_take
from companion.marking.mark_values import Asked, Heard, Verdict
from companion.practice.round_plan import RoundPlan
from companion.session.read_session import rounds_left
from companion.session.session_files import write_marks
from companion.session.session_folders import MARKS, TAKE
from tests.session.fakes import Bench, exactly, play_every_round

CHORDS: dict[str, Sequence[int]] = {"full": (55, 59, 62), "no third": (55, 62)}


def left_hand(going: RoundPlan, chord: Sequence[int]) -> list[Heard]:
    """A bass of two octaves on each beat of a round, and a chord button half-way to the next."""
    beat = going.timeline.beat
    pressed = []
    at = going.asked[0].at
    while at < going.asked[-1].at + going.asked[-1].length:
        for place, pitches in ((at, (43, 55)), (at + beat / 2, chord)):
            seconds = going.timeline.seconds(place) + 0.004
            pressed += [Heard(seconds + 0.001 * n, pitch, end=seconds + 0.1) for n, pitch in enumerate(pitches)]
        at += beat
    return pressed


def both_hands(bench: Bench, chord: Sequence[int]) -> None:
    """Let the player, not the stand-in, play each round with both hands."""
    play_every_round(bench, lambda going: left_hand(going, chord))


@pytest.mark.parametrize("chord", CHORDS.values(), ids=CHORDS.keys())
def test_rounds_with_basses_and_chords_are_clean(tmp_path: Path, chord: Sequence[int]) -> None:
    bench = Bench(tmp_path)
    both_hands(bench, chord)
    shown: set[Verdict] = set()
    while bench.speaker.time < 60:
        bench.wind(0.02, step=0.005)
        for one in bench.session.state.in_play:
            shown.update(one.live.verdicts.values())
            shown.update(one.verdicts.values())
    rounds = bench.session.rounds
    assert len({one.step for one in rounds}) > 1
    assert len(rounds) > 5
    assert all(one.marks.clean for one in rounds)
    assert shown == {Verdict.RIGHT}
    assert any(note.pitch == 43 for note in bench.player.taken)
    assert all(note.heard_pitch not in (43, 55, 59) for one in rounds for note in one.marks.notes)

    # What the session leaves says which of the take's notes each mark is about, the left hand's between them.
    write_take(tmp_path / TAKE, bench.player.taken)
    write_marks(tmp_path / MARKS, bench.course.title, "bc-21", bench.course.beat, rounds)
    heard = read_take(tmp_path / TAKE)
    back = rounds_left(tmp_path / MARKS, bench.course.title, heard)
    assert len(back) == len(json.loads((tmp_path / MARKS).read_text(encoding="utf-8"))["rounds"])
    for one in back:
        marked = [(note.heard, note.heard_pitch) for note in one.marks.notes if note.heard is not None]
        assert all(heard[at].pitch == pitch for at, pitch in marked)


def test_a_wrong_note_is_one_with_a_left_hand_too(tmp_path: Path) -> None:
    """A note played a third too low, as low as a chord's, in each round: wrong, and the only fault."""
    bench = Bench(tmp_path)
    both_hands(bench, CHORDS["full"])

    def a_third_low(going: RoundPlan, asked: Asked) -> Heard | None:
        note = exactly(going, asked)
        assert note is not None
        return replace(note, pitch=asked.pitch - 3) if going.clocked and asked == going.asked[1] else note

    bench.player.choose = a_third_low
    bench.wind(60, step=0.005)
    timed = [one for one in bench.session.rounds if one.bpm is not None]
    assert timed
    for one in timed:
        faults = [note.verdict for note in one.marks.notes if note.verdict is not Verdict.RIGHT]
        assert faults == [Verdict.WRONG]


def test_a_left_hand_alone_is_silence(tmp_path: Path) -> None:
    """Who only tries the basses has not played the piece: nothing is marked, nothing kept."""
    bench = Bench(tmp_path)
    bench.player.choose = lambda _going, _asked: None
    both_hands(bench, CHORDS["full"])
    bench.wind(40, step=0.005)
    assert not bench.session.rounds
