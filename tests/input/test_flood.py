"""More notes than anyone plays: the round is not marked and that is said, what is lost is said, nothing grows."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import mido

from companion.input.listening import Listening
from companion.input.midi_in import QUEUE_LIMIT, open_midi_in
from companion.input.note_builder import LIMIT
from companion.marking.mark_values import Heard
from companion.practice.player_state import IN_TIME
from companion.screen.words import load_words
from tests.session.fakes import Bench

WORDS = load_words()


class ByHand:
    """A port that sends what the test tells it to."""

    name = "by hand"
    callback: Any = None

    def close(self) -> None:
        pass


def test_a_minute_of_a_flood_is_bounded_and_every_note_counted() -> None:
    port = ByHand()
    listening = Listening(open_midi_in(port), None, standin=False)
    message = mido.Message("note_on", note=60, velocity=80)
    begun = 0
    for _ in range(120):
        for _ in range(500):
            port.callback(message)
        begun += len(listening.new(lambda stamp: stamp))
    assert begun == 60_000
    assert len(listening.taken) <= LIMIT
    assert listening.forgotten + len(listening.taken) == 60_000
    assert listening.notice(WORDS) == ""
    # Nobody fetches for so long that the queue is full: what is lost is said.
    for _ in range(QUEUE_LIMIT + 7):
        port.callback(message)
    assert len(listening.new(lambda stamp: stamp)) == QUEUE_LIMIT
    assert listening.notice(WORDS) == WORDS("instrument_flood", n=7)
    listening.close()


def test_a_flooded_round_is_not_marked_and_the_next_one_is(tmp_path: Path) -> None:
    bench = Bench(tmp_path)
    session = bench.session
    bench.wind(30)
    assert session.rounds[-1].step == IN_TIME
    before, now = len(session.rounds), bench.speaker.time
    bench.player._due += [Heard(now + k / 1000, 24 + k * 7 % 80, end=now + k / 1000 + 0.01) for k in range(2000)]
    said: set[str] = set()
    for _ in range(150):
        bench.wind(0.1)
        said.add(bench.sentence)
    assert WORDS("said_flood") in said
    after = session.rounds[before:]
    assert len(after) >= 2
    assert all(len(one.marks.notes) < 1000 for one in after)
    assert after[-1].marks.clean


def test_rounds_are_marked_when_old_notes_have_made_room(tmp_path: Path) -> None:
    bench = Bench(tmp_path)
    bench.wind(30)
    rounds = len(bench.session.rounds)
    assert rounds
    # As after an hour: half of what was heard is forgotten.
    gone = len(bench.player.taken) // 2
    del bench.player.taken[:gone]
    bench.player.forgotten = gone
    bench.wind(30)
    later = bench.session.rounds[rounds:]
    assert len(later) >= 3
    assert all(one.marks.clean for one in later)
