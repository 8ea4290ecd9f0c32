"""The table of words: complete, and ready for another language."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from companion.errors import UserError
from companion.places import shipped
from companion.screen.actions import Action, load_keys
from companion.screen.words import load_words, spoken_piece, stored_piece

CODE = Path(__file__).parents[2] / "companion"


def test_every_word_that_is_asked_for_is_there() -> None:
    entries = load_words().entries
    keys = {re.sub(r"\.(one|other)$", "", key) for key in entries}
    code = "\n".join(
        path.read_text(encoding="utf-8") for room in ("screen", "session") for path in (CODE / room).glob("*.py")
    )
    asked = set(re.findall(r'words\("([a-z_.]+)"[,)]', code))
    assert len(asked) > 25
    assert asked - keys == set()


def test_every_action_has_words_and_a_key() -> None:
    words = load_words()
    for action in Action:
        assert words(f"do.{action.value}")
        assert load_keys()[action]
        assert words(f"card.{action.value}")


def test_plurals() -> None:
    words = load_words()
    assert words("hand_up", n=1) == "hand up 1 button"
    assert words("hand_up", n=2) == "hand up 2 buttons"


def test_a_sentence_begins_with_a_capital_whatever_comes_first() -> None:
    words = load_words()
    best = {"bpm": 94, "beat": "crotchet"}
    assert words("gained_best", piece="round", **best).startswith("Whole tune: clean up to 94")
    assert words("piece_bars", n=1, piece="round", first=3) == "whole tune · bar 3"  # no sentence


@pytest.mark.parametrize(
    ("stored", "spoken"),
    [
        ("round", "whole tune"),
        ("round, twice", "whole tune, twice"),
        ("A phrase 1 into 2", "A phrase 1 into phrase 2"),
        ("B bar 15 into 16", "B bar 15 into bar 16"),
        ("A into B", "A into B"),
        ("A bar 8, time 2", "A bar 8, time 2"),
    ],
)
def test_a_piece_is_read_in_plain_words_and_typed_back(stored: str, spoken: str) -> None:
    assert spoken_piece(stored) == spoken
    assert spoken_piece(spoken) == spoken
    assert stored_piece(spoken) == stored_piece(stored) == stored


def test_another_language_falls_back_to_english(own_table: Callable[[str, str], Path]) -> None:
    text = shipped("config", "words.toml").read_text(encoding="utf-8") + '\n[xx]\npush = "XX"\n'
    own_table("words.toml", text)
    words = load_words("xx")
    assert (words("push"), words("pull")) == ("XX", "PULL")
    with pytest.raises(UserError, match="choose one of en, xx"):
        load_words("yy")


@pytest.mark.parametrize(
    "line", ['row = "{rwo}"', 'row = "{row"', 'row = "{}"', 'push = "{row}"', "hand_up.one = '{m}'"]
)
def test_a_value_that_there_is_not(own_table: Callable[[str, str], Path], line: str) -> None:
    own_table("words.toml", f'[xx]\npull = "XX"\n{line}\n')
    with pytest.raises(UserError, match=r"words\.toml:3:1: `.*` has a value in braces that does not exist"):
        load_words("xx")


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (('pause = ["space", "b", "p"]', "pause = []"), "Give pause at least one key"),
        (('standin = ["s"]', 'standin = ["space"]'), "The key 'space' is given to"),
        (
            ('standin = ["s"]', 'standin = ["5"]'),
            r"keys\.toml:\d+:\d+: .*The key '5' is given to standin, but figures choose a bar; use another key\.",
        ),
    ],
)
def test_a_broken_table_of_keys(own_table: Callable[[str, str], Path], change: tuple[str, str], said: str) -> None:
    text = shipped("config", "keys.toml").read_text(encoding="utf-8")
    assert change[0] in text
    own_table("keys.toml", text.replace(*change))
    with pytest.raises(UserError, match=said):
        load_keys()
