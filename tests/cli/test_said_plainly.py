"""The command line as a person meets it: no book named, something forgotten, something misspelt, help."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from companion.cli import practise_command
from companion.cli.arguments import COMMANDS, GROUPS, parser
from companion.cli.main import main
from companion.input.take_file import write_take
from companion.marking.mark_values import Heard

REPORTS = ("tunes", "choose", "buttons", "bellows", "ornaments", "basses", "pieces")


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize("command", REPORTS)
def test_with_no_book_it_is_about_the_demo_tunes(capsys: pytest.CaptureFixture[str], command: str) -> None:
    assert main([command]) == 0
    said = capsys.readouterr()
    assert said.out.strip()
    assert said.err == "No book named: these are the demo tunes (tanners_quay.abc).\n"
    assert main([command, "--json"]) == 0
    said = capsys.readouterr()
    assert json.loads(said.out)["schema"].startswith("companion.")
    assert said.err.count("\n") == 1


def test_so_it_is_where_a_file_is_written_or_read(capsys: pytest.CaptureFixture[str]) -> None:
    write_take(Path("take.mid"), [Heard(n / 4, 69 - n, end=n / 4 + 0.2) for n in range(8)])
    for arguments in (
        ["write", "--tune", "2", "-o", "tune.abc"],
        ["render", "--piece", "A bar 1", "-o", "bar.wav"],
        ["mark", "take.mid"],
        ["lesson", "--tune", "2"],
    ):
        assert main(arguments) == 0
        said = capsys.readouterr()
        assert said.out
        assert "demo tunes" in said.err
    assert Path("bar.wav").stat().st_size > 10_000
    assert "T:The Borrowed Umbrella" in Path("tune.abc").read_text(encoding="utf-8")


def test_a_lesson_is_not_written_beside_the_demo_tunes(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["lesson", "--write"]) == 2
    assert "name the book to write the lesson beside" in capsys.readouterr().err


def test_nothing_at_all_opens_the_window(monkeypatch: pytest.MonkeyPatch) -> None:
    opened = []
    monkeypatch.setattr(practise_command, "run", opened.append)
    assert main([]) == 0
    assert main(["--minutes", "30"]) == 0
    assert [(one.command, one.book, one.tune) for one in opened] == [("practise", None, None)] * 2
    assert opened[1].minutes == 30


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["mark"], "name a take: companion mark my-tunes.abc take.m4a"),
        (["render"], "name the file to write: companion render my-tunes.abc -o tune.flac"),
        (["write", "mine.abc"], "name the file to write: companion write my-tunes.abc --tune 3 -o tune.musicxml"),
        (["record"], "say export, import or rescue: companion record export mine.jsonl"),
        (["record", "export"], "name the file to write: companion record export mine.jsonl"),
        (["buton"], "there is no “buton”; did you mean buttons?"),
        (["dance"], "there is no “dance”; `companion --help` lists what there is"),
        (["buttons", "--speed"], "“--speed” means nothing here; `companion buttons --help` lists what you can add"),
        (["--speed"], "“--speed” means nothing here; `companion practise --help` lists what you can add"),
        (["buttons", "--tune"], "say what --tune is to be; `companion buttons --help` lists what you can add"),
        (["play", "--shift", "abc"], "--shift takes a number, not “abc”"),
        (["lesson", "-o", "x", "--write"], "give either -o or --write, not both"),
        (["buttons", "--transpose", "abc"], "“abc” is not a number of semitones from −24 to 24, nor best"),
        (["tunes", "--rhythm", "galop"], "no match among 5 tunes; use fewer filters"),
        (["render", "-o", "x.wav", "--rounds", "0"], "--rounds takes 1 to 1000, not “0”"),
        (["help", "cooking"], "there is no page “cooking”; the pages are practise, learn, find,"),
    ],
)
def test_a_mistake_is_one_sentence_of_ours(capsys: pytest.CaptureFixture[str], arguments: list[str], said: str) -> None:
    assert main(arguments) == 2
    err = capsys.readouterr().err
    assert said in err
    assert err.count("companion: ") == 1
    for of_argparse in ("arguments are required", "invalid", "unrecognized", "expected one", "Traceback"):
        assert of_argparse not in err


def test_help_groups_every_command_by_what_one_wants(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["--help"])
    lines = capsys.readouterr().out.splitlines()
    titles = [title for title, _ in GROUPS]
    assert [line[:-1] for line in lines if line.endswith(":")] == titles
    shown = [line.split()[0] for line in lines if line.startswith("  ")]
    assert shown == [name for name, _, _ in COMMANDS]
    assert len(set(shown)) == len(shown) == 21
    assert max(map(len, lines)) <= 100


def test_every_command_says_what_it_takes(capsys: pytest.CaptureFixture[str]) -> None:
    for name, does, _ in COMMANDS:
        with pytest.raises(SystemExit):
            main([name, "--help"])
        said = " ".join(capsys.readouterr().out.split())
        assert does[1:].split(";")[0] in said
        assert "show this help message and exit" not in said


def test_help_comes_at_once_with_the_standard_library_alone() -> None:
    look = (
        "import sys; from companion.cli.arguments import parser; parser().format_help(); "
        "print(*{name.partition('.')[0] for name in sys.modules} - set(sys.stdlib_module_names))"
    )
    done = subprocess.run(
        [sys.executable, "-I", "-S", "-c", f"import sys; sys.path[:0]=[{str(ROOT)!r}]; {look}"],
        capture_output=True,
        text=True,
        check=True,
    )
    assert set(done.stdout.split()) <= {"companion", "__main__"}


ROOT = Path(practise_command.__file__).parents[2]


def test_the_whole_tune_is_what_people_type_and_read(capsys: pytest.CaptureFixture[str]) -> None:
    assert parser().parse_args(["play", "--piece", "whole tune"]).piece == "whole tune"
    for name in ("round", "whole tune", "Whole Tune", "A phrase 1 into phrase 2", "A phrase 1 into 2"):
        assert main(["render", "--piece", name, "-o", "piece.mid"]) == 0
    capsys.readouterr()
    assert main(["pieces"]) == 0
    said = capsys.readouterr().out
    assert "whole tune" in said
    assert "A phrase 1 into phrase 2" in said
    assert " round" not in said
