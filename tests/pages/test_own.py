"""The player's own choices: kept whole, read back, and a broken file said in a sentence."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from companion.errors import UserError
from companion.pages.books_at_hand import books_at_hand, demo_book, remember
from companion.pages.player_choices import PlayerChoices, calm_wait, keep_changes, keep_own, load_choices
from companion.screen.look import Facing, Look


def test_what_was_chosen_comes_back() -> None:
    assert load_choices() == PlayerChoices()
    own = PlayerChoices(
        "csd-23",
        "flowing",
        'Lautsprecher "Küche" \\ 2',
        70,
        12.0,
        "light",
        1.15,
        "pupil",
        True,
        True,
        by_ear=True,
        names=True,
        staff=True,
    )
    path = keep_own(own)
    assert load_choices() == own
    assert own.look == Look(Facing.PUPIL, True, 1.15, True, names=True, staff=True)
    assert [one.name for one in path.parent.iterdir()] == ["settings.toml"]
    keep_own(replace(own, level=10))
    assert load_choices().level == 10


def test_what_the_file_leaves_out_is_as_it_comes() -> None:
    path = keep_own(PlayerChoices())
    path.write_text("level = 50\ntext = 1\nsomething = 3\n", encoding="utf-8")
    assert load_choices() == replace(PlayerChoices(), level=50)


@pytest.mark.parametrize(
    "text",
    [
        "level = 500",
        'level = "loud"',
        "box = 3",
        "wait = 1000.0",
        'facing = "away"',
        "left_handed = 1",
        "a = [",
        "\x00",
    ],
)
def test_a_broken_file_is_said_in_a_sentence(text: str) -> None:
    path = keep_own(PlayerChoices())
    path.write_text(text, encoding="utf-8")
    with pytest.raises(UserError, match="correct it") as why:
        load_choices()
    assert why.value.place is not None
    assert why.value.place.file == path


def test_half_of_the_level_is_a_quarter_of_the_amplitude() -> None:
    assert PlayerChoices(level=100).loudness == 1.0
    assert PlayerChoices(level=50).loudness == pytest.approx(0.25)


def test_the_wait_is_the_tables_unless_it_was_chosen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert PlayerChoices().calm_wait == calm_wait() > 0
    assert PlayerChoices(wait=0.0).calm_wait == 0.0
    (tmp_path / "window.toml").write_text("[calm]\nwait = -3\n", encoding="utf-8")
    monkeypatch.setenv("BOX_COMPANION_CONFIG", str(tmp_path))
    with pytest.raises(UserError, match=r"window\.toml:2:1: `calm\.wait` must be a number from 0 to 120"):
        calm_wait()


def test_the_books_at_hand_are_those_used_last(tmp_path: Path) -> None:
    one, other, gone = (tmp_path / name for name in ("one.abc", "other.abc", "gone.abc"))
    for book in (one, other, gone):
        book.write_text("X:1\n", encoding="utf-8")
        remember(book)
    remember(one)
    remember(demo_book())
    gone.unlink()
    assert books_at_hand() == (one.resolve(), other.resolve(), demo_book().resolve())


def test_of_two_windows_the_last_change_of_each_setting_wins_and_no_other_is_lost() -> None:
    """Both were opened on the same file; what one has changed the other does not write back."""
    keep_own(PlayerChoices())
    first, second = load_choices(), load_choices()
    keep_changes(first, replace(first, level=40, theme="light"))
    keep_changes(second, replace(second, box="dg-21"))
    assert load_choices() == replace(PlayerChoices(), level=40, theme="light", box="dg-21")
    keep_changes(second, replace(second, level=70))
    assert load_choices() == replace(PlayerChoices(), level=70, theme="light", box="dg-21")


def test_what_was_not_changed_is_not_written() -> None:
    path = keep_own(PlayerChoices(level=30))
    before = path.stat().st_mtime_ns
    keep_changes(PlayerChoices(), PlayerChoices())
    assert path.stat().st_mtime_ns == before
