"""The README and the pages of `companion help`: every example in them runs, and every file they name is there."""

from __future__ import annotations

import re
import shlex
import shutil
from datetime import timedelta
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
import soundfile

from companion.box.layout import load_box
from companion.cli.arguments import COMMANDS, parser
from companion.cli.help_command import ORDER, PAGES, page_text
from companion.cli.main import main
from companion.cli.named import name_in
from companion.cli.sounded import sounded
from companion.input.take_file import write_take
from companion.marking.mark_values import Heard
from companion.notation import read_tune
from companion.places import own_data, shipped
from companion.store.record import FILE, here, open_record
from companion.timeline import Timeline
from companion.tune.unfold import unfold
from tests.hearing.sounds import RATE, Note, Place, Voice, lesson_of
from tests.hearing.sounds import played as played_by_a_box
from tests.sound.coded import coded
from tests.store.made import ROUND, WoundClock, kept

HOME = PAGES.parents[1]
BOOK = shipped("demo_tunes", "tanners_quay.abc")
TEXTS = {"README": (HOME / "README.md").read_text(encoding="utf-8")} | {name: page_text(name) for name in ORDER}
EXAMPLES = [
    (page, line.strip())
    for page, text in TEXTS.items()
    for line in text.splitlines()
    if re.match(r"    companion\b", line)
]
NEEDS_DEVICES = ("delay", "ports")


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with what the examples name: a book, takes, a class's homework, a recording, an old record."""
    folder = tmp_path_factory.mktemp("desk")
    shutil.copy(BOOK, folder / "my-tunes.abc")
    tune = unfold(read_tune(BOOK, 3))
    line = Timeline(80.0, Fraction(1, 4))
    played = [
        Heard(line.seconds(note.at), note.pitch, end=line.seconds(note.at + note.length) - 0.02) for note in tune.notes
    ]
    for take in ("take.mid", "homework/anna.mid", "homework/ben.mid"):
        (folder / take).parent.mkdir(exist_ok=True)
        write_take(folder / take, played)
    assert main(["render", str(BOOK), "-o", str(folder / "tutor.mp3")]) == 0
    recordings(folder, played[:40])
    return folder


def recordings(folder: Path, notes: list[Heard]) -> None:
    """A take as a phone makes it, what sounded meanwhile, a box's notes one by one, all of them and a few."""
    sound = played_by_a_box([Note(1.0 + n.seconds, 1.0 + (n.end or 0.0), n.pitch) for n in notes], Voice(), 15.0)
    coded(folder / "take.m4a", np.stack([sound, sound], 1))
    shutil.copy(folder / "take.m4a", folder / "homework" / "cara.m4a")
    soundfile.write(folder / "backing.wav", sound, RATE)
    rows = load_box("bc-21").rows
    every = sorted({pitch for row in rows for pitch in (*row.push, *row.pull) if pitch is not None})
    soundfile.write(folder / "box.wav", lesson_of(Voice(), Place(), every), RATE)
    soundfile.write(folder / "few.wav", lesson_of(Voice(), Place(), [62, 64, 66, 67, 68, 69]), RATE)
    assert (
        main(["microphone", "--learn", str(folder / "box.wav"), "--box", "bc-21", "-o", str(folder / "box.ear")]) == 0
    )


@pytest.fixture(autouse=True)
def at_the_desk(desk: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(desk)
    record = open_record(own_data() / FILE, WoundClock(here() - timedelta(days=1)))
    tune = record.tune(ROUND, "The Lamp on Tanner's Quay", "polka", target=112.0)
    record.keep(record.begin(tune, "bc-21"), kept("A bar 1", bpm=60.0), {})
    record.close()
    shutil.copy(own_data() / FILE, desk / "old-record.sqlite3")


@pytest.mark.parametrize("example", dict.fromkeys(example for _, example in EXAMPLES))
def test_an_example_runs(example: str, capsys: pytest.CaptureFixture[str]) -> None:
    words = shlex.split(re.split(r"\s#", example)[0])[1:]
    command = words[0] if words else "practise"
    if command == "practise":
        words = [*(words or ["practise"]), "--seconds", "1"]
    elif example.startswith("companion record import"):
        assert main(["record", "export", words[2]]) == 0
    given = parser().settled(words)
    if command in NEEDS_DEVICES or "" in (getattr(given, "played", None), getattr(given, "learn", None)):
        return  # understood; what it does needs an instrument, which the tests of the servers have
    if command == "play":
        given.tune = name_in(Path(given.book), given.tune, None) if given.tune else None
        assert sounded(given, endless=True).title
        return
    assert main(words) == 0
    assert "companion: " not in capsys.readouterr().err
    out = getattr(given, "out", None) or getattr(given, "keep", None)
    assert out is None or Path(out).exists()


def test_there_are_examples_for_every_command() -> None:
    shown = {words[1] for _, example in EXAMPLES if (words := example.split())[1:]}
    assert {name for name, _, _ in COMMANDS} - shown == {"help"}


def test_help_lists_and_shows_the_pages(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["help"]) == 0
    listed = capsys.readouterr().out
    for name in ORDER:
        assert re.search(rf"^{name} +\w", listed, re.MULTILINE)
        assert main(["help", name]) == 0
        assert capsys.readouterr().out == page_text(name)
        assert f"(companion/help/{name}.md)" in TEXTS["README"]
    assert {path.stem for path in PAGES.glob("*.md")} == set(ORDER)


def test_the_readme_is_one_screen() -> None:
    assert len(TEXTS["README"].splitlines()) <= 60


@pytest.mark.parametrize("page", TEXTS)
def test_files_that_are_named_are_there(page: str) -> None:
    text = TEXTS[page]
    named = re.findall(r"\]\(([^)#:]+)\)", text) + re.findall(r"`((?:config|companion)/[\w./]*)`", text)
    assert [name for name in named if not (HOME / name).exists()] == []
