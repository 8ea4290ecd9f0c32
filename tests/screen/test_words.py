"""The table of words: complete, and ready for another language."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from companion.errors import UserError
from companion.places import shipped
from companion.screen.actions import Action, load_keys
from companion.screen.card import CARD, key_words
from companion.screen.words import load_words

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
        assert key_words(words, action)
    for action in (action for row in CARD for action in row):
        assert words(f"card.{action.value}")


def test_plurals() -> None:
    words = load_words()
    assert words("hand_up", n=1) == "hand moves up 1 place"
    assert words("hand_up", n=2) == "hand moves up 2 places"


def test_another_language_falls_back_to_english(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    text = shipped("config", "words.toml").read_text(encoding="utf-8") + '\n[xx]\npush = "XX"\n'
    (tmp_path / "words.toml").write_text(text, encoding="utf-8")
    monkeypatch.setenv("BOX_COMPANION_CONFIG", str(tmp_path))
    load_words.cache_clear()
    try:
        words = load_words("xx")
        assert (words("push"), words("pull")) == ("XX", "PULL")
        with pytest.raises(UserError, match="choose one of en, xx"):
            load_words("yy")
    finally:
        load_words.cache_clear()


@pytest.mark.parametrize(
    "line", ['row = "{rwo}"', 'row = "{row"', 'row = "{}"', 'push = "{row}"', "hand_up.one = '{m}'"]
)
def test_a_value_that_there_is_not(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, line: str) -> None:
    (tmp_path / "words.toml").write_text(f'[xx]\npull = "XX"\n{line}\n', encoding="utf-8")
    monkeypatch.setenv("BOX_COMPANION_CONFIG", str(tmp_path))
    load_words.cache_clear()
    try:
        with pytest.raises(UserError, match=r"words\.toml:3:1: `.*` has a value in braces that there is not"):
            load_words("xx")
    finally:
        load_words.cache_clear()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (('pause = ["space", "b", "p"]', "pause = []"), "Give pause at least one key"),
        (('standin = ["s"]', 'standin = ["space"]'), "The key 'space' is given to"),
    ],
)
def test_a_broken_table_of_keys(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, change: tuple[str, str], said: str
) -> None:
    text = shipped("config", "keys.toml").read_text(encoding="utf-8")
    assert change[0] in text
    (tmp_path / "keys.toml").write_text(text.replace(*change), encoding="utf-8")
    monkeypatch.setenv("BOX_COMPANION_CONFIG", str(tmp_path))
    load_keys.cache_clear()
    try:
        with pytest.raises(UserError, match=said):
            load_keys()
    finally:
        load_keys.cache_clear()
