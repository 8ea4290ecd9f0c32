"""Layouts: the check values of the trade, and what a broken file is told."""

from __future__ import annotations

from pathlib import Path

import pytest

from companion.box.box_values import Bellows, Press
from companion.box.layout import box_names, load_box
from companion.box.pitch_names import name_of, pitch_of
from companion.errors import UserError

# Common practice (and the key chart at tomscarff.tripod.com/melodeon/key_BC.htm for the 21-button box): the low D is
# the third button of the C row on a 21-button B/C, the fourth on a 23-button.
LADDER = [
    (0, "pull", "D4"),
    (1, "push", "E4"),
    (2, "push", "G4"),
    (2, "pull", "A4"),
    (3, "pull", "B4"),
    (4, "push", "E5"),
    (4, "pull", "D5"),
]


@pytest.mark.parametrize(("box", "low_d"), [("bc-21", 3), ("bc-23", 4)])
@pytest.mark.parametrize(("above", "bellows", "name"), LADDER)
def test_the_ladder_of_the_c_row(box: str, low_d: int, above: int, bellows: str, name: str) -> None:
    assert load_box(box).pitch(Press("C", low_d + above, Bellows(bellows))) == pitch_of(name)


# The key chart's MIDI numbers, tomscarff.tripod.com/melodeon/key_BC.htm.
CHART = {
    ("B", "push"): [51, 54, 59, 63, 66, 71, 75, 78, 83, 87, 90],
    ("B", "pull"): [56, 58, 61, 64, 68, 70, 73, 76, 80, 82, 85],
    ("C", "push"): [52, 55, 60, 64, 67, 72, 76, 79, 84, 88],
    ("C", "pull"): [57, 59, 62, 65, 69, 71, 74, 77, 81, 83],
}


@pytest.mark.parametrize(("row", "bellows"), CHART)
def test_bc_21_is_as_charted(row: str, bellows: str) -> None:
    rows = {r.name: r for r in load_box("bc-21").rows}
    assert list(getattr(rows[row], bellows)) == CHART[row, bellows]


@pytest.mark.parametrize("name", ["bc-21", "bc-23", "csd-21", "csd-23", "dg-21", "d-10"])
def test_a_row_pushes_its_tonic_triad(name: str) -> None:
    """Rule of thesession.org discussion 21675: the push repeats the tonic triad of the row."""
    for row in load_box(name).rows:
        tonic = pitch_of(f"{row.name}4") % 12
        assert {(p - tonic) % 12 for p in row.push if p is not None} == {0, 4, 7}


@pytest.mark.parametrize(("small", "large"), [("bc-21", "bc-23"), ("csd-21", "csd-23")])
def test_the_larger_box_adds_one_low_button_a_row(small: str, large: str) -> None:
    for less, more in zip(load_box(small).rows, load_box(large).rows, strict=True):
        assert more.push[1:] == less.push
        assert more.pull[1:] == less.pull
        assert more.push[0] is not None
        assert less.push[0] is not None
        assert more.push[0] < less.push[0]


def test_csd_is_bc_a_tone_higher() -> None:
    """C sharp is two semitones above B, and D above C."""
    for bc, csd in zip(load_box("bc-21").rows, load_box("csd-21").rows, strict=True):
        assert [p + 2 for p in bc.push if p is not None] == list(csd.push)


# What trade sources say is on both directions: E and B on a B/C, F sharp and C sharp on a C sharp/D
# (hspeek.home.xs4all.nl/irishbox/finger.html).
@pytest.mark.parametrize(("box", "doubled"), [("bc-21", {"E", "B"}), ("bc-23", {"E", "B"}), ("csd-21", {"F#", "C#"})])
def test_doubled_notes(box: str, doubled: set[str]) -> None:
    rows = load_box(box).rows
    push = {p for row in rows for p in row.push}
    pull = {p for row in rows for p in row.pull}
    assert {name_of(p, octave=False) for p in push & pull if p is not None} == doubled


def test_basses_of_the_usual_set() -> None:
    """hspeek.home.xs4all.nl/irishbox/basses.html: G/D, E/A, C/G, C/F."""
    box = load_box("bc-21")
    assert [(b.push, b.pull) for b in box.basses if b.kind == "bass"] == [
        ("G", "D"),
        ("E", "A"),
        ("C", "G"),
        ("C", "F"),
    ]
    assert all(len(b.push_pitches) == 3 for b in box.basses if b.kind == "chord")


def test_an_unknown_box_lists_those_there_are() -> None:
    with pytest.raises(UserError, match=r"no box “bc-99”.*bc-21.*d-10"):
        load_box("bc-99")


def test_the_players_own_file_stands_in_and_names_its_parent(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "boxes").mkdir()
    (tmp_path / "boxes" / "mine.toml").write_text(
        'parent = "bc-21"\n[[reeds]]\nrow = "B"\nbutton = 1\npush = "G3"\npull = "-"\n'
    )
    monkeypatch.setenv("BOX_COMPANION_CONFIG", str(tmp_path))
    assert "mine" in box_names()
    box, parent = load_box("mine"), load_box("bc-21")
    assert box.pitch(Press("B", 1, Bellows.PUSH)) == pitch_of("G3")
    assert box.pitch(Press("B", 1, Bellows.PULL)) is None
    assert box.rows[1] == parent.rows[1]
    assert box.basses == parent.basses


GOOD = """name = "Test"
source = "made up"
[[rows]]
name = "C"
offset = 0.5
push = ["C4",
        "E4"]
pull = ["D4", "F4"]
"""

BROKEN = [
    ("name", 'name = "Test"', "name = 3", 1, "must be words"),
    ("syntax", 'name = "C"', "name = C", 4, "not valid TOML"),
    ("note", '"E4"', '"H4"', 6, "value 2 of `rows.push`: “H4” is no note name"),
    ("number", '"E4"', "64", 6, "value 2 of `rows.push`: 64 is no note"),
    ("range", '"E4"', '"E12"', 6, "value 2 of `rows.push`: .*no note name"),
    ("length", '["D4", "F4"]', '["D4"]', 8, "2 push notes and 1 pull"),
    ("offset", "0.5", "0.3", 5, "`offset` must be"),
    ("key", "offset", "ofset", 5, "`ofset` is not known"),
    ("source", 'source = "made up"\n', "", 1, "`source` is missing"),
    (
        "twice",
        'pull = ["D4", "F4"]\n',
        'pull = ["D4", "F4"]\n[[rows]]\nname = "C"\npush=["C4"]\npull=["D4"]\n',
        10,
        "two rows are called",
    ),
    ("basses", 'pull = ["D4", "F4"]\n', 'pull = ["D4", "F4"]\n[[basses]]\nkind = "drone"\n', 10, "it must be"),
    ("reeds", 'pull = ["D4", "F4"]\n', 'pull = ["D4", "F4"]\n[[reeds]]\nrow = "C"\nbutton = 1\n', 9, "none is named"),
]


@pytest.mark.parametrize(("old", "new", "line", "words"), [b[1:] for b in BROKEN], ids=[b[0] for b in BROKEN])
def test_a_broken_file_is_told_its_line(tmp_path: Path, old: str, new: str, line: int, words: str) -> None:
    file = tmp_path / "broken.toml"
    assert old in GOOD
    file.write_text(GOOD.replace(old, new))
    with pytest.raises(UserError, match=words) as caught:
        load_box(str(file))
    assert caught.value.place is not None
    assert (caught.value.place.file, caught.value.place.line) == (file, line)


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ('parent = "bc-99"\n', 1, "parent cannot be found"),
        ('name = "x"\nparent = "loop.toml"\n', 2, "parent"),
        ('parent = "bc-21"\n[[reeds]]\nrow = "D"\nbutton = 1\npush = "C4"\n', 3, "no row “D”"),
        ('parent = "bc-21"\n[[reeds]]\nrow = "C"\nbutton = 11\npush = "C4"\n', 4, "1 to 10"),
        ('parent = "bc-21"\n[[reeds]]\nrow = "C"\nbutton = 1\n', 4, "changes nothing"),
    ],
)
def test_a_broken_child_is_told_its_line(tmp_path: Path, text: str, line: int, words: str) -> None:
    file = tmp_path / "loop.toml"
    file.write_text(text)
    with pytest.raises(UserError, match=words) as caught:
        load_box(str(file))
    assert caught.value.place is not None
    assert caught.value.place.line == line


def test_files_that_are_no_text_or_not_there(tmp_path: Path) -> None:
    (tmp_path / "b.toml").write_bytes(b"\xff\xfe\x00\x01")
    for name, words in [("b.toml", "UTF-8"), ("gone.toml", "no such layout file"), (".", "folder")]:
        with pytest.raises(UserError, match=words):
            load_box(f"{tmp_path}/{name}")


@pytest.mark.parametrize(
    ("name", "pitch"), [("C4", 60), ("Bb3", 58), ("C♯5", 73), ("Cb4", 59), ("B-1", 11), ("g9", 127)]
)
def test_note_names(name: str, pitch: int) -> None:
    assert pitch_of(name) == pitch


@pytest.mark.parametrize(
    ("signature", "names"),
    [
        ("", "C# D# F# G# A#"),
        ("F1 C1", "C# D# F# G# A#"),  # D: what lies between has sharps
        ("F1", "C# D# F# G# Bb"),  # G: the flattened third is Bb
        ("B-1", "C# Eb F# Ab Bb"),  # D minor, its leading note C#
        ("B-1 E-1", "Db Eb F# Ab Bb"),  # G minor, its leading note F#
        ("B-1 E-1 A-1 D-1", "Db Eb Gb Ab Bb"),
    ],
)
def test_a_black_note_is_called_as_the_key_calls_it(signature: str, names: str) -> None:
    key = [(one[0], int(one[1:])) for one in signature.split()]
    assert [name_of(pitch, False, key) for pitch in (61, 63, 66, 68, 70)] == names.split()
    assert all(pitch_of(name_of(pitch, True, key)) == pitch for pitch in range(128))


@pytest.mark.parametrize("name", ["", "H4", "C", "C#", "4", "G#9", "Cb-1", "C##4"])
def test_what_is_no_note_name(name: str) -> None:
    with pytest.raises(ValueError, match=r"no note name|outside"):
        pitch_of(name)


@pytest.mark.parametrize(
    ("called", "box"),
    [
        ("B/C", "bc-21"), ("bc", "bc-21"), ("C#/D", "csd-21"), ("C♯/D 23", "csd-23"), ("cd-21", "csd-21"),
        ("D/G", "dg-21"), ("dg", "dg-21"), ("D", "d-10"), ("BC-23", "bc-23"),
    ],
)  # fmt: skip
def test_a_box_is_known_by_what_players_call_it(called: str, box: str) -> None:
    assert load_box(called).id == box


@pytest.mark.parametrize("called", ["G/C", "b/c-22", "none/bc.toml", "/"])
def test_a_box_that_is_not_there_is_not_guessed(called: str) -> None:
    with pytest.raises(UserError):
        load_box(called)
