"""Recordings in place of MIDI takes: marked, beside the tune, to find one by; what was hard to hear counts neither way.

What is heard in them is put in by hand here; `tests/cli/test_heard.py` has real sound.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import jsonschema
import numpy as np
import pytest
import soundfile

import companion
from companion.cli import takes
from companion.cli.main import main
from companion.cli.ready_tune import open_tune
from companion.cli.takes import is_recording
from companion.hearing import ear as ears
from companion.hearing import guess
from companion.hearing import hear as hearing
from companion.input.take_file import write_take
from companion.lesson.stretch import stretch_of
from companion.marking.asking import asked_of
from companion.marking.mark_values import Heard, Verdict
from companion.marking.marking_rules import MarkingRules
from companion.marking.marks import is_clean
from companion.marking.take_marks import TakeMarks
from companion.places import shipped
from companion.timeline import Timeline

BOOK = str(shipped("demo_tunes", "tanners_quay.abc"))
SCHEMAS = Path(companion.__file__).parent / "cli" / "schemas"
LEARNT, GUESSED = object(), object()


@dataclass(frozen=True)
class HeardByHand:
    """What is heard in every recording; the faults at these notes of the round are in doubt."""

    notes: tuple[Heard, ...]
    doubtful: frozenset[int] = frozenset()

    def weighed(self, found: TakeMarks, rules: MarkingRules) -> TakeMarks:
        notes = tuple(
            replace(n, verdict=Verdict.UNSURE, cause=None, sure=0.41) if n.written in self.doubtful else n
            for n in found.marks.notes
        )
        return replace(found, marks=replace(found.marks, notes=notes, clean=is_clean(notes, found.timeline, rules)))


@dataclass
class Hearing:
    """Stands for the hearing room: gives what it was told to, and keeps what it was asked."""

    heard: HeardByHand
    asked: list[dict[str, Any]]

    def __call__(self, sound: Any, rate: int, ear: Any, asked: Any = (), *, playback: Any = None) -> HeardByHand:
        self.asked.append({"frames": len(sound), "rate": rate, "ear": ear, "notes": len(asked), "playback": playback})
        return self.heard


def notes_of(number: int = 1) -> tuple[list[Heard], int]:
    """A demo tune as written, and how many notes its round has."""
    opened = open_tune(BOOK, number, "bc-21")
    beat = opened.target[1]
    asked = asked_of(stretch_of(opened.round, 0, len(opened.round.notes) - 1, opened.tune.meter, beat))
    line = Timeline(80.0, beat)
    return [Heard(line.seconds(a.at), a.pitch, end=line.seconds(a.at + a.length), sure=0.987654) for a in asked], len(
        asked
    )


@pytest.fixture
def hears(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Hearing:
    """Recordings of the first demo tune with two wrong notes, one of which is in doubt."""
    monkeypatch.chdir(tmp_path)
    notes, _ = notes_of()
    wrong = [replace(n, pitch=n.pitch + 1) if k in (5, 30) else n for k, n in enumerate(notes)]
    one = Hearing(HeardByHand(tuple(wrong), frozenset({5})), [])
    monkeypatch.setattr(hearing, "hear", one)
    monkeypatch.setattr(guess, "own_ear", lambda: GUESSED)
    monkeypatch.setattr(ears, "read_ear", lambda path: (LEARNT, path)[0])
    soundfile.write("take.wav", np.zeros((4800, 2), np.float32), 48000)
    soundfile.write("backing.flac", np.ones(2205, np.float32) * 0.1, 22050)
    write_take("take.mid", notes)
    return one


def printed(capsys: pytest.CaptureFixture[str], *arguments: str) -> dict[str, Any]:
    capsys.readouterr()
    assert main([*arguments, "--json"]) == 0
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return found


def test_a_fault_in_doubt_is_no_fault(hears: Hearing, capsys: pytest.CaptureFixture[str]) -> None:
    report = printed(capsys, "mark", BOOK, "take.wav")
    schema = json.loads((SCHEMAS / "marks.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator(schema).validate(report)
    notes = {note["written"]: note for note in report["notes"]}
    assert (notes[5]["verdict"], notes[5]["cause"], notes[5]["sure"]) == ("unsure", None, 0.41)
    assert (notes[30]["verdict"], notes[4]["verdict"]) == ("wrong", "right")
    heard = report["heard"]
    assert heard[0] == {"seconds": heard[0]["seconds"], "pitch": hears.heard.notes[0].pitch, "sure": 0.988}
    assert [one["seconds"] for one in heard] == sorted(one["seconds"] for one in heard)
    for note in report["notes"]:
        assert heard[note["heard"]]["pitch"] == note["heard_pitch"]


def test_every_note_of_a_midi_take_is_sure(hears: Hearing, capsys: pytest.CaptureFixture[str]) -> None:
    report = printed(capsys, "mark", BOOK, "take.mid")
    assert {one["sure"] for one in (*report["heard"], *report["notes"])} == {1.0}
    assert len(report["heard"]) == len(report["notes"])
    assert hears.asked == []


def test_whether_it_is_clean_is_found_anew(hears: Hearing, capsys: pytest.CaptureFixture[str]) -> None:
    """With every wrong note in doubt the round is clean; with too many unsure it is not."""
    assert not printed(capsys, "mark", BOOK, "take.wav")["clean"]
    hears.heard = replace(hears.heard, doubtful=frozenset({5, 30}))
    assert printed(capsys, "mark", BOOK, "take.wav")["clean"]
    hears.heard = replace(hears.heard, doubtful=frozenset(range(0, 60, 2)))
    report = printed(capsys, "mark", BOOK, "take.wav")
    assert not report["clean"]


def test_the_page_says_how_many_notes_could_not_be_judged(hears: Hearing, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["mark", BOOK, "take.wav"]) == 0
    said = capsys.readouterr().out
    count = len(hears.heard.notes)
    assert f"Not clean yet: {count - 2} of {count - 1} notes right, 1 wrong.\n" in said
    assert "1 note could not be heard well enough to judge, and counts neither way.\n" in said
    assert "  1 unsure" in said[said.index("By bar:") : said.index("By button:")]
    wrong = said[said.index("Notes that went wrong:") : said.index("By bar:")].strip().splitlines()
    assert len(wrong) == 2
    assert "  2. " not in said[: said.index("Notes that went wrong:")]
    hears.heard = replace(hears.heard, doubtful=frozenset({5, 30}))
    assert main(["mark", BOOK, "take.wav"]) == 0
    said = capsys.readouterr().out
    assert "2 notes could not be heard well enough to judge, and count neither way.\n" in said
    assert "Clean: " in said
    assert main(["mark", BOOK, "take.mid"]) == 0
    assert "heard well enough" not in capsys.readouterr().out


def test_it_hears_with_the_ear_that_is_named_or_says_that_it_guesses(
    hears: Hearing, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["mark", BOOK, "take.wav"]) == 0
    said = capsys.readouterr()
    assert said.err.count("\n") == 1
    assert "a guess" in said.err
    assert "companion microphone --learn" in said.err
    assert "How this box sounds is a guess" in said.out  # a page goes to the player, without what the terminal says
    assert main(["mark", BOOK, "take.wav", "--ear", "box.ear"]) == 0
    said = capsys.readouterr()
    assert (said.err, "guess" in said.out) == ("", False)
    assert main(["mark", BOOK, "take.mid"]) == 0
    assert capsys.readouterr().err == ""
    assert [one["ear"] for one in hears.asked] == [GUESSED, LEARNT]
    assert {(one["frames"], one["rate"], one["notes"], one["playback"]) for one in hears.asked} == {
        (4800, 48000, notes_of()[1], None)
    }


def test_what_the_program_played_meanwhile_comes_at_the_same_rate(hears: Hearing) -> None:
    assert main(["mark", BOOK, "take.wav", "--playback", "backing.flac"]) == 0
    playback = hears.asked[0]["playback"]
    assert len(playback) == 4800
    assert playback[1000:-1000] == pytest.approx(0.1, abs=1e-3)


@pytest.mark.usefixtures("hears")
def test_a_folder_of_both_kinds(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(takes, "_MANY", 99)  # what is put in by hand is not known to another process
    folder = Path("homework")
    folder.mkdir()
    for name in ("anna.mid", "ben.wav", "anna.wav"):
        (folder / name).write_bytes(Path(f"take{Path(name).suffix}").read_bytes())
    (folder / "cara.m4a").write_bytes(b"")
    (folder / "notes.txt").write_text("no take", encoding="utf-8")
    assert main(["mark", BOOK, str(folder), "-o", "pages"]) == 0
    said = capsys.readouterr()
    head = next(line for line in said.out.splitlines() if "clean" in line)
    assert head.split()[:7] == ["take", "clean", "right", "wrong", "missed", "extra", "unsure"]
    rows = {
        line.split()[0]: line.split()[1:7] for line in said.out.splitlines() if ".wav  " in line or ".mid  " in line
    }
    count = notes_of()[1]
    assert rows["anna.mid"] == ["yes", str(count), "0", "0", "0", "0"]
    assert rows["ben.wav"] == rows["anna.wav"] == ["no", str(count - 2), "1", "0", "0", "1"]
    assert "cara.m4a: The recording is empty" in said.out
    assert said.err.count("a guess") == 1
    assert sorted(path.name for path in Path("pages").iterdir()) == ["anna.mid.txt", "anna.wav.txt", "ben.txt"]
    guessed = [path.stem for path in Path("pages").iterdir() if "is a guess" in path.read_text(encoding="utf-8")]
    assert sorted(guessed) == ["anna.wav", "ben"]
    report = printed(capsys, "mark", BOOK, str(folder))
    jsonschema.Draft202012Validator(json.loads((SCHEMAS / "class.json").read_text(encoding="utf-8"))).validate(report)
    marks = jsonschema.Draft202012Validator(json.loads((SCHEMAS / "marks.json").read_text(encoding="utf-8")))
    for one in report["takes"]:
        if one["marks"] is not None:
            marks.validate(one["marks"])
            assert len(one["marks"]["heard"]) == count


def test_a_recording_beside_the_tune_and_to_find_one_by(hears: Hearing, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["render", BOOK, "--take", "take.wav", "--piece", "A bar 1", "-o", "me.wav"]) == 0
    assert "take.wav holds the tune" in capsys.readouterr().out
    assert hears.asked[0]["notes"] == notes_of()[1]
    hears.heard = HeardByHand(tuple(notes_of(2)[0]))
    assert main(["tunes", BOOK, "--played", "take.wav", "--ear", "box.ear", "--json"]) == 0
    said = capsys.readouterr()
    assert json.loads(said.out)["tunes"][0]["number"] == 2
    assert said.err == ""
    assert hears.asked[1]["ear"] is LEARNT
    assert hears.asked[1]["notes"] == 0


def test_a_recording_in_which_nothing_is_heard(hears: Hearing, capsys: pytest.CaptureFixture[str]) -> None:
    hears.heard = HeardByHand(())
    assert main(["mark", BOOK, "take.wav"]) == 2
    said = capsys.readouterr().err
    assert said == "companion: take.wav: No note of a box was heard in this recording; record it again, nearer to it.\n"


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["take.mid", "--playback", "backing.flac"], "--playback is for one recording"),
        ([".", "--playback", "backing.flac"], "--playback is for one recording"),
        (["take.wav", "--playback", "none.wav"], "none.wav: There is no such recording"),
        (["none.m4a"], "none.m4a: There is no such recording"),
        (["none.mid"], "none.mid: There is no such take"),
        (["none"], "none: There is no such take"),
        (["take.wav", "-o", "pages"], "-o is for a folder of takes"),
    ],
)
def test_mistakes(hears: Hearing, capsys: pytest.CaptureFixture[str], arguments: list[str], says: str) -> None:
    assert main(["mark", BOOK, *arguments]) == 2
    said = capsys.readouterr().err
    assert says in said
    assert said.count("\n") == 1
    assert hears.asked == []


def test_a_take_is_known_by_its_ending_or_its_first_bytes(tmp_path: Path) -> None:
    for name, data, recording in (
        ("a.mid", b"RIFF", False),
        ("a.M4A", b"MThd", True),
        ("a", b"MThd....", False),
        ("a.take", b"fLaC....", True),
        ("empty", b"", False),
    ):
        (tmp_path / name).write_bytes(data)
        assert is_recording(tmp_path / name) == recording
    assert not is_recording(tmp_path / "nowhere")
