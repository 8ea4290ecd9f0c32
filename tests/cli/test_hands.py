"""The hands: chosen by name, by a lesson file, side by side, and learnt from a tutor's own fingers."""

from __future__ import annotations

import json
import random
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from companion.box.fingering import finger_round
from companion.box.hand_costs import PLAIN
from companion.box.layout import load_box
from companion.cli.main import main
from companion.notation import read_book
from companion.places import own_config, shipped
from companion.tables import hand_names, load_hand
from companion.tune.unfold import unfold
from tests.shipped_tables import TABLES

BOOK = str(shipped("demo_tunes", "tanners_quay.abc"))
TUNES = (
    "D E ^F G A B ^c d | ^c B A G ^F E D2 | G B d g d B G B | A ^F D ^F D4",
    "G A B G d B A G | E ^F G E D4 | d e ^f g a g ^f e | d B A B d4",
    "E G B G e B G B | A ^F D ^F A4 | G B d B G B d g | ^f d A d ^f4",
)


def book(path: Path, fingers: Callable[[int, int], int | None]) -> Path:
    """The tunes as ABC, with the finger that `fingers` gives for each tune and note."""
    lines = []
    for number, words in enumerate(TUNES):
        lines += [f"X:{number + 1}", f"T:Tune {number + 1}", "M:4/4", "L:1/8", "K:C"]
        at = -1
        notes = []
        for word in words.split():
            if word != "|":
                at += 1
                finger = fingers(number, at)
                word = word if finger is None else f"!{finger}!{word}"
            notes.append(word)
        lines += [" ".join(notes) + " |", ""]
    path.write_text("\n".join(lines), encoding="utf-8")
    return path


def said(capsys: pytest.CaptureFixture[str], *words: str, fails: int = 0) -> str:
    assert main(list(words)) == fails
    out, err = capsys.readouterr()
    return err if fails else out


def fingers(capsys: pytest.CaptureFixture[str], *words: str) -> list[int]:
    return [note["finger"] for note in json.loads(said(capsys, "buttons", *words, "--json"))["notes"]]


def test_there_are_two_hands_and_each_says_only_where_it_differs() -> None:
    assert hand_names() == (PLAIN, "flowing")
    plain, flowing = load_hand(), load_hand("flowing")
    assert plain == TABLES.hand
    assert flowing.turn > plain.turn
    assert (flowing.place, flowing.little, flowing.quick) == (plain.place, plain.little, plain.quick)


def test_the_flowing_hand_turns_the_bellows_less() -> None:
    turns = {PLAIN: 0, "flowing": 0}
    for tune in read_book(Path(BOOK)).tunes:
        for name in turns:
            tables = replace(TABLES, hand=load_hand(name))
            turns[name] += finger_round(unfold(tune), load_box("bc-21"), tables).reversals
    assert turns["flowing"] < turns[PLAIN]


def test_a_hand_is_named_or_is_in_the_lesson_file(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    own = tmp_path / "book.abc"
    own.write_text(Path(BOOK).read_text(encoding="utf-8"), encoding="utf-8")
    plain, flowing = (fingers(capsys, str(own), "--tune", "3", "--hand", hand) for hand in (PLAIN, "flowing"))
    assert plain != flowing
    assert fingers(capsys, str(own), "--tune", "3") == plain
    lesson = tmp_path / "book.lesson.toml"
    lesson.write_text('[[lesson]]\ntune = 3\nhand = "flowing"\n', encoding="utf-8")
    assert fingers(capsys, str(own), "--tune", "3") == flowing
    assert fingers(capsys, str(own), "--tune", "3", "--hand", PLAIN) == plain
    lesson.write_text('[[lesson]]\nhand = "left"\n', encoding="utf-8")
    refused = said(capsys, "buttons", str(own), fails=2)
    assert "book.lesson.toml:2" in refused
    assert "there is no hand “left”" in refused


def test_two_hands_side_by_side(capsys: pytest.CaptureFixture[str]) -> None:
    told = said(capsys, "buttons", BOOK, "--tune", "1", "--beside")
    assert "plain" in told
    assert "flowing" in told
    assert "of 104 notes are fingered otherwise" in told
    assert "finger it alike" in said(capsys, "buttons", BOOK, "--tune", "1", "--beside", PLAIN)
    assert "there is no hand “odd”" in said(capsys, "buttons", BOOK, "--beside", "odd", fails=2)


def test_why_stays_on_a_screen(capsys: pytest.CaptureFixture[str]) -> None:
    few = said(capsys, "buttons", BOOK, "--tune", "3", "--explain")
    every = said(capsys, "buttons", BOOK, "--tune", "3", "--explain", "--all")
    told = [text.count("; the next best") + text.count("would cost") for text in (few, every)]
    assert 0 < told[0] < told[1]


def test_a_tutors_own_hand_is_learnt_told_and_used(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    hidden = replace(TABLES.hand, little=5.0)
    bare = book(tmp_path / "bare.abc", lambda *_: None)
    rounds = [unfold(tune) for tune in read_book(bare).tunes]
    ways = [finger_round(round_, load_box("bc-21"), replace(TABLES, hand=hidden)).notes for round_ in rounds]
    fingered = book(tmp_path / "fingered.abc", lambda tune, note: ways[tune][note].finger)
    told = said(capsys, "buttons", "--learn", str(fingered), "--name", "ann")
    assert "Your little finger plays less than with our plain hand" in told
    assert "Kept as the hand “ann”" in told
    assert "ann" in hand_names()
    got = fingers(capsys, str(bare), "--hand", "ann")
    agree = [one == two.finger for one, two in zip(got, ways[0], strict=True)]
    assert sum(agree) >= 0.95 * len(agree)


def test_fingers_at_random_teach_nothing(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    rng = random.Random(1)
    path = book(tmp_path / "random.abc", lambda *_: rng.randint(1, 4))
    assert "do not fit together" in said(capsys, "buttons", "--learn", str(path), fails=2)
    assert not (own_config() / "hands").exists()


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (["--learn", BOOK], "no tune of these books says how it is to be fingered"),
        (["--learn", BOOK, "--name", "plain"], "cannot be the name of your hand"),
        (["--learn", BOOK, "--name", "../x"], "cannot be the name of your hand"),
        (["--learn", "nowhere.abc"], "nowhere.abc"),
        ([BOOK, "--hand", "odd"], "there is no hand “odd”; there are: plain, flowing"),
    ],
)
def test_what_cannot_be_is_said(capsys: pytest.CaptureFixture[str], words: list[str], why: str) -> None:
    assert why in said(capsys, "buttons", *words, fails=2)


@pytest.mark.parametrize("text", ["costs = 3\n", "time = []\n", "costs.little = 3\n", "parent = 3\n", "odd = 1\n"])
def test_a_hand_that_is_no_table_of_costs_is_refused(
    capsys: pytest.CaptureFixture[str], own_table: Callable[..., Path], text: str
) -> None:
    own_table("hands/one.toml", text)
    assert "one.toml:1" in said(capsys, "buttons", BOOK, "--hand", "one", fails=2)


def test_a_hand_cannot_be_its_own_parent(capsys: pytest.CaptureFixture[str], own_table: Callable[..., Path]) -> None:
    own_table("hands/one.toml", 'parent = "two"\n')
    own_table("hands/two.toml", 'parent = "one"\n')
    assert "cannot be its parent" in said(capsys, "buttons", BOOK, "--hand", "one", fails=2)
