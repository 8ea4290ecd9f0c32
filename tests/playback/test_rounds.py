"""What `play` and `render` sound: count-ins, clicks, answers, ornaments, basses, lift, pitch; and live changes at the
seam, to the frame, on a tape.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from companion.box.fingering import finger_round
from companion.box.layout import load_box
from companion.lesson.pieces import cut, piece_named
from companion.notation import read_book
from companion.places import shipped
from companion.playback.round_maker import RoundMaker, SoundWish, levelled
from companion.practice.round_plan import TuneInHand
from companion.sound.lift import DanceLift, lift_of
from companion.sound.render import Renderer
from companion.sound.score import Passage, SoundVoice
from companion.sound.sound_settings import sound_settings
from companion.sound.tape import Tape
from companion.sound.tempi import target_of
from companion.sound.transport import LEAD, Loop, Transport
from companion.tune.tune_values import Meter
from companion.tune.unfold import unfold
from tests.shipped_tables import TABLES

RATE = 44100
SETTINGS = sound_settings()


def shipped_lift(rhythm: str, meter: Meter) -> DanceLift | None:
    return lift_of(rhythm, meter, TABLES.dances, TABLES.lifts)


def in_hand(number: int) -> tuple[RoundMaker, dict[str, Any], str]:
    """A demo tune, its pieces by name, and its rhythm."""
    tune = read_book(shipped("demo_tunes", "tanners_quay.abc")).tune(number)
    round_ = unfold(tune)
    fingering = finger_round(round_, load_box("bc-21"), tables=TABLES)
    target, beat = target_of(tune.rhythm, tune.meter, TABLES.dances, tune.tempo)
    course = TuneInHand(
        tune.title,
        round_,
        fingering,
        tune.meter,
        tune.key,
        beat,
        target,
        marking=TABLES.marks,
        ornaments=TABLES.ornaments,
    )
    pieces = {piece.name: piece for piece in cut(round_, fingering.notes, rules=TABLES.lesson)}
    return RoundMaker(course, SETTINGS, shipped_lift(tune.rhythm, tune.meter)), pieces, tune.rhythm


@pytest.fixture(scope="module", params=[1, 2, 3, 4, 5])
def tune(request: pytest.FixtureRequest) -> tuple[RoundMaker, dict[str, Any], str]:
    return in_hand(request.param)


def voices(made: Passage, voice: SoundVoice) -> list[Any]:
    return [tone for tone in made.tones if tone.voice is voice]


def made(rounds: RoundMaker, wish: SoundWish, number: int = 0) -> Passage:
    found = rounds.made(wish, number)
    assert found is not None
    return found


def test_off_beats_lie_between_the_beats(tune: tuple[RoundMaker, dict[str, Any], str]) -> None:
    rounds, pieces, _ = tune
    piece = pieces["round"]
    on, off = (
        voices(made(rounds, SoundWish(piece, 90.0, click=where)), SoundVoice.CLICK) for where in ("beats", "off-beats")
    )
    assert len(on) - 1 <= len(off) <= len(on)
    share = 2 / 3 if rounds.course.beat.numerator == 3 else 1 / 2
    for one, other in zip(on, off, strict=False):
        assert other.start - one.start == pytest.approx(share * 60 / 90)
    counted = made(rounds, SoundWish(piece, 90.0, click="count-in", bars_in=1))
    assert all(tone.start * RATE < counted.start for tone in voices(counted, SoundVoice.CLICK))
    assert voices(counted, SoundVoice.CLICK)


def test_a_short_count_gives_two_beats_and_leads_into_the_pick_up(tune: tuple[RoundMaker, dict[str, Any], str]) -> None:
    rounds, pieces, _ = tune
    wish = SoundWish(pieces["round"], 60.0, short_in=True, click="count-in")
    first = made(rounds, wish)
    clicks = voices(first, SoundVoice.CLICK)
    laid = rounds.course.laid(pieces["round"])
    assert laid.pickup < rounds.course.beat
    # Two seconds, one click a beat, less what the pick-up takes of the second beat.
    assert [tone.start for tone in clicks] == pytest.approx([0.0, 1.0])
    assert first.start == round((2 - float(laid.pickup / rounds.course.beat)) * RATE)
    assert made(rounds, replace(wish, rounds=2), 1).start == 0


def test_an_answer_leaves_the_same_room(tune: tuple[RoundMaker, dict[str, Any], str]) -> None:
    rounds, pieces, _ = tune
    wish = SoundWish(pieces["A bar 1"], 90.0, rounds=2, answer=True, basses=True)
    parts = [made(rounds, wish, number) for number in range(4)]
    assert rounds.made(wish, 4) is None
    assert {part.frames for part in parts} == {parts[0].frames}
    for number, part in enumerate(parts):
        assert bool(voices(part, SoundVoice.MELODY)) is (number % 2 == 0)
        assert bool(voices(part, SoundVoice.BASS)) <= (number % 2 == 0)
        assert voices(part, SoundVoice.CLICK) == voices(parts[0], SoundVoice.CLICK)
    whole = rounds.whole(wish)
    assert whole.frames == sum(part.frames for part in parts)
    assert len(whole.tones) == sum(len(part.tones) for part in parts)


def test_ornaments_are_those_of_the_hand_and_can_be_left_out(tune: tuple[RoundMaker, dict[str, Any], str]) -> None:
    """Each sounding pitch is one that the bellows' direction has at that note, by the layout's own table."""
    rounds, pieces, _ = tune
    fingering = rounds.course.fingering
    plain = made(rounds, SoundWish(pieces["round"], 80.0, ornaments=False))
    assert len(voices(plain, SoundVoice.MELODY)) == len(rounds.course.round.notes)
    ornamented = {i for i, note in enumerate(rounds.course.round.notes) if note.ornaments}
    for tone in voices(made(rounds, SoundWish(pieces["round"], 80.0)), SoundVoice.MELODY):
        assert tone.index is not None
        if tone.index in ornamented and not rounds.course.round.notes[tone.index].grace:
            bellows = fingering.notes[tone.index].press.bellows.value
            assert tone.pitch in {
                pitch for row in fingering.box.rows for pitch in getattr(row, bellows) if pitch is not None
            }


def test_a_tune_with_a_roll_sounds_what_the_buttons_have(tmp_path: Path) -> None:
    """A made-up tune: a long roll on B4, a note of both directions; the cut and tap are from the same direction."""
    (tmp_path / "rolled.abc").write_text("X:1\nT:Rolled\nR:jig\nM:6/8\nL:1/8\nK:D\n~B3 AFA|d3 d3|\n", encoding="utf-8")
    rolled = read_book(tmp_path / "rolled.abc").tune(1)
    round_ = unfold(rolled)
    fingering = finger_round(round_, load_box("bc-21"), tables=TABLES)
    course = TuneInHand(
        "",
        round_,
        fingering,
        rolled.meter,
        rolled.key,
        Fraction(3, 8),
        100.0,
        marking=TABLES.marks,
        ornaments=TABLES.ornaments,
    )
    rounds = RoundMaker(course, SETTINGS)
    piece = piece_named(cut(round_, fingering.notes, rules=TABLES.lesson), None)
    tones = [tone for tone in voices(made(rounds, SoundWish(piece, 60.0)), SoundVoice.MELODY) if tone.index == 0]
    bellows = fingering.notes[0].press.bellows.value
    has = {pitch for row in fingering.box.rows for pitch in getattr(row, bellows) if pitch is not None}
    assert len(tones) > 1
    assert {tone.pitch for tone in tones} <= has
    main = [tone for tone in tones if tone.pitch == 71]
    assert len(main) >= 2
    assert main[0].start == 0
    assert (
        len(
            [
                t
                for t in voices(made(rounds, SoundWish(piece, 60.0, ornaments=False)), SoundVoice.MELODY)
                if t.index == 0
            ]
        )
        == 1
    )


def test_the_basses_are_those_of_the_bellows(tune: tuple[RoundMaker, dict[str, Any], str]) -> None:
    rounds, pieces, _ = tune
    sounded = made(rounds, SoundWish(pieces["round"], 80.0, basses=True))
    box, notes = rounds.course.fingering.box, rounds.course.fingering.notes
    melody = voices(sounded, SoundVoice.MELODY)
    assert voices(sounded, SoundVoice.BASS)
    for tone in [*voices(sounded, SoundVoice.BASS), *voices(sounded, SoundVoice.CHORD)]:
        before = [one for one in melody if one.start <= tone.start + 0.05 and one.index is not None]
        bellows = notes[before[-1].index].press.bellows.value
        kind = "bass" if tone.voice is SoundVoice.BASS else "chord"
        has = {p % 12 for b in box.basses if b.kind == kind for p in getattr(b, f"{bellows}_pitches")}
        assert tone.pitch % 12 in has
    assert not voices(made(rounds, SoundWish(pieces["round"], 80.0)), SoundVoice.BASS)


def test_lift_keeps_the_beats_and_shares_out_what_is_within() -> None:
    lift = DanceLift(Fraction(1, 4), (3.0, 1.0), 1.0)
    line = Fraction(1, 8)
    assert [lift.place(line + i * Fraction(1, 8), line) for i in range(5)] == pytest.approx(
        [0.125, 0.125 + 0.1875, 0.375, 0.375 + 0.1875, 0.625]
    )
    jig = DanceLift(Fraction(3, 8), (3.0, 1.0, 2.0), 0.5)
    # Half-way between thirds and 3:1:2 of the dotted crotchet.
    assert [jig.place(i * Fraction(1, 8), Fraction(0)) for i in range(4)] == pytest.approx(
        [0, 0.375 * (1 / 3 + 1 / 2) / 2, 0.375 * (2 / 3 + 2 / 3) / 2, 0.375]
    )
    common = Meter("C|", Fraction(1), (Fraction(1, 2),) * 2)
    hornpipe = shipped_lift("Hornpipe", common)
    assert hornpipe == DanceLift(Fraction(1, 4), (3.0, 1.0), 1.0)
    assert (hornpipe.by(0.0), hornpipe.by(2.0)) == (None, hornpipe)
    assert hornpipe.by(0.5) == replace(hornpipe, amount=0.5)
    assert shipped_lift("jig", common) is None
    assert shipped_lift("waltz", Meter("3/4", Fraction(3, 4), (Fraction(1, 4),) * 3)) is None


def test_lift_moves_no_beat_of_a_tune(tune: tuple[RoundMaker, dict[str, Any], str]) -> None:
    rounds, pieces, rhythm = tune
    straight, lifted = (
        made(rounds, SoundWish(pieces["round"], 80.0, ornaments=False, lift=amount)) for amount in (0.0, 1.0)
    )
    assert straight.frames == lifted.frames
    laid = rounds.course.laid(pieces["round"])
    beats = {beat.at for beat in laid.beats}
    moved = 0
    for note, one, other in zip(
        laid.notes, voices(straight, SoundVoice.MELODY), voices(lifted, SoundVoice.MELODY), strict=True
    ):
        if note.at in beats:
            assert other.start == pytest.approx(one.start)
        moved += abs(other.start - one.start) > 0.005
    assert (moved > 0) is (shipped_lift(rhythm, rounds.course.meter) is not None)


def test_a_shift_moves_melody_and_basses_and_levels_are_kept_in_midi() -> None:
    rounds, pieces, _ = in_hand(1)
    wish = SoundWish(pieces["round"], 80.0, basses=True)
    for one, other in zip(made(rounds, wish).tones, made(rounds, replace(wish, shift=2)).tones, strict=True):
        assert other.pitch - one.pitch == (0 if one.voice is SoundVoice.CLICK else 2)
    softer = levelled(made(rounds, wish), {"melody": 0.25, "click": 0.0})
    assert not voices(softer, SoundVoice.CLICK)
    assert {tone.velocity for tone in voices(softer, SoundVoice.MELODY)} == {round(SETTINGS.score.velocity / 2)}


def test_blocks_are_the_rounds_with_their_tails() -> None:
    rounds, pieces, _ = in_hand(2)
    wish = SoundWish(pieces["A bar 1"], 110.0, rounds=3, levels={"click": 0.5})
    out = np.concatenate(list(rounds.blocks(wish)))
    whole = rounds.renderer.render(rounds.whole(wish), {SoundVoice.CLICK: 0.5})
    # Starts are in seconds; a tone of a later round may fall on the frame beside.
    assert abs(len(out) - len(whole)) <= 2
    first = made(rounds, wish).frames
    assert np.abs(out[:first] - whole[:first]).max() < 1e-6


class TapeSpeaker:
    """A speaker on a tape that the test winds: everything that was taken is kept."""

    rate = RATE
    missing = ""
    unkept = ""

    def __init__(self) -> None:
        self.tape = Tape(RATE, SETTINGS.speaker.fade_s)
        self.out: list[NDArray[np.float32]] = []

    def wind(self, frames: int) -> None:
        self.tape.back()
        self.tape.hand_out(frames + 11025)
        self.out.append(self.tape.take(frames))

    def queue(self, sound: NDArray[Any] | Mapping[str, NDArray[Any]], frames: int) -> int:
        return self.tape.lay(sound, frames)

    def level(self, voice: str, factor: float) -> None:
        self.tape.level(voice, factor)

    def queued_until(self) -> int:
        return self.tape.end

    def now(self) -> float:
        return self.tape.taken / RATE

    def time_of(self, monotonic: float) -> float:
        return monotonic

    def cut(self) -> None:
        self.tape.cut()

    def recording(self) -> NDArray[np.int16]:
        return np.zeros((0, 2), np.int16)

    def close(self) -> None:
        pass


def test_what_changes_while_it_sounds_counts_from_the_next_seam_on() -> None:
    """Tempo, piece, loop end and click change between rounds: each round follows on the frame, and nothing is lost."""
    rounds, pieces, _ = in_hand(2)
    longer = replace(pieces["A bar 1"], last=pieces["A bar 2"].last)
    wishes = [
        SoundWish(pieces["A bar 1"], 90.0, rounds=None, bars_in=1),
        SoundWish(pieces["A bar 1"], 97.0, rounds=None, bars_in=1),
        SoundWish(pieces["A bar 2"], 97.0, rounds=None, click="off-beats"),
        SoundWish(longer, 60.0, rounds=None, basses=True),
    ]
    speaker = TapeSpeaker()
    wish = wishes[0]
    transport = Transport(speaker, lambda number: rounds.loop(wish, number))
    expected = np.zeros((30 * RATE, 2), np.float32)
    at, settled = 0, 0
    for number in range(4):
        part = made(rounds, wishes[number], number)
        for voice in SoundVoice:
            sound = rounds.renderer.render(part, dict.fromkeys(SoundVoice, 0.0) | {voice: 1.0})
            expected[at : at + len(sound)] += sound
        transport.step()
        settled = speaker.tape.end
        assert settled == at + part.frames
        at = settled
        # A wish made up to the moment at which the round is settled still counts.
        while speaker.now() < at / RATE - LEAD - 0.02:
            speaker.wind(441)
            transport.step()
        assert speaker.tape.end == settled
        if number < 3:
            wish = wishes[number + 1]
        while speaker.now() < at / RATE - LEAD:
            speaker.wind(441)
    while speaker.now() < at / RATE:
        speaker.wind(441)
    out = np.concatenate(speaker.out)[:at]
    assert np.abs(out - expected[:at]).max() < 1e-6


def test_levels_change_at_once_without_a_step() -> None:
    rounds, pieces, _ = in_hand(2)
    speaker = TapeSpeaker()
    wish = SoundWish(pieces["A phrase 1"] if "A phrase 1" in pieces else pieces["round"], 90.0)
    transport = Transport(speaker, lambda number: rounds.loop(wish, number))
    transport.step()
    part = made(rounds, wish)
    melody = rounds.renderer.render(part, {SoundVoice.CLICK: 0.0})
    click = rounds.renderer.render(part, {SoundVoice.MELODY: 0.0, SoundVoice.BASS: 0.0, SoundVoice.CHORD: 0.0})
    speaker.wind(30000)
    speaker.level("click", 0.0)
    speaker.wind(30000)
    speaker.level("melody", 0.25)
    speaker.wind(20000)
    out = np.concatenate(speaker.out)
    fade = round(SETTINGS.speaker.fade_s * RATE)
    assert np.abs(out[:30000] - melody[:30000] - click[:30000]).max() < 1e-6
    assert np.abs(out[30000 + fade : 60000] - melody[30000 + fade : 60000]).max() < 1e-6
    assert np.abs(out[60000 + fade : 80000] - 0.25 * melody[60000 + fade : 80000]).max() < 1e-6
    # Within the fade the level only goes one way.
    loud = np.abs(melody[60000 : 60000 + fade, 0]) > 0.02
    gain = out[60000 : 60000 + fade, 0][loud] / melody[60000 : 60000 + fade, 0][loud]
    assert np.all(np.diff(gain) < 1e-3)


def test_the_transport_stops_goes_on_waits_for_its_device_and_ends() -> None:
    rounds, pieces, _ = in_hand(2)
    speaker = TapeSpeaker()
    wish = SoundWish(pieces["A bar 1"], 120.0, rounds=2)
    asked: list[int] = []

    def following(number: int) -> Loop | None:
        asked.append(number)
        return rounds.loop(wish, number)

    transport = Transport(speaker, following)

    def wind(seconds: float) -> None:
        for _ in range(round(seconds * 100)):
            transport.step()
            speaker.wind(441)

    wind(0.3)
    transport.pause()
    wind(1.0)
    assert not np.concatenate(speaker.out)[-20000:].any()
    assert not transport.over
    transport.pause()
    wind(0.5)
    speaker.missing = "gone"  # type: ignore[misc]
    wind(1.0)
    assert asked == [0, 0]
    speaker.missing = ""  # type: ignore[misc]
    wind(6.0)
    assert asked == [0, 0, 0, 1, 2]
    assert transport.over
    assert not np.concatenate(speaker.out)[-441:].any()


def test_another_concert_pitch_reaches_the_renderer() -> None:
    rounds, _, _ = in_hand(1)
    other = RoundMaker(rounds.course, SETTINGS, concert=430.0)
    assert isinstance(other.renderer, Renderer)
    piece = SoundWish(cut(rounds.course.round, rounds.course.fingering.notes, rules=TABLES.lesson)[0], 100.0)
    one, two = rounds.loop(piece, 0), other.loop(piece, 0)
    assert one is not None
    assert two is not None
    assert isinstance(one.sound, Mapping)
    assert isinstance(two.sound, Mapping)
    assert np.abs(one.sound["melody"][:5000] - two.sound["melody"][:5000]).max() > 0.01
    assert np.array_equal(one.sound["click"], two.sound["click"])
