"""Recordings of a sampled accordion in a small room, from the command line: a box learnt, a class's homework marked."""

from __future__ import annotations

import json
import random
import shutil
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import jsonschema
import numpy as np
import pytest
import soundfile

import companion
from companion.box.layout import load_box
from companion.cli import takes
from companion.cli.main import main
from companion.cli.microphone_command import pitches_named
from companion.cli.ready_tune import open_tune
from companion.errors import UserError
from companion.hearing.ear import read_ear
from companion.input.take_file import write_take
from companion.lesson.stretch import stretch_of
from companion.marking.asking import asked_of
from companion.marking.learner import Learner, simulate_take
from companion.places import shipped
from companion.timeline import Timeline
from tests.hearing.sounds import RATE, Note, Place, Voice, at_level, heard, lesson_of, played
from tests.sound.coded import coded

BOOK = str(shipped("demo_tunes", "tanners_quay.abc"))
SCHEMAS = Path(companion.__file__).parent / "cli" / "schemas"
VOICE, ROOM = Voice(), Place(seed=5)


def pitches() -> list[int]:
    """The notes of a B/C box, ascending."""
    rows = load_box("bc-21").rows
    return sorted({pitch for row in rows for pitch in (*row.push, *row.pull) if pitch is not None})


def recorded(learner: Learner, seed: int) -> tuple[np.ndarray, list[takes.Heard]]:
    """The first part of the first demo tune as a learner plays it, and what it is made of."""
    opened = open_tune(BOOK, 1, "bc-21")
    beat = opened.target[1]
    part = next(piece for piece in opened.pieces if piece.name == "A part")
    asked = asked_of(stretch_of(opened.round, part.first, part.last, opened.tune.meter, beat))
    notes, _ = simulate_take(
        asked, Timeline(80.0, beat, Fraction(0), 1.0), learner, random.Random(seed), opened.fingering
    )
    notes = [replace(note, end=(note.end or note.seconds + 0.3) - 0.02) for note in notes]
    end = max(note.end or 0.0 for note in notes) + 0.5
    dry = played([Note(n.seconds, n.end or 0.0, n.pitch, 90) for n in notes], VOICE, end)
    return heard(at_level(dry, -20.0), ROOM), notes


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A box that was recorded, and homework: two that a phone made, one MIDI, one that is broken."""
    folder = tmp_path_factory.mktemp("desk")
    soundfile.write(folder / "box.wav", lesson_of(VOICE, ROOM, pitches()), RATE)
    home = folder / "homework"
    home.mkdir()
    for name, learner in (("anna", Learner(spread_ms=8.0)), ("ben", Learner(spread_ms=8.0, wrong=0.15))):
        sound, notes = recorded(learner, 4)
        coded(home / f"{name}.m4a", np.stack([sound, sound], 1))
        write_take(folder / f"{name}.mid", notes)
    shutil.copy(folder / "ben.mid", home / "cara.mid")
    shutil.copy(home / "anna.m4a", home / "dan.m4a")
    (home / "eve.m4a").write_bytes((home / "ben.m4a").read_bytes()[:5000])
    return folder


@pytest.fixture(autouse=True)
def at_the_desk(desk: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(desk)


def learnt(capsys: pytest.CaptureFixture[str]) -> None:
    if not Path("box.ear").exists():
        assert main(["microphone", "--learn", "box.wav", "--box", "bc-21", "-o", "box.ear"]) == 0
    capsys.readouterr()


def test_a_box_is_learnt_from_a_recording(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["microphone", "--learn", "box.wav", "--box", "bc-21", "-o", "new.ear"]) == 0
    said = capsys.readouterr().out
    assert said == "new.ear: 37 notes learnt, D♯3 to F♯6. Use it: companion mark BOOK TAKE --ear new.ear\n"
    assert len(read_ear("new.ear").pitches) == 37
    some = pitches()[:20]  # what sounds after them is taken for the left hand's
    named = ",".join(map(str, some))
    assert main(["microphone", "--learn", "box.wav", "--pitches", named, "-o", "few.ear", "--json"]) == 0
    report = json.loads(capsys.readouterr().out)
    schema = json.loads((SCHEMAS / "microphone.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator(schema).validate(report)
    assert report["learnt"]["pitches"] == some
    assert len(report["learnt"]["cents"]) == 20
    assert all(abs(one) < 60 for one in report["learnt"]["cents"])


def test_homework_as_phones_send_it(capsys: pytest.CaptureFixture[str]) -> None:
    """Marked on all cores, as it is one by one; nearly what the MIDI files of the same playing say."""
    learnt(capsys)
    assert sum(map(takes.is_recording, Path("homework").iterdir())) >= takes._MANY
    assert main(["mark", BOOK, "homework", "--piece", "A part", "--ear", "box.ear", "--json"]) == 0
    said = capsys.readouterr()
    assert said.err == ""
    report = {one["take"]: one for one in json.loads(said.out)["takes"]}
    assert "damaged or cut short" in report["eve.m4a"]["problem"]
    assert report["anna.m4a"]["marks"] == report["dan.m4a"]["marks"]
    for name in ("anna", "ben"):
        alone = ["--piece", "A part", "--json"]
        assert main(["mark", BOOK, f"homework/{name}.m4a", "--ear", "box.ear", *alone]) == 0
        marks = json.loads(capsys.readouterr().out)
        assert marks == report[f"{name}.m4a"]["marks"]
        assert main(["mark", BOOK, f"{name}.mid", *alone]) == 0
        true = {note["written"]: note for note in json.loads(capsys.readouterr().out)["notes"]}
        found = {note["written"]: note for note in marks["notes"] if note["written"] is not None}
        same = sum(found[k]["verdict"] == note["verdict"] for k, note in true.items() if k is not None)
        assert same >= 0.97 * len(found)
        assert not any(true[k]["verdict"] == "right" and n["verdict"] == "wrong" for k, n in found.items())


def test_without_an_ear_it_says_that_it_guesses(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["mark", BOOK, "homework/anna.m4a", "--piece", "A part"]) == 0
    said = capsys.readouterr()
    assert said.out
    assert "a guess" in said.err


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["--learn"], "say which box you play: companion microphone --learn --box bc-21"),
        (["--learn", "--box", "bc-21"], "there is no microphone"),
        (["--learn", "box.wav", "-o", "x.ear"], "say which notes the recording has: --box bc-21"),
        (["--learn", "box.wav", "--box", "bc-21"], "name the file to write"),
        (["--learn", "box.wav", "--box", "bc-21", "--pitches", "57", "-o", "x.ear"], "give either --pitches or --box"),
        (["--learn", "box.wav", "--box", "harp", "-o", "x.ear"], "harp"),
        (["--learn", "none.wav", "--box", "bc-21", "-o", "x.ear"], "none.wav: There is no such recording"),
        (["--learn", "anna.mid", "--box", "bc-21", "-o", "x.ear"], "anna.mid: This is not a recording"),
        (["--learn", "box.wav", "--pitches", "40-90", "-o", "x.ear"], "box.wav: "),
        (["--learn", "box.wav", "--box", "bc-21", "-o", "none/x.ear"], "none"),
    ],
)
def test_mistakes_in_learning(capsys: pytest.CaptureFixture[str], arguments: list[str], says: str) -> None:
    before = sorted(Path().rglob("*"))
    assert main(["microphone", *arguments]) == 2
    said = capsys.readouterr().err
    assert said.startswith("companion: ")
    assert says in said
    assert said.count("\n") == 1
    assert sorted(Path().rglob("*")) == before


@pytest.mark.parametrize("ear", ["none.ear", "box.wav", "homework"])
def test_an_ear_that_is_none(capsys: pytest.CaptureFixture[str], ear: str) -> None:
    for arguments in (
        ["mark", BOOK, "homework/anna.m4a"],
        ["mark", BOOK, "homework"],
        ["render", BOOK, "-o", "out.wav", "--take", "homework/anna.m4a"],
        ["tunes", BOOK, "--played", "homework/anna.m4a"],
    ):
        assert main([*arguments, "--ear", ear]) == 2
        said = capsys.readouterr().err
        assert f"{ear}: " in said
        assert said.count("\n") == 1
    assert not Path("out.wav").exists()


def test_pitches_as_they_are_typed() -> None:
    assert pitches_named("57-60") == (57, 58, 59, 60)
    assert pitches_named("57, 59,61–63") == (57, 59, 61, 62, 63)
    for text, says in (
        ("", "takes MIDI numbers"),
        ("A4", "takes MIDI numbers"),
        ("57,,59", "takes MIDI numbers"),
        ("57-", "takes MIDI numbers"),
        ("60-57", "write 57-60, the lower note first"),
        ("100-128", "from 0 to 127"),
        ("57-60,59", "names 59 twice"),
    ):
        with pytest.raises(UserError, match=says):
            pitches_named(text)
