"""Finding tunes in a book from the command line, and choosing the melody of several voices."""

from __future__ import annotations

import json
import re
from pathlib import Path

import mido
import pytest

from companion.cli.main import main
from companion.notation import tune_index
from companion.places import shipped

BOOK = str(shipped("demo_tunes", "tanners_quay.abc"))
TWO_VOICES = "X:1\nT:Two\nM:2/4\nL:1/8\nV:hi\nV:lo\nK:D\n[V:hi] dfaf|\n[V:lo] D2A,2|\n"


def numbers(capsys: pytest.CaptureFixture[str], *asked: str, book: str = BOOK) -> list[int]:
    """The reference numbers of what `companion tunes` finds."""
    assert main(["tunes", book, "--json", *asked]) == 0
    return [tune["number"] for tune in json.loads(capsys.readouterr().out)["tunes"]]


def take_of(path: Path, pitches: list[int]) -> str:
    """A take on file, of even notes."""
    file = mido.MidiFile()
    track = mido.MidiTrack()
    file.tracks.append(track)
    for pitch in pitches:
        track.append(mido.Message("note_on", note=pitch, velocity=80, time=0))
        track.append(mido.Message("note_off", note=pitch, velocity=0, time=200))
    file.save(path)
    return str(path)


def test_by_title_kind_and_key(capsys: pytest.CaptureFixture[str]) -> None:
    listed = {entry.number: entry for entry in tune_index.listing(Path(BOOK)).tunes}
    for number, entry in listed.items():
        assert numbers(capsys, "--title", entry.title.upper())[0] == number
        assert number in numbers(capsys, "--rhythm", entry.rhythm)
        assert number in numbers(capsys, "--key", entry.key, "--rhythm", entry.rhythm + "s")
    assert len({entry.rhythm for entry in listed.values()}) == 5
    assert numbers(capsys, "--rhythm", listed[2].rhythm) == [2]


def test_by_first_notes_typed_or_on_a_take(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert main(["tunes", BOOK, "--json", "--notes"]) == 0
    tunes = json.loads(capsys.readouterr().out)["tunes"]
    for tune in tunes:
        first = [note["pitch"] for note in tune["notes"][:9]]
        wrong = [*first[:4], first[4] + 1, *first[5:]]
        for played in (first, [pitch - 12 for pitch in first], [pitch + 3 for pitch in first], wrong):
            assert numbers(capsys, "--played", take_of(tmp_path / "take.mid", played))[0] == tune["number"]
    # The polka as its text has it, without bar lines; then with one letter wrong.
    assert numbers(capsys, "--first", "A2 FA Bd A2 AF") == [1]
    assert numbers(capsys, "--first", "A2 FA Bd c2 AF") == [1]


def test_what_is_found_has_its_own_notes(capsys: pytest.CaptureFixture[str]) -> None:
    """With notes the book is read, and each found tune gets its own."""
    assert main(["tunes", BOOK, "--json", "--notes"]) == 0
    everything = {tune["number"]: tune for tune in json.loads(capsys.readouterr().out)["tunes"]}
    for number, tune in everything.items():
        assert main(["tunes", BOOK, "--json", "--notes", "--title", tune["title"]]) == 0
        assert json.loads(capsys.readouterr().out)["tunes"][0] == everything[number]


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (["--title", "no such tune"], "no match among 5 tunes"),
        (["--key", "H"], "is not a key"),
        (["--first", "d f"], "at least three notes"),
        (["--played", "nowhere.mid"], "nowhere.mid"),
    ],
)
def test_mistakes(capsys: pytest.CaptureFixture[str], asked: list[str], said: str) -> None:
    assert main(["tunes", BOOK, *asked]) == 2
    error = capsys.readouterr().err
    assert said in error
    assert error.count("\n") == 1


@pytest.mark.parametrize(("voice", "pitches"), [(None, [74, 78, 81, 78]), ("hi", [74, 78, 81, 78]), ("lo", [62, 57])])
def test_the_melody_is_the_voice_that_is_asked_for(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, voice: str | None, pitches: list[int]
) -> None:
    book = tmp_path / "two.abc"
    book.write_text(TWO_VOICES, encoding="utf-8")
    asked = [] if voice is None else ["--voice", voice]
    assert main(["tunes", str(book), "--json", "--notes", *asked]) == 0
    tune = json.loads(capsys.readouterr().out)["tunes"][0]
    assert [note["pitch"] for note in tune["notes"]] == pitches
    assert any("voice" in problem["message"].lower() for problem in tune["problems"])
    for command in ("buttons", "pieces"):
        assert main([command, str(book), "--json", *asked]) == 0
        report = json.loads(capsys.readouterr().out)
        if command == "buttons":
            assert [note["pitch"] for note in report["notes"]] == pitches
    sound = tmp_path / "sound.mid"
    assert main(["render", str(book), "--no-click", "-o", str(sound), *asked]) == 0
    assert [m.note for m in mido.MidiFile(sound) if m.type == "note_on" and m.velocity] == pitches


@pytest.mark.parametrize("command", ["tunes", "buttons"])
def test_a_voice_that_is_not_there(capsys: pytest.CaptureFixture[str], tmp_path: Path, command: str) -> None:
    """A tune is not shown in another voice than the one that was asked for; those that it has are named."""
    book = tmp_path / "two.abc"
    book.write_text(TWO_VOICES, encoding="utf-8")
    assert main([command, str(book), "--voice", "middle"]) == 2
    assert re.search(r"two\.abc:1:1: .*no voice “middle”; choose one of “hi”, “lo”", capsys.readouterr().err)


def test_the_only_voice_is_the_one_that_is_asked_for(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """`--voice` may be given for a whole book of which some tunes have one voice."""
    book = tmp_path / "one.abc"
    book.write_text("X:1\nT:One\nM:4/4\nL:1/4\nK:D\nDEFG|\n", encoding="utf-8")
    assert main(["buttons", str(book), "--json", "--voice", "middle"]) == 0
    assert [note["pitch"] for note in json.loads(capsys.readouterr().out)["notes"]] == [62, 64, 66, 67]
