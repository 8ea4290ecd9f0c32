"""The small parts of hearing, each held to what it promises: windows, fits, readings, ears, weighing, echoes."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from companion.errors import UserError
from companion.hearing.again import dips, levels, partials, peaks
from companion.hearing.chosen import Begun, choose
from companion.hearing.ear import Ear, read_ear, write_ear
from companion.hearing.echo import fit_path, path_found, without
from companion.hearing.fit import as_shares, shares
from companion.hearing.guess import own_ear
from companion.hearing.learn import learn_ear, parts_of
from companion.hearing.spectra import HOP, LONG, RATE, SHORT, Spectra
from companion.hearing.weigh import FAULT, Sounded, weighed
from companion.marking.mark_values import Heard, Marks, NoteMark, Verdict
from companion.sound.rates import at_rate
from tests.shipped_tables import TABLES


def tone(hertz: float, seconds: float, level: float = 0.1, rate: int = RATE) -> np.ndarray:
    time = np.arange(round(seconds * rate)) / rate
    return (level * np.sin(2 * np.pi * hertz * time)).astype(np.float32)


def reed(pitch: float, seconds: float) -> np.ndarray:
    hertz = 440 * 2 ** ((pitch - 69) / 12)
    return sum(tone(hertz * n, seconds, 0.1 / n) for n in range(1, 12)).astype(np.float32)  # type: ignore[union-attr]


def noise(seconds: float, level: float = 1e-4) -> np.ndarray:
    return (level * np.random.default_rng(1).standard_normal(round(seconds * RATE))).astype(np.float32)


# Windows


def test_a_tone_stands_in_the_band_of_its_frequency_at_its_level() -> None:
    spectra = Spectra(LONG)
    seen = spectra.of(tone(1000.0, 0.5))[-1]
    assert abs(spectra.centres[seen.argmax()] - 1000) < RATE / LONG
    assert seen.max() == pytest.approx(0.05, rel=0.15)  # half of its height: the other half has the negative frequency


def test_frames_of_a_stream_are_those_of_the_whole_sound() -> None:
    sound, spectra = noise(1.0, 0.1), Spectra(SHORT, 0.5)
    whole = spectra.of(sound)
    window = np.zeros(SHORT, np.float32)
    for t in range(40):
        window = np.concatenate([window[HOP:], sound[t * HOP : (t + 1) * HOP]])
        assert spectra.one(window) == pytest.approx(whole[t], rel=1e-4, abs=1e-7)


@pytest.mark.parametrize("rate", [8000, 16000, 22050, 32000, 48000, 96000])
def test_another_rate_keeps_pitch_length_and_level(rate: int) -> None:
    moved = at_rate(tone(440.0, 12.3, rate=rate), rate, RATE)
    assert len(moved) == pytest.approx(12.3 * RATE, abs=2)
    middle = moved[RATE : 11 * RATE]  # over the seams of the pieces in which it is done
    assert np.abs(middle - tone(440.0, 12.3)[RATE : 11 * RATE]).max() < 2e-3


# Fits


def test_a_mixture_is_taken_apart() -> None:
    rng = np.random.default_rng(3)
    templates = rng.random((6, 80)).astype(np.float32) ** 4
    held = np.array([[0, 2.0, 0, 0, 1.0, 0]], np.float32)
    unit = as_shares(templates)
    found = shares(held @ unit, unit, 300)
    assert found == pytest.approx(held, abs=0.03)
    beside = rng.random((1, 80)).astype(np.float32) ** 4
    with_more = shares(held @ unit + 3 * as_shares(beside), unit, 300, moving=beside)
    assert with_more == pytest.approx(np.array([[0, 2, 0, 0, 1, 0, 3]]), abs=0.06)


# The same note again


def test_a_note_begun_again_dips_in_all_its_partials_and_beating_does_not() -> None:
    gap = np.ones(RATE, np.float32)
    gap[RATE // 2 : RATE // 2 + round(0.04 * RATE)] = 0
    one, short = reed(69, 1.0), Spectra(SHORT, 0.5)
    quiet = np.full(short.bands, 1e-5, np.float32)
    steady = short.of(one)[30:].mean(0)
    rows = partials(short, 440.0, steady, quiet)
    again = dips(levels(short.of(one * gap), rows, quiet))[20:-8]
    beating = dips(levels(short.of((one + reed(69.1, 1.0)) / 2), rows, quiet))[20:-8]
    assert again.max() > 7.5
    assert beating.max() < 6.0
    (at,) = peaks(again, 4.0)
    assert (at + 20) * HOP / RATE == pytest.approx(0.53, abs=0.03)


# Readings

SCALE = (62, 64, 66, 67, 69, 71, 73, 74)


def begun(pitches: tuple[int, ...], odds: float = 9.0) -> list[Begun]:
    return [Begun(100.0 * k, pitch, odds, k > 0 and pitches[k - 1] == pitch) for k, pitch in enumerate(pitches)]


def test_what_is_clear_counts_whatever_was_asked() -> None:
    played = (62, 64, 65, 67, 70, 70, 74)
    assert [one.number for one in choose(begun(played), SCALE)] == list(range(7))
    assert all(one.sure > 0.5 for one in choose(begun(played), SCALE))
    assert [one.number for one in choose(begun(played), ())] == list(range(7))


def test_what_is_doubtful_counts_where_it_was_asked_for_and_nowhere_else() -> None:
    notes = begun(SCALE)
    notes[3] = replace(notes[3], odds=-2.0)
    assert [one.number for one in choose(notes, SCALE)] == list(range(8))
    notes[3] = replace(notes[3], pitch=80)
    assert 3 not in [one.number for one in choose(notes, SCALE)]


@given(st.lists(st.tuples(st.integers(57, 88), st.floats(-9, 9)), max_size=24), st.integers(0, 3))
def test_a_reading_is_in_order_and_takes_each_beginning_once(notes: list[tuple[int, float]], rounds: int) -> None:
    chosen = choose([Begun(10.0 * k, p, o, False) for k, (p, o) in enumerate(notes)], SCALE * rounds)
    numbers = [one.number for one in chosen]
    assert numbers == sorted(set(numbers))
    assert all(0 <= one.sure <= 1 for one in chosen)
    # What a sound leaves no doubt of is never lost.
    assert {k for k, (_, odds) in enumerate(notes) if odds > 8.5} <= set(numbers)


# Ears on file


def test_an_ear_comes_back_from_its_file(tmp_path: Path) -> None:
    ear = own_ear()
    write_ear(tmp_path / "box.ear", ear)
    back = read_ear(tmp_path / "box.ear")
    assert back.pitches == ear.pitches
    assert np.array_equal(back.templates, ear.templates)
    assert back.late == ear.late


@pytest.mark.parametrize("damage", [b"", b"not an ear", b"PK\x03\x04 cut"])
def test_what_is_no_ear_is_said_in_one_sentence(tmp_path: Path, damage: bytes) -> None:
    path = tmp_path / "box.ear"
    path.write_bytes(damage)
    with pytest.raises(UserError, match="not an ear"):
        read_ear(path)
    with pytest.raises(UserError, match="no such ear"):
        read_ear(tmp_path / "none.ear")


def test_an_ear_cut_anywhere_is_refused_and_never_a_crash(tmp_path: Path) -> None:
    path = tmp_path / "box.ear"
    write_ear(path, own_ear())
    data = path.read_bytes()
    for share in range(1, 20):
        path.write_bytes(data[: len(data) * share // 20])
        with pytest.raises(UserError):
            read_ear(path)


# Learning


def lesson(pitches: tuple[int, ...], each: float = 0.6) -> np.ndarray:
    parts = [noise(0.6)]
    for pitch in pitches:
        parts += [reed(pitch, each), noise(0.4)]
    sound = np.concatenate(parts)
    return (sound + noise(len(sound) / RATE)[: len(sound)]).astype(np.float32)


def test_each_note_of_a_lesson_is_found() -> None:
    found = parts_of(lesson(SCALE))
    assert len(found) == len(SCALE)
    assert [first * HOP / RATE for first, _ in found] == pytest.approx([0.6 + k for k in range(8)], abs=0.03)


def test_an_ear_knows_how_its_box_is_tuned() -> None:
    ear = learn_ear(lesson(tuple(p + 0.2 for p in SCALE)), RATE, SCALE)  # type: ignore[arg-type]
    assert ear.pitches == SCALE
    assert ear.cents == pytest.approx([20.0] * 8, abs=5)


def test_the_left_hand_comes_after_the_notes_that_were_named() -> None:
    ear = learn_ear(lesson((*SCALE, 50, 55)), RATE, SCALE)
    assert ear.pitches == SCALE
    assert (ear.owners == -1).sum() > 2


def _wrong_lessons() -> dict[str, tuple[np.ndarray, str]]:
    return {
        "too few": (lesson(SCALE[:5]), "5 notes are heard, and 8"),
        "another": (lesson((62, 64, 66, 68, 69, 71, 73, 74)), "G4 was named"),
        "an octave of cents": (lesson(tuple(p + 1.5 for p in SCALE)), "name the notes as they sound"),  # type: ignore[arg-type]
        "silent": (noise(9.0, 1e-6), "hardly anything"),
        "short": (noise(0.1), "too short"),
        "clipped": (np.clip(40 * lesson(SCALE), -1, 1), "clips"),
    }


@pytest.mark.parametrize("which", _wrong_lessons())
def test_a_lesson_that_cannot_be_learnt_says_why(which: str) -> None:
    sound, said = _wrong_lessons()[which]
    with pytest.raises(UserError, match=said):
        learn_ear(sound.astype(np.float32), RATE, SCALE)


# Echoes


def test_the_way_through_a_room_is_found_and_taken_off() -> None:
    rng = np.random.default_rng(5)
    playing = noise(4.0, 0.1)
    room = (rng.standard_normal(3000) * np.exp(-np.arange(3000) / 600) / 10).astype(np.float32)
    came = np.convolve(playing, room)[: len(playing)].astype(np.float32)
    late = np.concatenate([np.zeros(1234, np.float32), came])[: len(came)]
    path = path_found(playing, late)
    assert path is not None
    left = late - path.through(playing)
    assert 10 * np.log10((late**2).sum() / (left**2).sum()) > 25


def test_a_player_from_the_first_moment_is_no_way_through_a_room() -> None:
    assert path_found(noise(4.0, 0.1), reed(69, 4.0)) is None


def test_a_path_keeps_what_the_player_plays() -> None:
    playing, mine = noise(6.0, 0.05), np.concatenate([np.zeros(3 * RATE, np.float32), reed(69, 3.0)])
    cleaned, _ = without((0.5 * playing + mine).astype(np.float32), playing)
    assert 10 * np.log10((mine**2).sum() / ((cleaned - mine) ** 2).sum()) > 15
    assert fit_path(playing, 0.5 * playing, 0).taps[0] == pytest.approx(0.5, abs=0.02)


# Weighing


def marked(*notes: NoteMark) -> Marks:
    return Marks(False, None, None, notes)


def note(written: int | None, heard: int | None, verdict: Verdict, pitch: int | None, came: int | None) -> NoteMark:
    return NoteMark(written, heard, verdict, pitch, came, None, cause="other-row" if verdict is Verdict.WRONG else None)


def weigh(marks: Marks, sounded: Sounded) -> Marks:
    return weighed(marks, HEARD, sounded, rules=TABLES.marks, timeline=None)


def silent(_pitch: int, _first: float, _last: float) -> tuple[float, float]:
    return 0.0, 0.0


def there(_pitch: int, _first: float, _last: float) -> tuple[float, float]:
    return 0.9, 0.9


HEARD = (Heard(1.0, 62, end=1.2), Heard(1.2, 65, end=1.4), Heard(1.6, 67, end=1.8, sure=0.4))


def test_a_fault_that_is_sure_stays_one_with_its_cause() -> None:
    marks = marked(
        note(0, 0, Verdict.RIGHT, 62, 62), note(1, 1, Verdict.WRONG, 64, 65), note(2, None, Verdict.MISSED, 66, None)
    )
    found = weigh(marks, silent).notes
    assert [one.verdict for one in found] == [Verdict.RIGHT, Verdict.WRONG, Verdict.MISSED]
    assert found[1].cause == "other-row"
    assert all(one.sure > FAULT for one in found)


def test_a_fault_in_doubt_is_unsure_and_has_no_cause() -> None:
    marks = marked(
        note(1, 1, Verdict.WRONG, 64, 65),
        note(2, None, Verdict.MISSED, 66, None),
        note(None, 2, Verdict.EXTRA, None, 67),
    )
    found = weigh(marks, there).notes
    assert [one.verdict for one in found] == [Verdict.UNSURE] * 3
    assert [one.cause for one in found] == [None] * 3
    assert all(one.sure < FAULT for one in found)


def test_the_same_note_again_is_never_faulted_on_that_alone() -> None:
    marks = marked(note(0, 0, Verdict.RIGHT, 62, 62), note(1, None, Verdict.MISSED, 62, None))
    assert weigh(marks, there).notes[1].verdict is Verdict.UNSURE
    assert weigh(marks, lambda *_: (0.9, 0.1)).notes[1].verdict is Verdict.MISSED  # silence stood in its place


def test_own_ear_is_a_guess_and_a_learnt_one_is_not() -> None:
    assert own_ear().guessed
    learnt: Ear = learn_ear(lesson(SCALE), RATE, SCALE)
    assert not learnt.guessed
