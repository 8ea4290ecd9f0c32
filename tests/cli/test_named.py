"""A tune by words of its title, wherever a command takes its number."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from companion.cli.main import main
from companion.cli.named import name_in
from companion.errors import UserError

BOOK = """X:3
T:The Lost Oar
M:6/8
K:D
DFA DFA|
X:4
T:The Lost Oar of Muckinish
M:6/8
K:G
GBd GBd|
X:5
T:Biddy's Net
M:6/8
K:G
V:1
GBd gdB|
V:2
DGB dBG|
"""


@pytest.fixture
def book(tmp_path: Path) -> Path:
    path = tmp_path / "oars.abc"
    path.write_text(BOOK, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("asked", "number"), [("lost oar", 3), ("muckinish", 4), ("biddys net", 5), ("THE LOST OAR", 3)]
)
def test_words_of_a_title(book: Path, asked: str, number: int) -> None:
    assert name_in(book, asked) == str(number)


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ("lost", "several tunes match “lost” (3 “The Lost Oar”, 4 “The Lost Oar of Muckinish”)"),
        ("kelp", "no tune in it is called “kelp”"),
        ("!!", "names no tune"),
    ],
)
def test_words_that_name_none_or_several(book: Path, asked: str, said: str) -> None:
    with pytest.raises(UserError) as why:
        name_in(book, asked)
    assert said in str(why.value)


def test_the_commands_take_words(book: Path, capsys: pytest.CaptureFixture[str]) -> None:
    printed = []
    for asked in ("5", "biddy"):
        assert main(["buttons", str(book), "--tune", asked, "--json"]) == 0
        printed.append(json.loads(capsys.readouterr().out))
    assert printed[0] == printed[1]
    assert main(["pieces", str(book), "--tune", "kelp"]) == 2
    assert "`companion tunes " in capsys.readouterr().err


@pytest.mark.parametrize("command", ["buttons", "bellows", "basses", "ornaments", "pieces"])
def test_every_command_takes_the_voice_that_is_named(
    book: Path, command: str, capsys: pytest.CaptureFixture[str]
) -> None:
    said = []
    for voice in ("1", "2"):
        assert main([command, str(book), "--tune", "5", "--voice", voice]) == 0
        said.append(capsys.readouterr().out)
    assert said[0] != said[1] or command in ("ornaments", "pieces")
