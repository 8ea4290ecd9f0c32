"""From a round to tones: where each begins, what a loop's length is, what a slow tempo does to a grace note."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.lesson.stretch import Stretch, count_in, stretch_of
from companion.sound.score import CLICK_FIRST, Passage, Request, SoundVoice, passage
from companion.sound.sound_settings import sound_settings
from companion.timeline import Timeline
from companion.tune.tune_values import Meter, OnceThrough
from tests.sound.tunes import JIG, QUAVER, REEL, WALTZ, quavers

SCORE = sound_settings().score
DOTTED = Fraction(3, 8)


def sounded(stretch: Stretch, bpm: float = 60, request: Request | None = None, meter: Meter = JIG) -> Passage:
    return passage(stretch, Timeline(bpm, stretch.beat), meter, SCORE, request)


def test_a_whole_round_goes_into_the_next() -> None:
    for pickup in (0, 1):
        round_ = quavers(8, JIG, pickup=pickup)
        stretch = stretch_of(round_, 0, len(round_.notes) - 1, JIG, DOTTED)
        assert stretch.length == round_.length
        assert stretch.pickup == pickup * QUAVER
        assert [beat.at for beat in stretch.beats] == [pickup * QUAVER + i * DOTTED for i in range(16)]
        assert [beat.first for beat in stretch.beats] == [True, False] * 8


def test_a_piece_that_does_not_lead_into_itself_gets_the_rest_that_keeps_the_pulse() -> None:
    round_ = quavers(8, JIG, pickup=1)
    stretch = stretch_of(round_, 0, 6, JIG, DOTTED)  # the pick-up and bar 1
    assert stretch.length == 2 * Fraction(3, 4)
    assert stretch_of(round_, 0, 6, JIG, DOTTED, loop=False).length == Fraction(7, 8)
    phrase = stretch_of(round_, 6, 17, JIG, DOTTED)  # from the last quaver of bar 1: two bars exactly
    assert phrase.length == Fraction(3, 2)
    assert phrase.pickup == QUAVER


def test_a_join_goes_round_the_end() -> None:
    round_ = quavers(4, JIG, pickup=1)
    last = len(round_.notes) - 1
    stretch = stretch_of(round_, last - 4, 6, JIG, DOTTED)
    assert [note.at for note in stretch.notes] == [i * QUAVER for i in range(12)]
    assert stretch.bars[0] == 0


def test_a_count_in_leads_into_a_pick_up() -> None:
    round_ = quavers(4, JIG, pickup=1)
    stretch = stretch_of(round_, 0, len(round_.notes) - 1, JIG, DOTTED)
    lead, beats = count_in(stretch, 2, JIG)
    assert lead == Fraction(3, 2) - QUAVER
    assert [beat.at for beat in beats] == [-lead + i * DOTTED for i in range(4)]
    assert [beat.first for beat in beats] == [True, False, True, False]
    made = sounded(stretch, 60, Request(bars_in=2))
    # 60 dotted crotchets a minute: a count of four seconds less the pick-up's third.
    assert made.start == round((4 - 1 / 3) * 44100)
    clicks = [tone for tone in made.tones if tone.voice is SoundVoice.CLICK]
    assert [round(tone.start * 44100) for tone in clicks] == [44100 * i for i in range(len(clicks))]
    assert [tone.pitch == CLICK_FIRST for tone in clicks[:4]] == [True, False, True, False]


@given(st.floats(20, 300), st.integers(1, 8), st.integers(0, 2), st.sampled_from([JIG, REEL, WALTZ]))
def test_every_note_begins_on_its_frame(bpm: float, bars: int, pickup: int, meter: Meter) -> None:
    round_ = quavers(bars, meter, pickup=pickup)
    beat = meter.beats[0]
    stretch = stretch_of(round_, 0, len(round_.notes) - 1, meter, beat)
    made = sounded(stretch, bpm, Request(bars_in=1), meter)
    whole = 60 / bpm / float(beat)
    melody = [tone for tone in made.tones if tone.voice is SoundVoice.MELODY]
    assert len(melody) == len(round_.notes)
    for tone, note in zip(melody, round_.notes, strict=True):
        assert abs(round(tone.start * made.rate) - (made.start + float(note.at) * whole * made.rate)) <= 1
        assert tone.length > 0
    assert made.frames == made.start + round(float(round_.length) * whole * made.rate)
    for one, following in pairwise(melody):
        assert one.start + one.length <= following.start + 1e-9


def with_first(round_: OnceThrough, **changes: object) -> OnceThrough:
    return replace(round_, notes=(round_.notes[0], replace(round_.notes[1], **changes), *round_.notes[2:]))  # type: ignore[arg-type]


@pytest.mark.parametrize("bpm", [30, 60, 120])
def test_a_grace_keeps_its_length_when_slow_and_the_note_its_place(bpm: float) -> None:
    """Short graces stay near one length at every tempo, and take their time from the note before (Timmers 2002)."""
    round_ = with_first(quavers(2, JIG), grace=(78,))
    stretch = stretch_of(round_, 0, 11, JIG, DOTTED)
    tones = [tone for tone in sounded(stretch, bpm).tones if tone.voice is SoundVoice.MELODY]
    assert [tone.pitch for tone in tones[:3]] == [round_.notes[0].pitch, 78, round_.notes[1].pitch]
    assert tones[2].start == pytest.approx(60 / bpm / 3)
    assert tones[2].start - tones[1].start == pytest.approx(SCORE.grace_s)


def test_a_long_roll_is_three_of_the_note_opened_by_a_cut_and_a_tap() -> None:
    round_ = quavers(1, JIG)
    note = replace(round_.notes[0], length=DOTTED, pitch=69, ornaments=("roll",))
    round_ = replace(round_, notes=(note, *round_.notes[3:]))
    stretch = stretch_of(round_, 0, 3, JIG, DOTTED)
    by_hand = Request(figures={0: ((), (73,), (67,))})
    tones = [t for t in sounded(stretch, 60, by_hand).tones if t.voice is SoundVoice.MELODY and t.index == 0]
    assert [tone.pitch for tone in tones] == [69, 73, 69, 67, 69]  # A, cut C#, A, tap G, A
    assert [round(tones[i].start, 3) for i in (0, 1, 3)] == [0, 0.333, 0.667]
    plain = sounded(stretch, 60, replace(by_hand, ornaments=False))
    assert [t.pitch for t in plain.tones if t.voice is SoundVoice.MELODY and t.index == 0] == [69]


def test_the_same_note_again_is_heard_apart_and_a_shift_moves_only_the_tune() -> None:
    round_ = with_first(quavers(1, JIG), pitch=62)
    stretch = stretch_of(round_, 0, 5, JIG, DOTTED)
    made = sounded(stretch, 60)
    tones = [tone for tone in made.tones if tone.voice is SoundVoice.MELODY]
    assert tones[1].start - (tones[0].start + tones[0].length) == pytest.approx(SCORE.repeat_gap_s)
    assert tones[2].start - (tones[1].start + tones[1].length) == pytest.approx(SCORE.gap_s)
    moved = sounded(stretch, 60, Request(shift=-2))
    for one, other in zip(made.tones, moved.tones, strict=True):
        assert other.pitch - one.pitch == (-2 if one.voice is SoundVoice.MELODY else 0)
    assert not [t for t in sounded(stretch, 60, Request(click=False)).tones if t.voice is SoundVoice.CLICK]
    assert not [t for t in sounded(stretch, 60, Request(melody=False)).tones if t.voice is SoundVoice.MELODY]
