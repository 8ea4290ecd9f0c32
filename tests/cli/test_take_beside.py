"""A take beside the tune, measured in the sound that is written: its tempo, sides, rounds and pieces; refusals."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import accumulate
from pathlib import Path

import mido
import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from companion.cli.main import main, parser
from companion.cli.playing import Playing
from companion.cli.sounded import sounded
from companion.input.take_file import write_take
from companion.marking.mark_values import Heard
from companion.timeline import Timeline
from tests.cli.test_playing import Noted, wind

BOOK = """X:1
T:Up and Down
M:4/4
L:1/4
Q:1/4=120
K:D
D F A d|e d B A|F G A F|E C D z|

X:2
T:Another
M:4/4
L:1/4
Q:1/4=120
K:G
G G B G|c c e c|B d g d|G2 G2|
"""
PITCHES = (62, 66, 69, 74, 76, 74, 71, 69, 66, 67, 69, 66, 64, 61, 62)
STEP = 0.5  # seconds of a crotchet at the target
RATE = 44100


@pytest.fixture
def book(tmp_path: Path) -> str:
    path = tmp_path / "book.abc"
    path.write_text(BOOK, encoding="utf-8")
    return str(path)


def take(
    path: Path,
    late: dict[int, float] | None = None,
    *,
    pitches: Sequence[int] = PITCHES,
    starts: Sequence[float] = (3.0,),
    wrong: dict[tuple[int, int], int] | None = None,
) -> Path:
    """The tune at its target tempo, each note sounding half its length; `wrong` by round and note."""
    heard = []
    for turn, start in enumerate(starts):
        for k, pitch in enumerate(pitches):
            at = start + k * STEP + (late or {}).get(k, 0.0)
            heard.append(Heard(at, (wrong or {}).get((turn, k), pitch), 90, end=at + STEP / 2))
    write_take(path, heard)
    return path


def render(book: str, out: Path, *more: str) -> NDArray[np.float64]:
    assert main(["render", book, "--no-click", *more, "-o", str(out)]) == 0
    wave: NDArray[np.float64] = soundfile.read(out, always_2d=True)[0]
    return wave


def onsets(wave: NDArray[np.float64]) -> list[float]:
    """Where sound begins after silence, in seconds: told from the level in windows of a millisecond."""
    window = RATE // 1000
    level = np.abs(wave[: len(wave) // window * window]).reshape(-1, window).max(axis=1)
    loud = level > 0.02 * level.max()
    quiet_before = np.array([not loud[max(0, k - 15) : k].any() for k in range(len(loud))])
    return [float(k) * window / RATE for k in np.flatnonzero(loud & quiet_before)]


@pytest.mark.parametrize("tempo", [60, 120, 150])
def test_the_take_sounds_where_it_was_played_at_any_tempo(book: str, tmp_path: Path, tempo: int) -> None:
    late = {2: 0.06, 7: -0.05, 11: 0.04}
    path = take(tmp_path / "take.mid", late)
    wave = render(book, tmp_path / "o.wav", "--take", str(path), "--level", "melody=0", "--tempo", str(tempo))
    slower = 120 / tempo
    came = [k * STEP + late.get(k, 0.0) for k in range(len(PITCHES))]
    sounds = onsets(wave[:, 1])
    assert len(sounds) == len(came)
    # The player's own tempo is found to a part in five hundred; under it, every note lies where it was played.
    stretch, start = np.polyfit(came, sounds, 1)
    assert stretch == pytest.approx(slower, rel=0.002)
    assert abs(start) < 0.02 * slower
    assert sounds == pytest.approx([start + stretch * at for at in came], abs=0.003)
    exact = take(tmp_path / "take.mid")
    wave = render(book, tmp_path / "o.wav", "--take", str(exact), "--mute", "melody", "--tempo", str(tempo))
    assert onsets(wave[:, 1]) == pytest.approx([k * STEP * slower for k in range(len(PITCHES))], abs=0.003)


def test_a_first_note_that_is_early_is_heard_whole(book: str, tmp_path: Path) -> None:
    path = take(tmp_path / "take.mid", {0: -0.1})
    alone = ["--take", str(path), "--tempo", "60", "--mute", "melody"]
    begun = onsets(render(book, tmp_path / "o.wav", *alone)[:, 1])
    assert begun[0] == pytest.approx(0.0, abs=0.004)
    assert begun[1] - begun[0] == pytest.approx(1.2, abs=0.006)
    # In the second round it comes before the seam, and the pulse goes on.
    twice = onsets(render(book, tmp_path / "o.wav", *alone, "--rounds", "2")[:, 1])
    assert [b - begun[1] for b in twice[16:18]] == pytest.approx([16.0, 17.0], abs=0.006)
    assert twice[15] - begun[0] == pytest.approx(16.0, abs=0.003)


def test_the_tune_is_to_the_left_and_the_take_to_the_right(book: str, tmp_path: Path) -> None:
    path = take(tmp_path / "take.mid")
    both, tune, mine = (
        render(book, tmp_path / "o.wav", "--take", str(path), *more)
        for more in ([], ["--mute", "take"], ["--mute", "melody"])
    )
    for wave, near, far in ((tune, 0, 1), (mine, 1, 0)):
        decibels = 20 * np.log10(np.std(wave[:, near]) / np.std(wave[:, far]))
        assert 15 < decibels < 18
    assert np.abs(both - tune - mine).max() < 4 / 32768
    half = render(book, tmp_path / "o.wav", "--take", str(path), "--mute", "melody", "--level", "take=50")
    assert np.abs(half - 0.5 * mine).max() < 4 / 32768
    # Without a take, the tune stays in the middle.
    plain = render(book, tmp_path / "o.wav")
    assert np.std(plain[:, 0]) == pytest.approx(np.std(plain[:, 1]), rel=0.02)


def melody_and_take(path: Path) -> tuple[list[int], list[int]]:
    tracks = {track.name: track for track in mido.MidiFile(path).tracks}
    melody, mine = (
        [m.note for m in tracks[name] if m.type == "note_on" and m.velocity] if name in tracks else []
        for name in ("melody", "take")
    )
    return melody, mine


def test_each_round_has_the_next_of_the_take_and_a_room_to_answer_is_filled_by_it(book: str, tmp_path: Path) -> None:
    path = take(tmp_path / "take.mid", starts=(1.0, 12.0), wrong={(1, 4): 78})
    out = tmp_path / "o.mid"
    other = [78 if k == 4 else pitch for k, pitch in enumerate(PITCHES)]
    assert main(["render", book, "--take", str(path), "--rounds", "3", "-o", str(out)]) == 0
    assert melody_and_take(out) == ([*PITCHES] * 3, [*PITCHES, *other, *PITCHES])
    assert main(["render", book, "--take", str(path), "--rounds", "2", "--answer", "-o", str(out)]) == 0
    assert melody_and_take(out) == ([*PITCHES] * 2, [*PITCHES, *other])
    tracks = {track.name: track for track in mido.MidiFile(out).tracks}
    first = next(m.time for m in tracks["take"] if m.type == "note_on")
    assert first == pytest.approx(16 * 960, abs=10)  # after one round of sixteen crotchets


def test_only_the_piece_is_heard_of_a_take_of_the_tune_or_of_the_piece(book: str, tmp_path: Path) -> None:
    out = tmp_path / "o.mid"
    whole = take(tmp_path / "whole.mid")
    part = take(tmp_path / "part.mid", pitches=PITCHES[4:8])
    for path in (whole, part):
        assert main(["render", book, "--take", str(path), "--piece", "A bar 2", "-o", str(out)]) == 0
        assert melody_and_take(out) == ([*PITCHES[4:8]], [*PITCHES[4:8]])
    # A take of a piece is found in the whole tune too.
    assert main(["render", book, "--take", str(part), "-o", str(out)]) == 0
    assert melody_and_take(out) == ([*PITCHES], [*PITCHES[4:8]])


def test_a_take_in_another_key_sounds_in_the_tunes(book: str, tmp_path: Path) -> None:
    path = take(tmp_path / "take.mid", pitches=[pitch + 12 for pitch in PITCHES])
    out = tmp_path / "o.mid"
    assert main(["render", book, "--take", str(path), "--shift", "2", "-o", str(out)]) == 0
    up = [pitch + 2 for pitch in PITCHES]
    assert melody_and_take(out) == (up, up)


def test_with_no_clock_each_note_lies_beside_its_own(
    book: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Found by itself where the player stopped and went on; or asked for."""
    waits = (0.0, 0.3, 0.7, 0.1, 1.2, 0.0, 0.4, 0.9, 0.0, 4.0, 0.2, 0.8, 0.5, 0.0, 0.6)
    stops = dict(enumerate(accumulate(waits)))
    path = take(tmp_path / "take.mid", stops)
    for more in ([], ["--no-clock"]):
        wave = render(book, tmp_path / "o.wav", "--take", str(path), "--mute", "melody", *more)
        assert "with no beat" in capsys.readouterr().out
        assert onsets(wave[:, 1]) == pytest.approx([k * STEP for k in range(len(PITCHES))], abs=0.004)


def test_played_with_the_keys(book: str, tmp_path: Path) -> None:
    path = take(tmp_path / "take.mid")
    given = parser().parse_args(["play", book, "--rounds", "endless", "--take", str(path), "--level", "take=150"])
    speaker = Noted()
    one = Playing(sounded(given, endless=True), speaker)
    wind(one, speaker, 0.2)
    assert one.press("t") == "take off"
    assert one.press("t") == "take on"
    assert "next round" in one.press("-")
    wind(one, speaker, 9.0)
    quarter = [frames for _, frames in speaker.rounds[:2]]
    assert quarter[1] / quarter[0] == pytest.approx(1 / 0.95, rel=1e-3)
    plain = Playing(sounded(parser().parse_args(["play", book]), endless=True), Noted())
    assert plain.press("t") == ""


@pytest.mark.parametrize(
    ("more", "says"),
    [
        (["--take", "nowhere.mid"], "no such take"),
        (["--take", "{empty}"], "empty"),
        (["--take", "{silent}"], "no notes"),
        (["--take", "{book}"], "not a recording that can be read"),
        (["--take", "{folder}"], "a folder"),
        (["--take", "{take}", "--tune", "2"], "another tune"),
        (["--take", "{part}", "--piece", "A bar 3"], "this take has nothing of “A bar 3”"),
        (["--take", "{take}", "--recording", "tutor.mp3", "--first-beat", "1", "--bpm", "90"], "either --take or"),
        (["--level", "take=50"], "--take"),
        (["--mute", "take"], "--take"),
        (["--no-clock"], "--take"),
        (["--ear", "box.ear"], "--take"),
        (["--take", "{take}", "--level", "take=300"], "--level take"),
    ],
)
def test_one_sentence(
    book: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], more: list[str], says: str
) -> None:
    (tmp_path / "nothing").mkdir()
    (tmp_path / "empty.mid").write_bytes(b"")
    mido.MidiFile(tracks=[mido.MidiTrack([mido.MetaMessage("set_tempo")])]).save(tmp_path / "silent.mid")
    names = {
        "empty": tmp_path / "empty.mid",
        "silent": tmp_path / "silent.mid",
        "book": book,
        "folder": tmp_path / "nothing",
        "take": take(tmp_path / "take.mid"),
        "part": take(tmp_path / "part.mid", pitches=PITCHES[4:8]),
    }
    capsys.readouterr()
    out = tmp_path / "out.wav"
    assert main(["render", book, *(one.format(**names) for one in more), "-o", str(out)]) == 2
    said = capsys.readouterr().err
    assert says in said
    assert said.count("\n") == 1
    assert not out.exists()


def test_a_lesson_with_a_take(book: str, tmp_path: Path) -> None:
    """Of a take of one bar, each piece has what it holds of it, and nothing is refused."""
    path = take(tmp_path / "part.mid", pitches=PITCHES[4:8])
    out = tmp_path / "lesson"
    asked = ["--pieces", "A bar 1, A bar 2", "--format", "mid", "--take", str(path), "-o", str(out)]
    assert main(["render", book, *asked]) == 0
    found = {" ".join(file.stem.split()[1:4]): melody_and_take(file)[1] for file in out.iterdir()}
    assert found == {"A bar 1": [], "A bar 2": [*PITCHES[4:8]]}


def test_the_helper_of_these_tests_hears_what_is_there() -> None:
    line = Timeline(120.0, Fraction(1, 4))
    wave = np.zeros(RATE)
    for number in range(2):
        first = round(line.seconds(number / 4) * RATE)
        wave[first + 100 : first + 5000] = 0.3
    assert onsets(wave) == pytest.approx([0.002, 0.502], abs=0.002)
