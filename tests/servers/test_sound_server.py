"""The whole way of the sound, as a listener hears it: recorded from a real sound server's null sink."""

from __future__ import annotations

import os
import time
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from companion.lesson.stretch import stretch_of
from companion.sound.delays import keep_delay
from companion.sound.device import device_names
from companion.sound.render import Renderer
from companion.sound.score import Request, SoundVoice, passage
from companion.sound.sound_settings import sound_settings
from companion.sound.speaker import open_speaker
from companion.timeline import Timeline
from companion.tune.tune_values import BarSpan, Meter, OnceThrough, Played
from tests.servers.sound_ear import RATE, awake, find, listening

pytestmark = pytest.mark.sound_server

JIG = Meter("6/8", Fraction(3, 4), (Fraction(3, 8), Fraction(3, 8)))
QUAVER = Fraction(1, 8)


def jig() -> OnceThrough:
    """Two bars of a jig, made for this test: every quaver another pitch, so that each can be told apart."""
    pitches = (62, 66, 69, 74, 71, 67, 64, 67, 71, 76, 73, 69)
    notes = tuple(Played(i, "A", 1, 1 + i // 6, i * QUAVER, QUAVER, pitch) for i, pitch in enumerate(pitches))
    bars = tuple(BarSpan(1 + i, "A", 1, i * Fraction(3, 4), Fraction(3, 4)) for i in range(2))
    return OnceThrough(notes, bars, Fraction(3, 2), Fraction(0), "A")


def test_a_loop_with_a_rise_of_tempo_is_heard_to_the_frame() -> None:
    """Seam after seam, with a tempo step: every onset within 1 ms of the timeline, every seam exact, no drop-out."""
    settings = sound_settings()
    renderer = Renderer(settings.voices)
    piece = stretch_of(jig(), 0, 11, JIG, Fraction(3, 8))
    passages = []
    for number, bpm in enumerate((140.0, 140.0, 155.0, 155.0)):
        request = Request(bars_in=1 if number == 0 else 0)
        passages.append(passage(piece, Timeline(bpm, Fraction(3, 8)), JIG, settings.score, request))
    with listening() as heard:
        speaker = open_speaker(allow_dummy=False)
        try:
            awake(speaker)
            starts = [speaker.queue(renderer.render(one), one.frames) for one in passages]
            length = speaker.queued_until() - starts[0]
            time.sleep(length / RATE + 0.6)
        finally:
            speaker.close()
    assert speaker.missing == ""
    # What should be heard, laid out independently of the tape: each passage begins where the one before has ended.
    expected = np.zeros(length + 2 * RATE)
    at = 0
    for one in passages:
        sound = renderer.render(one)[:, 0]
        expected[at : at + len(sound)] += sound
        at += one.frames
    loud = np.flatnonzero(np.abs(heard.wave) > 0.02)
    offset, likeness = find(heard.wave, expected[: RATE // 2], int(loud[0]), RATE // 4)
    assert likeness > 0.999
    assert starts == [starts[0] + sum(p.frames for p in passages[:i]) for i in range(4)]
    # Every onset on its own: the first 12 ms of each tone, where the timeline says it is.
    at = 0
    checked = 0
    for number, one in enumerate(passages):
        bpm = (140.0, 140.0, 155.0, 155.0)[number]
        for tone in one.tones:
            if tone.voice is SoundVoice.MELODY and tone.index is not None:
                place = one.start / RATE + float(piece.notes[tone.index].at) * 60 / bpm / 0.375
                frame = at + round(place * RATE)
                found, alike = find(heard.wave, expected[frame : frame + 530], offset + frame, 600)
                assert alike > 0.99, (number, tone)
                assert abs(found - offset - frame) <= 0.001 * RATE, (number, tone, found - offset - frame)
                checked += 1
        at += one.frames
    assert checked == 4 * 12
    # And the whole of it, point by point: what is lost, doubled or late anywhere shows here (16 bits: 1/32768).
    part = heard.wave[offset : offset + length]
    assert np.abs(part - expected[:length]).max() < 3 / 32768


def test_stop_is_silent_at_once_and_the_next_passage_begins() -> None:
    """After a cut the sound falls away without a step, and what is queued next is heard."""
    tone = 0.3 * np.sin(2 * np.pi * 441 * np.arange(3 * RATE) / RATE)
    sound = np.repeat(tone[:, None], 2, 1).astype(np.float32)
    mark = np.zeros((RATE // 10, 2), np.float32)
    mark[:400] = 0.6
    with listening() as heard:
        speaker = open_speaker(allow_dummy=False)
        try:
            awake(speaker)
            begun = speaker.queue(sound, len(sound))
            time.sleep(0.5)
            speaker.cut()
            cut = speaker.queued_until()
            time.sleep(0.2)
            again = speaker.queue(mark, len(mark))
            time.sleep(0.5)
        finally:
            speaker.close()
    assert cut < begun + len(sound)
    assert again >= cut
    loud = np.flatnonzero(np.abs(heard.wave) > 0.01)
    first = int(loud[0])
    stop = first + cut - begun
    assert np.abs(heard.wave[stop - 400 : stop]).max() > 0.29
    assert np.abs(heard.wave[stop + round(0.02 * RATE) : first + again - begun - 100]).max() < 2 / 32768
    # No click: the steepest step is no steeper than the sine's own (441 Hz at 0.3: 0.0189 a point).
    assert np.abs(np.diff(heard.wave[stop - 100 : stop + 1000])).max() < 0.0195
    found, _ = find(heard.wave, mark[:500, 0].astype(float), first + again - begun, 1000)
    assert abs(found - (first + again - begun)) <= RATE // 1000


def test_a_passage_of_minutes_begins_whole() -> None:
    """Begun while silence lies in the device's queue, it overtakes the device however long it is."""
    rng = np.random.default_rng(6)  # simulated sound
    noise = rng.uniform(-0.3, 0.3, (150 * RATE, 1)).astype(np.float32)
    sound = np.broadcast_to(noise, (len(noise), 2))
    with listening() as heard:
        speaker = open_speaker(allow_dummy=False)
        try:
            awake(speaker)
            speaker.queue({"": sound, "click": 0.1 * sound}, len(sound))
            time.sleep(1.0)
        finally:
            speaker.close()
    part = 1.1 * noise[: RATE // 2, 0].astype(np.float64)
    loud = int(np.flatnonzero(np.abs(heard.wave) > 0.02)[0])
    found, alike = find(heard.wave, part[4096:8192], loud + 4096, 4096)
    assert alike > 0.999
    begins = found - 4096
    assert np.abs(heard.wave[begins : begins + 4096] - part[:4096]).max() < 3 / 32768


def test_the_thread_of_the_sound_runs_before_others_where_it_may() -> None:
    """By real-time priority: on a machine with other work a nice value has been seen not to be enough."""
    if not hasattr(os, "sched_setscheduler"):
        pytest.skip("only Linux has it")
    try:
        os.sched_setscheduler(0, os.SCHED_RR, os.sched_param(1))
        os.sched_setscheduler(0, os.SCHED_OTHER, os.sched_param(0))
        expected = os.SCHED_RR
    except PermissionError:
        expected = os.SCHED_OTHER  # it goes on as the others do
    speaker = open_speaker(allow_dummy=False)
    try:
        tasks = {task / "comm": int(task.name) for task in Path("/proc/self/task").iterdir()}
        named = [task for comm, task in tasks.items() if comm.read_text().startswith("SDLAudio")]
        assert [os.sched_getscheduler(task) & ~os.SCHED_RESET_ON_FORK for task in named] == [expected]
    finally:
        speaker.close()


def test_the_sound_goes_on_on_another_device() -> None:
    """By name, without another passage: what is queued sounds on, and the clock does not go back."""
    names = device_names()
    assert names
    keep_delay("sound", names[0], 0.031)
    tone = 0.3 * np.sin(2 * np.pi * 441 * np.arange(12 * RATE) / RATE)
    with listening() as heard:
        speaker = open_speaker(allow_dummy=False)
        try:
            awake(speaker)
            speaker.queue(np.repeat(tone[:, None], 2, 1).astype(np.float32), len(tone))
            time.sleep(1.0)
            before = speaker.now()
            assert not speaker.use("No Such Device")
            assert (speaker.device, speaker.missing, speaker.delay) == ("", "", 0.0)
            assert speaker.use(names[0])
            assert (speaker.device, speaker.missing, speaker.delay) == (names[0], "", 0.031)
            assert speaker.now() >= before
            time.sleep(3.0)
            assert speaker.missing == ""
            assert speaker.now() > before + 2.0
        finally:
            speaker.close()
    part = heard.wave[-2 * RATE :]
    assert np.abs(part).max() > 0.29
