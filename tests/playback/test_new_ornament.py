"""An ornament of a player's own is one row of `config/ornaments.toml`: read, written, fingered, sounded and heard."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import pytest

from companion.box.fingering import finger_round
from companion.box.layout import load_box
from companion.box.ornaments import ornament_of, scale_of
from companion.lesson.pieces import cut, piece_named
from companion.lesson.stretch import stretch_of
from companion.marking.asking import asked_of
from companion.marking.mark_values import Heard, Verdict
from companion.marking.marks import mark
from companion.notation import read_tune
from companion.notation.abc_reader import read_abc
from companion.notation.abc_writer import write_abc
from companion.notation.musicxml_reader import read_musicxml
from companion.notation.musicxml_writer import write_musicxml
from companion.places import shipped
from companion.playback.round_maker import RoundMaker, SoundWish
from companion.practice.round_plan import TuneInHand
from companion.sound.score import SoundVoice
from companion.sound.sound_settings import sound_settings
from companion.tables import read_tables
from companion.timeline import Timeline
from companion.tune.ornament_signs import SIGNS
from companion.tune.tune import Tune
from companion.tune.unfold import unfold

ROW = """
["slow shake"]
notes = "N U N"
names = ["slow shake"]
means = "the note twice, the second opened by a cut"
"""
BEAT = Fraction(3, 8)


@pytest.fixture
def shaken(own_table: Callable[[str, str], Path], tmp_path: Path) -> Tune:
    """A long A with the new ornament, as a player's own table and book have it."""
    own_table("ornaments.toml", shipped("config", "ornaments.toml").read_text(encoding="utf-8") + ROW)
    book = tmp_path / "shaken.abc"
    book.write_text("X:1\nT:Shaken\nM:6/8\nL:1/8\nK:D\n!slowshake!A6|d3 d3|\n", encoding="utf-8")
    return read_tune(book, ornaments=read_tables().ornaments.names)


def test_it_is_read_from_abc_and_from_musicxml_as_it_is_written(shaken: Tune) -> None:
    assert shaken.problems == ()
    assert shaken.notes[0].ornaments == ("slow shake",)
    assert read_musicxml(write_musicxml(shaken).encode()).tunes[0].notes[0].ornaments == ("slow shake",)
    written = write_abc(shaken)
    assert read_abc(written, ornaments=read_tables().ornaments.names).tunes[0].notes[0].ornaments == ("slow shake",)
    (problem,) = read_abc(written).tunes[0].problems
    assert "“slowshake” is not known" in problem.message


def test_it_is_fingered_sounded_and_heard(shaken: Tune) -> None:
    round_ = unfold(shaken)
    fingering = finger_round(round_, load_box("bc-21"), tables=read_tables())
    (played,) = ornament_of(
        fingering.notes[0], fingering.box, scale_of(shaken.key.signature), table=read_tables().ornaments
    )
    assert [touch.role for touch in played.touches] == ["N", "U", "N"]
    upper = played.touches[1].pitch

    rounds = RoundMaker(
        TuneInHand(
            "",
            round_,
            fingering,
            shaken.meter,
            shaken.key,
            BEAT,
            100.0,
            marking=read_tables().marks,
            ornaments=read_tables().ornaments,
        ),
        sound_settings(),
    )
    piece = piece_named(cut(round_, fingering.notes, rules=read_tables().lesson), None)
    passage = rounds.made(SoundWish(piece, 60.0), 0)
    assert passage is not None
    tones = [tone for tone in passage.tones if tone.voice is SoundVoice.MELODY and tone.index == 0]
    assert [tone.pitch for tone in tones] == [69, upper, 69]

    # Played so slowly that only the sign on the note makes it an ornament.
    heard = [Heard(at, pitch, end=at + 0.3) for at, pitch in ((0, 69), (0.6, upper), (1.0, 69), (2, 74), (3, 74))]
    asked = asked_of(stretch_of(round_, 0, 2, shaken.meter, BEAT))
    marks = mark(asked, heard, timeline=Timeline(60.0, BEAT), fingering=fingering, rules=read_tables().marks)
    right, added = Verdict.RIGHT, Verdict.ORNAMENT
    assert [note.verdict for note in marks.notes] == [right, added, added, right, right]


def test_every_sign_that_a_format_writes_its_own_way_is_played() -> None:
    assert {sign.name for sign in SIGNS} == set(read_tables().ornaments.names)
