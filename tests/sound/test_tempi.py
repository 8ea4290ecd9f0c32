"""The beat and the target of a tune, and what a player may type as a tempo."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from companion.errors import UserError
from companion.sound.tempi import dance_of, parse_tempo, read_dances, target_of
from companion.tune.tune_values import Meter, Tempo
from tests.shipped_tables import TABLES
from tests.sound.tunes import JIG, POLKA, REEL, WALTZ

DANCES = TABLES.dances

COMMON = Meter("4/4", Fraction(1), (Fraction(1, 4),) * 4)
LONG = Meter("6/4", Fraction(3, 2), (Fraction(3, 4),) * 2)
SLIP = Meter("9/8", Fraction(9, 8), (Fraction(3, 8),) * 3)


@pytest.mark.parametrize(
    ("rhythm", "meter", "bpm", "beat"),
    [
        # Published figures (config/tempi.toml names each): the dance's own beat, whatever the meter is written as.
        ("reel", REEL, 112, Fraction(1, 2)),
        ("Reel", COMMON, 112, Fraction(1, 2)),
        ("Double Jig", JIG, 116, Fraction(3, 8)),
        ("jigs", JIG, 116, Fraction(3, 8)),
        ("Slip Jig", SLIP, 118, Fraction(3, 8)),
        ("an old HORNPIPE", COMMON, 80, Fraction(1, 2)),
        ("polka", POLKA, 136, Fraction(1, 4)),
        ("Wáltz", WALTZ, 125, Fraction(1, 4)),
        ("reel", POLKA, 112, Fraction(1, 4)),
        ("march", JIG, 118, Fraction(3, 8)),
        ("", JIG, 100, Fraction(3, 8)),
        ("", REEL, 100, Fraction(1, 2)),
        ("something new", COMMON, 100, Fraction(1, 4)),
        ("", Meter("none", None, ()), 100, Fraction(1, 4)),
        ("", LONG, 50, Fraction(3, 4)),
        ("jig", LONG, 116, Fraction(3, 4)),
        # An air goes by the breath: as many quavers a minute in 6/8 as in 3/4.
        ("air", WALTZ, 66, Fraction(1, 4)),
        ("slow air", JIG, 44, Fraction(3, 8)),
        ("air", LONG, 22, Fraction(3, 4)),
    ],
)
def test_target(rhythm: str, meter: Meter, bpm: float, beat: Fraction) -> None:
    assert target_of(rhythm, meter, DANCES) == (bpm, beat)


def test_what_is_written_comes_first() -> None:
    assert target_of("reel", COMMON, DANCES, Tempo(Fraction(1, 4), 180)) == (180, Fraction(1, 4))
    assert target_of("jig", JIG, DANCES, Tempo(Fraction(1, 8), 300)) == (100, Fraction(3, 8))
    assert target_of("jig", JIG, DANCES, Tempo(Fraction(3, 8), 0)) == (116, Fraction(3, 8))


def test_every_entry_has_a_source_and_stands_between_its_bounds() -> None:
    assert len(DANCES) > 12
    for dance in DANCES:
        assert dance.source
        assert dance.low <= dance.bpm <= dance.high
    assert dance_of("slip jig", DANCES) is not None
    assert dance_of("nothing known", DANCES) is None


def test_a_share_or_beats() -> None:
    assert parse_tempo("60%", 110) == pytest.approx(66)
    assert parse_tempo(" 90 ", 110) == 90
    assert parse_tempo("72,5 bpm", 110) == 72.5


@pytest.mark.parametrize("text", ["", "fast", "19%", "151%", "5", "401", "-60", "nan", "1e9", "60 %%", "٦٠%"])
def test_what_is_no_tempo(text: str) -> None:
    with pytest.raises(UserError):
        parse_tempo(text, 110)


def test_a_table_of_the_player_s_own(tmp_path: Path) -> None:
    file = tmp_path / "tempi.toml"
    file.write_text('[reel]\nbpm = 90\nbeat = "1/2"\nnames = ["reel"]\n', encoding="utf-8")
    assert target_of("reel", REEL, read_dances(file)) == (90, Fraction(1, 2))
    for broken in ("[reel", '[reel]\nbpm = "x"\nbeat = "1/2"', '[reel]\nbpm = 90\nbeat = "1/0"', "reel = 3"):
        file.write_text(broken, encoding="utf-8")
        with pytest.raises(UserError):
            read_dances(file)
