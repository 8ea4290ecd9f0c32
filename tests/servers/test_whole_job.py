"""The whole job through real servers: MIDI over JACK, sound to PulseAudio, the window on X, the record on disk."""

from __future__ import annotations

import json
import os
import shutil
import sqlite3
import subprocess
import sys
import time
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from companion.lesson.pieces import piece_named
from companion.practice.round_plan import TuneInHand
from companion.screen.theme import load_theme
from companion.sound.render import Renderer
from companion.sound.score import Request, SoundVoice, passage
from companion.sound.sound_settings import sound_settings
from companion.timeline import Timeline
from tests.servers.sound_ear import RATE, find, listening
from tests.session.fakes import a_tune_in_hand

pytestmark = [pytest.mark.midi_server, pytest.mark.sound_server, pytest.mark.display_server]

SECONDS = 30
ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def session(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """One session, watched and listened to from outside."""
    folder = tmp_path_factory.mktemp("whole")
    data = folder / "data"
    environment = os.environ | {
        "SDL_AUDIODRIVER": "pulseaudio",
        "BOX_COMPANION_DATA": str(data),
        "COMPANION_DEBUG": "1",
    }
    environment.pop("SDL_VIDEODRIVER", None)
    left = folder / "left"
    command = [sys.executable, "-m", "tests.servers.whole_job", str(left), str(SECONDS)]
    with listening() as heard:
        running = subprocess.Popen(
            command, cwd=ROOT, env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
        )
        time.sleep(SECONDS * 0.7)
        grabber = shutil.which("import")
        assert grabber is not None, "ImageMagick is not installed"
        subprocess.run([grabber, "-window", "root", str(folder / "screen.png")], check=True, timeout=30)
        said, _ = running.communicate(timeout=SECONDS + 60)
    assert running.returncode == 0, said
    return {
        "said": said,
        "wave": heard.wave,
        "left": left,
        "screen": folder / "screen.png",
        "record": data / "record.sqlite3",
        "asked": json.loads((left / "asked.json").read_text()),
        "waits": json.loads((left / "waits.json").read_text()),
        "marks": json.loads((left / "marks.json").read_text()),
    }


def test_nothing_was_missing(session: dict[str, Any]) -> None:
    assert "No screen" not in session["said"]
    assert "no sound" not in session["said"].lower()
    assert "stand-in" not in session["said"]


def test_the_take_over_the_port_was_marked_and_raised_the_tempo(session: dict[str, Any]) -> None:
    rounds = session["marks"]["rounds"]
    assert {one["player"] for one in rounds} == {"player"}
    assert [one["step"] for one in rounds[:3]] == ["in order"] * 3
    in_time = [one for one in rounds if one["step"] == "in time"]
    assert len(in_time) >= 4
    assert all(one["clean"] for one in rounds)
    assert in_time[3]["bpm"] > in_time[0]["bpm"]
    late = [note["late_ms"] for one in in_time for note in one["notes"]]
    # One period of JACK, one buffer of the sound device, and what a busy machine adds.
    assert np.median(np.abs(late)) < 40


def expected_sound(course: TuneInHand, asked: dict[str, Any]) -> tuple[NDArray[np.float64], list[int]]:
    """A round's sound, rendered by itself, and the frames of its melody's onsets from the tune's own places."""
    piece = piece_named(a_tune_in_hand()[1].pieces, asked["piece"])
    laid = course.laid(piece)
    assert [(str(one.at), one.note.pitch) for one in laid.notes] == [tuple(note) for note in asked["notes"]]
    settings = sound_settings()
    timeline = Timeline(asked["bpm"], course.beat)
    request = Request(bars_in=asked["bars_in"])
    made = passage(laid, timeline, course.meter, settings.score, request)
    assert sum(tone.voice is SoundVoice.MELODY for tone in made.tones) == len(laid.notes)
    onsets = [made.start + round(float(Fraction(at)) * timeline.whole * RATE) for at, _ in asked["notes"]]
    return Renderer(settings.voices).render(made)[:, 0].astype(np.float64), onsets


def test_every_onset_is_heard_where_the_tune_says(session: dict[str, Any]) -> None:
    wave = session["wave"]
    course, _ = a_tune_in_hand()
    rounds = [one for one in session["asked"] if one["first"] + 3 * RATE < len(wave)]
    assert len(rounds) >= 5
    sound, _ = expected_sound(course, rounds[0])
    loud = int(np.flatnonzero(np.abs(wave) > 0.02)[0])
    begins, alike = find(wave, sound[: RATE // 2], loud, RATE // 4)
    assert alike > 0.99
    shift = begins - rounds[0]["first"]
    checked = 0
    for one in rounds[:-1]:
        sound, onsets = expected_sound(course, one)
        for onset in onsets:
            # A little of what comes before it belongs to the likeness of an onset.
            before = min(onset, 600)
            place = shift + one["first"] + onset - before
            found, alike = find(wave, sound[onset - before : onset + 1800], place, 600)
            assert abs(found - place) <= 0.001 * RATE, (one["piece"], one["bpm"], onset, found - place)
            assert alike > 0.9
            checked += 1
    assert checked >= 12


def test_what_is_left_behind_is_what_was_heard(session: dict[str, Any]) -> None:
    kept, rate = soundfile.read(session["left"] / "sound.flac", dtype="int16")
    assert rate == RATE
    kept = kept[:, 0].astype(np.float64) / 32768
    wave = session["wave"]
    start = int(np.flatnonzero(np.abs(kept) > 0.02)[0])
    found, alike = find(wave, kept[start : start + RATE // 2], int(np.flatnonzero(np.abs(wave) > 0.02)[0]), RATE // 4)
    assert alike > 0.999
    length = min(len(kept) - start, len(wave) - found, 15 * RATE)
    assert length > 10 * RATE
    assert np.abs(wave[found : found + length] - kept[start : start + length]).max() < 3 / 32768


def test_the_window_was_on_the_screen(session: dict[str, Any]) -> None:
    import pygame

    screen = pygame.image.load(str(session["screen"]))
    colours = pygame.surfarray.array3d(screen).reshape(-1, 3)
    theme = load_theme()
    seen = {
        name: int((np.abs(colours.astype(int) - np.array(getattr(theme, name))).max(axis=1) <= 4).sum())
        for name in ("push", "pull", "ground", "ink")
    }
    # At the moment of the picture the next button may be a push or a pull.
    assert max(seen["push"], seen["pull"]) > 600, seen
    assert min(seen["ground"], seen["ink"]) > 600, seen


def test_each_note_is_seen_in_the_next_frame(session: dict[str, Any]) -> None:
    """From the message on the instrument's port to the picture with its verdict, in ms, while sound plays."""
    waits = sorted(session["waits"])
    at = {share: waits[round(share * (len(waits) - 1))] for share in (0.5, 0.9, 0.99)}
    print(f"{len(waits)} notes, ms:", {share: round(ms, 1) for share, ms in at.items()})
    assert len(waits) >= 20
    assert waits[0] > 0
    # On a machine that does nothing else the 99th percentile lies under 25 ms too.
    assert at[0.9] < 25, at


def test_the_record_is_on_disk(session: dict[str, Any]) -> None:
    with sqlite3.connect(session["record"]) as db:
        (rounds,) = db.execute("SELECT count(*) FROM round WHERE standin = 0 AND clean = 1").fetchone()
        (ended,) = db.execute("SELECT count(*) FROM sitting WHERE ended IS NOT NULL").fetchone()
        (state,) = db.execute("SELECT state FROM standing WHERE standin = 0").fetchone()
    assert rounds == len(session["marks"]["rounds"])
    assert ended == 1
    standing = json.loads(state)["standings"]["A bar 1"]
    assert standing["share"] > 0.5
