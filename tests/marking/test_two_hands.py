"""Both hands on one channel: the left hand has no marks, live or at the end, and the tune loses no note."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

import pytest

from companion.marking.left_hand import MOST_AT_ONCE, shared_out
from companion.marking.live import LiveMarker
from companion.marking.mark_values import Asked, Heard, Marks, Verdict
from companion.marking.two_hands import HOLD, TwoHands, mark_melody
from companion.timeline import Timeline
from tests.marking.tunes import made_tune
from tests.shipped_tables import TABLES

QUAVER = Fraction(1, 8)
LINE = Timeline(120.0, Fraction(1, 4), Fraction(0), 5.0)
# What chord buttons sound: G in three positions, with its seventh, that without a fifth, E minor, root and fifth of G,
# of C the other way up, of D with the root doubled.
CHORDS = {
    "G": (55, 59, 62),
    "G over B": (47, 50, 55),
    "G over D": (50, 55, 59),
    "G7": (55, 59, 62, 65),
    "G7 over F": (53, 55, 59, 62),
    "G7 without fifth": (55, 59, 65),
    "E minor": (52, 55, 59),
    "G without third": (55, 62),
    "C without third": (55, 60),
    "D without third": (50, 57, 62),
}


def asked_for(*pitches: int) -> tuple[Asked, ...]:
    return tuple(Asked(k, k * QUAVER, QUAVER, pitch) for k, pitch in enumerate(pitches))


def tune_of(asked: Sequence[Asked]) -> list[Heard]:
    """The right hand, without a mistake."""
    return [Heard(LINE.seconds(a.at), a.pitch, end=LINE.seconds(a.at) + 0.2) for a in asked]


def strokes(chord: Sequence[int], seconds: float, off: float = 0.0) -> list[Heard]:
    """A left hand to two beats a bar of 6/8: a bass of two octaves on the beat, a chord button on the last quaver."""
    left = []
    for k in range(int((seconds - LINE.seconds(Fraction(0))) / 0.75)):
        at = LINE.seconds(Fraction(0)) + 0.75 * k + off
        left += [Heard(at + 0.002 * n, pitch) for n, pitch in enumerate((43, 55))]
        left += [Heard(at + 0.5 + 0.001 * n, pitch) for n, pitch in enumerate(chord)]
    return left


def both(*hands: Sequence[Heard]) -> list[Heard]:
    return sorted((note for hand in hands for note in hand), key=lambda note: note.seconds)


def heard_live(
    asked: Sequence[Asked], heard: Sequence[Heard], line: Timeline | None, lowest: int | None = None
) -> LiveMarker:
    """A round heard live, looked at every 2 ms, and the verdicts that were ever shown."""
    live = LiveMarker(asked, line, rules=TABLES.marks)
    hands = TwoHands(live, asked, lowest)
    shown: set[tuple[int, Verdict]] = set()
    now, coming = heard[0].seconds, list(heard)
    while coming or now < heard[-1].seconds + 0.1:
        while coming and coming[0].seconds <= now:
            hands.hear(coming.pop(0))
        hands.until(now)
        shown.update(live.verdicts.items())
        now += 0.002
    live.shown = shown  # type: ignore[attr-defined]
    return live


def unlike(marks: Marks) -> list[tuple[int | None, Verdict]]:
    return [(note.written, note.verdict) for note in marks.notes if note.verdict is not Verdict.RIGHT]


@pytest.mark.parametrize("chord", CHORDS.values(), ids=CHORDS.keys())
@pytest.mark.parametrize("clock", [True, False])
@pytest.mark.parametrize("off", [-0.006, 0.004])
def test_a_left_hand_has_no_marks(chord: tuple[int, ...], clock: bool, off: float) -> None:
    """Bass with the tune and chords between and with its notes, a little before and after them: not one false mark."""
    for seed in (13, 14, 15):
        asked = made_tune(seed)
        tune = tune_of(asked)
        heard = both(tune, strokes(chord, tune[-1].seconds, off))
        line = LINE if clock else None
        marks = mark_melody(asked, heard, timeline=line, beat=Fraction(1, 4), rules=TABLES.marks)
        assert unlike(marks) == []
        assert marks.clean
        live = heard_live(asked, heard, line)
        assert {verdict for _, verdict in live.shown} == {Verdict.RIGHT}  # type: ignore[attr-defined]
        assert set(live.verdicts) == {note.index for note in asked}


def test_a_mistake_is_one_with_a_left_hand_too() -> None:
    """A wrong note, one left out and one too many, with basses and chords all the while, are marked as without them."""
    asked = made_tune(14)
    tune = tune_of(asked)
    tune[9] = replace(tune[9], pitch=asked[9].pitch + 1)
    tune.insert(21, Heard(tune[20].seconds + 0.12, tune[20].pitch + 6, end=tune[20].seconds + 0.22))
    gone = tune.pop(31)
    alone = mark_melody(asked, tune, timeline=LINE, rules=TABLES.marks)
    heard = both(tune, strokes(CHORDS["G"], tune[-1].seconds))
    together = mark_melody(asked, heard, timeline=LINE, rules=TABLES.marks)
    assert unlike(alone) == unlike(together)
    assert len(unlike(alone)) == 3
    assert all(heard[n.heard].pitch == n.heard_pitch for n in together.notes if n.heard is not None)
    live = heard_live(asked, heard, LINE)
    wrong = {at: verdict for at, verdict in live.verdicts.items() if verdict is not Verdict.RIGHT}
    assert wrong == {9: Verdict.WRONG, 30: Verdict.MISSED}
    assert gone.pitch == asked[30].pitch


def test_a_tune_that_jumps_in_octaves_loses_no_note() -> None:
    asked = asked_for(62, 74, 62, 86, 74, 50, 62, 74, 57, 69, 81, 69, 57, 50, 62, 74)
    for line in (LINE, None):
        assert unlike(mark_melody(asked, tune_of(asked), timeline=line, rules=TABLES.marks)) == []
        assert set(heard_live(asked, tune_of(asked), line).verdicts.values()) == {Verdict.RIGHT}


def test_octaves_and_chords_of_the_right_hand_lose_no_note() -> None:
    """The tune's highest note stays, whatever is pressed under it: its octave, a third, a whole chord."""
    asked = asked_for(74, 67, 79, 71, 62, 66, 67, 74)
    under = {0: (62,), 1: (62, 59), 2: (71, 74), 3: (67,), 5: (62,), 7: (66, 69)}
    heard = both(
        tune_of(asked),
        [Heard(LINE.seconds(asked[k].at) + 0.003, pitch) for k, pitches in under.items() for pitch in pitches],
    )
    marks = mark_melody(asked, heard, timeline=LINE, rules=TABLES.marks)
    assert [n.verdict for n in marks.notes if n.written is not None] == [Verdict.RIGHT] * 8
    assert set(heard_live(asked, heard, LINE).verdicts.values()) == {Verdict.RIGHT}


def test_written_grace_notes_and_cuts_lose_nothing() -> None:
    asked = list(asked_for(66, 62, 67, 64, 62, 66))
    asked[2] = replace(asked[2], grace=(64,))
    heard = tune_of(asked)
    heard += [Heard(heard[2].seconds - 0.05, 64, end=heard[2].seconds), Heard(heard[4].seconds - 0.04, 66)]
    marks = mark_melody(asked, both(heard), timeline=LINE, rules=TABLES.marks)
    assert [n.verdict for n in marks.notes if n.written is not None] == [Verdict.RIGHT] * 6
    assert sum(n.verdict is Verdict.ORNAMENT for n in marks.notes) == 2


@pytest.mark.parametrize("chord", [(55, 62), (55, 59, 62), (43, 55, 62), (55, 62, 65, 59)])
def test_a_note_that_only_the_chord_sounds_is_the_tunes(chord: tuple[int, ...]) -> None:
    """Where both hands press one key, some boxes send it once: the tune lacks nothing."""
    asked = asked_for(66, 69, 62, 66, 69, 74)
    heard = tune_of(asked)
    at = heard.pop(2).seconds
    heard = both(heard, [Heard(at + 0.001 * n, pitch) for n, pitch in enumerate(chord)])
    for line in (LINE, None):
        assert unlike(mark_melody(asked, heard, timeline=line, rules=TABLES.marks)) == []
    assert set(heard_live(asked, heard, LINE).verdicts.items()) == {(k, Verdict.RIGHT) for k in range(6)}


def test_a_low_wrong_note_is_said_within_milliseconds() -> None:
    asked = asked_for(66, 69, 62, 66)
    live = LiveMarker(asked, LINE, rules=TABLES.marks)
    hands = TwoHands(live, asked)
    at = LINE.seconds(asked[0].at)
    hands.hear(Heard(at, 66))
    assert live.verdicts == {0: Verdict.RIGHT}  # at once
    at = LINE.seconds(asked[1].at)
    hands.hear(Heard(at, 64))
    assert 1 not in live.verdicts
    assert not hands.due(at + HOLD / 2)
    hands.until(at + HOLD / 2)
    assert 1 not in live.verdicts
    assert hands.due(at + HOLD + 0.001)
    hands.until(at + HOLD + 0.001)
    assert live.verdicts[1] is Verdict.WRONG
    at = LINE.seconds(asked[2].at)
    hands.hear(Heard(at, 64))
    hands.hear(Heard(at + 0.2, 72))  # nobody has looked since: the next note is enough
    assert live.verdicts[2] is Verdict.WRONG


def test_a_high_piece_played_low_is_not_taken_for_a_left_hand() -> None:
    """The tune goes down to D4; its piece in hand does not, and the player plays the wrong bar."""
    asked = asked_for(81, 83, 79, 81)
    heard = [replace(note, pitch=pitch) for note, pitch in zip(tune_of(asked), (62, 64, 66, 62), strict=True)]
    marks = mark_melody(asked, heard, timeline=LINE, lowest=62, rules=TABLES.marks)
    assert sorted(n.heard for n in marks.notes if n.heard is not None) == [0, 1, 2, 3]
    assert set(heard_live(asked, heard, LINE, lowest=62).verdicts.values()) == {Verdict.WRONG}


def test_a_left_hand_alone_is_no_tune() -> None:
    asked = made_tune(13)
    marks = mark_melody(asked, strokes(CHORDS["E minor"], 30.0), timeline=LINE, lowest=62, rules=TABLES.marks)
    assert all(note.heard is None for note in marks.notes)
    live = LiveMarker(asked, None, rules=TABLES.marks)
    hands = TwoHands(live, asked)
    for note in strokes(CHORDS["E minor"], 30.0):
        hands.hear(note)
    hands.until(31.0)
    assert live.verdicts == {}


def test_more_notes_than_a_hand_has_are_shared_out_with_nobody() -> None:
    assert shared_out((55, 59, 62), 62).left == {0, 1}
    assert shared_out((55, 59, 62), 62).doubtful == {2}
    assert shared_out(tuple(range(40, 41 + MOST_AT_ONCE)), 62).left == frozenset()
