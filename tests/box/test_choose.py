"""Choosing: how hard a tune is on a box, which tunes come first, and which key a tune lies well in."""

from __future__ import annotations

from pathlib import Path

import pytest

from companion.box.box_values import Fingering
from companion.box.choose import (
    Choice,
    difficulty_of,
    fitting,
    keys_by_ease,
    rank,
    transposed,
    what_would_fit,
)
from companion.box.choose_table import read_choose
from companion.box.fingering import finger_round
from companion.box.layout import load_box
from companion.errors import UserError
from companion.tune.tune_values import OnceThrough
from tests.box.box_tunes import tune
from tests.shipped_tables import TABLES

BC = load_box("bc-21")
EASY = tune("G4*2 A4*2 | B4*2 A4*2 | G4*2 A4*2 | B4*2 A4*2")
HARD = tune("F#4 A4 D5 F#5 A5 F#5 D5 A4 | C#5 E5 A5 E5 C#5 A4 G4 E4 | D4 F#4 B4 F#5 E5 C#5 G#4 B4")


def ranked(
    tunes: list[tuple[tuple[int, int], str, OnceThrough, float | None]], level: str | None = None
) -> tuple[Choice, ...]:
    choices = []
    for key, title, round_, whole in tunes:
        fingering = finger_round(round_, BC, tables=TABLES)
        hard = None if fingering.missing else difficulty_of(round_, fingering, TABLES, whole)
        choices.append(Choice(key, title, hard, hard.reason if hard is not None else what_would_fit(round_, BC)))
    return rank(choices, TABLES.choose, level)


def test_common_practice_easy_comes_before_hard() -> None:
    found = ranked([((1, 0), "hard", HARD, None), ((2, 0), "easy", EASY, None), ((3, 0), "low", tune("F3*4"), None)])
    assert [choice.key for choice in found] == [(2, 0), (1, 0), (3, 0)]
    assert found[0].difficulty is not None
    assert found[0].difficulty.level == "first"
    assert found[0].reason == found[0].difficulty.reason
    assert "different buttons" in found[0].reason
    assert found[2].difficulty is None
    assert "no F3" in found[2].reason


def test_the_points_are_the_sum_of_their_parts() -> None:
    difficulty = difficulty_of(HARD, finger_round(HARD, BC, tables=TABLES), tables=TABLES)
    assert difficulty.points == pytest.approx(sum(points for _, points in difficulty.parts))
    assert dict(difficulty.parts)["buttons"] == pytest.approx(
        dict(TABLES.choose.points)["buttons"] * len({n.press for n in finger_round(HARD, BC, tables=TABLES).notes})
    )


def test_what_comes_back_counts_once() -> None:
    once, twice = tune("D4 E4 G4 A4"), tune("D4 E4 G4 A4 | D4 E4 G4 A4")
    parts = [
        dict(difficulty_of(r, finger_round(r, BC, tables=TABLES), tables=TABLES).parts)["length"] for r in (once, twice)
    ]
    assert parts[0] == parts[1]


def test_faster_is_harder() -> None:
    fingering = finger_round(HARD, BC, tables=TABLES)
    assert difficulty_of(HARD, fingering, TABLES, 1.0).points > difficulty_of(HARD, fingering, TABLES, 3.0).points


def test_a_level_and_an_unknown_one() -> None:
    tunes = [((1, 0), "hard", HARD, None), ((2, 0), "easy", EASY, None)]
    assert [choice.key for choice in ranked(tunes, "first")] == [(2, 0)]
    with pytest.raises(UserError, match="no level “expert”; choose one of first"):
        ranked(tunes, "expert")


def test_the_best_key_is_the_easiest_of_all_that_fit() -> None:
    found = keys_by_ease(HARD, BC, tables=TABLES)
    assert {t.semitones for t in found} == set(fitting(HARD, BC))
    points = [difficulty_of(transposed(HARD, t.semitones), t.fingering, tables=TABLES).points for t in found]
    assert points == sorted(points)
    assert all(t.fingering.playable for t in found)
    assert points[0] < difficulty_of(HARD, finger_round(HARD, BC, tables=TABLES), tables=TABLES).points


def test_common_practice_an_open_key_is_easier_on_bc() -> None:
    """A tune in E flat lies badly on a B/C; in its best key it needs fewer buttons off the C row."""
    flat = tune("D#4*2 F4 G4 | G#4 A#4 C5 D#5 | D#5 C5 A#4 G#4 | G4 F4 D#4*2")
    best = keys_by_ease(flat, BC, tables=TABLES)[0]

    def outer(fingering: Fingering) -> int:
        return sum(note.press.row == "B" for note in fingering.notes)

    assert outer(best.fingering) < outer(finger_round(flat, BC, tables=TABLES))


def test_what_would_fit_names_the_octave_or_the_key() -> None:
    assert what_would_fit(EASY, BC) == ""
    low = tune("D3*2 A3*2")
    assert "no D3" in what_would_fit(low, BC)
    assert "an octave up" in what_would_fit(low, BC)
    wide = tune("C2 C7")
    assert "no key within an octave" in what_would_fit(wide, BC)


def test_a_broken_table_is_told_its_line(tmp_path: Path) -> None:
    text = Path("config/choose.toml").read_text() if Path("config/choose.toml").is_file() else ""
    from companion import places

    text = text or places.shipped("config", "choose.toml").read_text()
    file = tmp_path / "choose.toml"
    file.write_text(text.replace("value = 6.0", 'value = "six"'))
    with pytest.raises(UserError, match=r"points\.little\.value") as caught:
        read_choose(file)
    assert caught.value.place is not None
    assert text.splitlines()[caught.value.place.line - 1] == "value = 6.0"
