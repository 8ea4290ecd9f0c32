"""The sound of a passage, the tape that it is laid on, the clock, and the files."""

from __future__ import annotations

import time
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import mido
import numpy as np
import pytest
import soundfile

from companion.errors import UserError
from companion.lesson.stretch import stretch_of
from companion.sound.clock import DeviceClock
from companion.sound.files import write_midi, write_sound
from companion.sound.render import Renderer
from companion.sound.score import Passage, Request, SoundVoice, passage
from companion.sound.sound_settings import sound_settings
from companion.sound.speaker import open_speaker
from companion.sound.tape import PART, Tape
from companion.timeline import Timeline
from tests.sound.pitch import cents_off
from tests.sound.tunes import JIG, quavers

RATE = 44100
SETTINGS = sound_settings()
TIMELINE = Timeline(90, Fraction(3, 8))


@pytest.fixture(scope="module")
def renderer() -> Renderer:
    return Renderer(SETTINGS.voices)


def jig(request: Request | None = None) -> Passage:
    return passage(stretch_of(quavers(2, JIG), 0, 11, JIG, Fraction(3, 8)), TIMELINE, JIG, SETTINGS.score, request)


def test_sound_begins_on_the_frame_and_rings_on(renderer: Renderer) -> None:
    made = jig(Request(click=False))
    sound = renderer.render(made)
    assert sound.dtype == np.float32
    assert made.frames < len(sound) < made.frames + RATE // 10
    assert np.abs(sound).max() < 1
    for tone in made.tones:
        alone = renderer.render(replace(made, tones=(tone,)))
        first = int(np.flatnonzero(alone[:, 0])[0])
        assert first == round(tone.start * RATE)
        # It speaks within a millisecond: a tenth of its level.
        assert np.abs(alone[first : first + RATE // 1000, 0]).max() > 0.1 * np.abs(alone).max()


def test_levels_are_factors(renderer: Renderer) -> None:
    made = jig()
    both = renderer.render(made)
    tune = renderer.render(made, {SoundVoice.CLICK: 0})
    click = renderer.render(made, {SoundVoice.MELODY: 0})
    length = min(len(tune), len(click))
    assert np.allclose(both[:length], tune[:length] + click[:length], atol=1e-6)
    assert np.allclose(renderer.render(made, {SoundVoice.CLICK: 0, SoundVoice.MELODY: 0.5}), 0.5 * tune, atol=1e-6)


def test_concert_pitch(renderer: Renderer) -> None:
    made = jig(Request(click=False))
    high = Renderer(SETTINGS.voices, concert=445.0)
    held = replace(made, tones=(replace(made.tones[0], length=2.0, pitch=69),), frames=2 * RATE)
    assert abs(cents_off(high.render(held)[RATE // 4 : 2 * RATE, 0], RATE, 69, 445.0)) < 0.5
    assert abs(cents_off(renderer.render(held)[RATE // 4 : 2 * RATE, 0], RATE, 69)) < 0.5


def test_the_tape_has_no_seams() -> None:
    """Whatever the blocks are in which it is pulled, what was laid comes out, tails mixed, to the frame."""
    rng = np.random.default_rng(4)  # simulated sound
    tape = Tape(RATE, 0.006)
    expected = np.zeros((6000, 2), np.float32)
    for _ in range(5):
        sound = rng.uniform(-0.1, 0.1, (900, 2)).astype(np.float32)
        start = tape.lay(sound, 700)
        expected[start : start + 900] += sound
    out = np.concatenate([tape.hand_out(int(n)) for n in rng.integers(1, 500, 24)])[:6000]
    assert np.allclose(out, expected[: len(out)], atol=1e-6)
    taken = np.concatenate([tape.take(int(n)) for n in rng.integers(1, 500, 24)])[:6000]
    assert np.allclose(taken, expected[: len(taken)], atol=1e-6)
    assert tape.lay(sound, 10) == tape.taken > 3500


@pytest.mark.parametrize("sides", [1, 2])
def test_a_long_passage_is_let_go_of_as_it_is_played(sides: int) -> None:
    """It comes out as it was laid across its parts; what sounds in the middle is kept once, and silence not at all."""
    rng = np.random.default_rng(5)  # simulated sound
    tape = Tape(RATE, 0.006)
    whole = rng.uniform(-0.1, 0.1, (5 * PART // 2, sides)).astype(np.float32)
    whole[PART // 2 :][: 3 * PART // 2] = 0.0  # the second part of three is silent
    sound = np.broadcast_to(whole, (len(whole), 2)) if sides == 1 else whole
    tape.lay({"": sound, "click": np.zeros((PART, 2), np.float32)}, len(sound))
    assert tape.held == (PART + PART // 2) * sides * 4
    assert np.array_equal(tape.hand_out(len(sound)), sound)
    tape.take(PART)
    assert tape.held == PART // 2 * sides * 4
    tape.take(len(sound) - PART)
    assert tape.held == 0


def test_what_sounds_in_the_middle_is_made_once_for_both_sides(renderer: Renderer) -> None:
    made = jig()
    sound = renderer.render(made)
    assert sound.strides[1] == 0
    both = Renderer(replace(SETTINGS.voices, apart=0.0), apart=True).render(made)
    assert both.strides[1] != 0
    assert np.array_equal(sound, both)


def test_what_was_handed_out_can_be_taken_back() -> None:
    """A passage laid while silence was handed out ahead begins where the device stands, and is handed out anew."""
    tape = Tape(RATE, 0.006)
    assert not tape.hand_out(1000).any()
    tape.take(300)
    assert tape.lay(np.full((400, 2), 0.5, np.float32), 400) == 300
    tape.back()
    out = tape.hand_out(700)[:, 0]
    assert (out[:400] == 0.5).all()
    assert not out[400:].any()


def test_a_cut_falls_to_silence_and_what_is_next_begins_there() -> None:
    tape = Tape(RATE, 0.006)
    tape.lay(np.full((RATE, 2), 0.5, np.float32), RATE)
    tape.hand_out(1500)
    tape.take(1000)
    where = tape.cut()
    assert where == 1000 == tape.end
    tape.back()
    out = tape.hand_out(1000)[:, 0]
    assert out[0] == pytest.approx(0.5)
    assert np.all(np.diff(out) <= 0)
    assert np.abs(np.diff(out)).max() < 0.01
    assert not out[265:].any()


def test_the_clock_keeps_still_under_jitter_and_follows_a_stop() -> None:
    """Requests up to 20 ms late (simulated): the clock stays within half a millisecond.

    A stop of a second: it follows.
    """
    rng = np.random.default_rng(7)
    clock = DeviceClock(latency=0.02)
    block = 1024 / RATE
    late = np.where(rng.random(400) < 0.3, rng.uniform(0, 0.02, 400), rng.uniform(0, 0.0003, 400))
    for n in range(400):
        clock.asked(n * block, 100 + n * block + late[n])
        if n > 65:
            assert abs(clock.place_of(100 + n * block) - (n * block - 0.02)) < 0.0008
    before = clock.now(100 + 400 * block)
    assert clock.now(100 + 399 * block) == before
    for n in range(400, 480):
        clock.asked(n * block, 101 + n * block)
    assert clock.place_of(101 + 480 * block) == pytest.approx(480 * block - 0.02, abs=0.001)


def test_without_a_device_the_clock_runs_and_the_sound_is_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SDL_AUDIODRIVER", "dummy")
    speaker = open_speaker(record=True)
    try:
        assert speaker.missing
        mark = np.zeros((2000, 2), np.float32)
        mark[0] = 0.5
        first = [speaker.queue(mark, 1000) for _ in range(5)]
        assert first == [first[0] + 1000 * i for i in range(5)]
        begun, at = time.perf_counter(), speaker.now()
        while speaker.now() < at + 0.3:
            assert time.perf_counter() < begun + 5
            time.sleep(0.005)
        assert speaker.time_of(time.perf_counter()) == pytest.approx(speaker.now(), abs=0.1)
    finally:
        speaker.close()
    kept = speaker.recording()
    assert kept.dtype == np.int16
    assert list(np.flatnonzero(np.abs(kept[:, 0]) > 1000)) == first
    with pytest.raises(UserError):
        open_speaker(allow_dummy=False)


@pytest.mark.parametrize("ending", ["wav", "flac", "ogg", "mp3"])
def test_sound_files(tmp_path: Path, renderer: Renderer, ending: str) -> None:
    sound = renderer.render(jig())
    path = tmp_path / f"jig.{ending}"
    write_sound(path, sound, RATE)
    read, rate = soundfile.read(path, always_2d=True)
    assert rate == RATE
    assert abs(len(read) - len(sound)) <= (0 if ending != "mp3" else 4000)
    if ending in ("wav", "flac"):
        assert np.abs(read - np.clip(sound, -1, 1)).max() < 2 / 32768
    assert [one.name for one in tmp_path.iterdir()] == [path.name]


def test_a_midi_file_keeps_every_time(tmp_path: Path) -> None:
    made = jig(Request(bars_in=1))
    path = tmp_path / "jig.mid"
    write_midi(path, made, TIMELINE, title="A jig")
    file = mido.MidiFile(path)
    now, on = 0.0, []
    for message in file:
        now += message.time
        if message.type == "note_on":
            on.append((now, message.note))
    wanted = sorted((tone.start, tone.pitch) for tone in made.tones)
    assert [pitch for _, pitch in sorted(on)] == [pitch for _, pitch in wanted]
    assert max(abs(a - b) for (a, _), (b, _) in zip(sorted(on), wanted, strict=True)) < 0.001
    assert file.length == pytest.approx(made.seconds, abs=0.001)


@pytest.mark.parametrize("name", ["jig.xyz", "jig", "none/jig.wav", "."])
def test_a_file_that_cannot_be(tmp_path: Path, name: str) -> None:
    with pytest.raises(UserError):
        write_sound(tmp_path / name, np.zeros((10, 2), np.float32), RATE)
    assert not list(tmp_path.iterdir())
    with pytest.raises(UserError):
        write_midi(tmp_path / "none" / "jig.mid", jig(), TIMELINE)
