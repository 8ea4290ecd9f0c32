"""Where the bars of a MIDI file begin: whole empty bars at the front are left out, in every meter."""

from __future__ import annotations

import io
from collections.abc import Sequence
from fractions import Fraction

import mido
import pytest

from companion.notation.abc_reader import read_abc
from companion.notation.midi_reader import read_midi
from companion.notation.midi_writer import midi_bytes
from companion.tune.tune import Tune
from companion.tune.unfold import unfold

CROTCHET = 480
METERS = [(2, 4), (3, 4), (6, 8), (9, 8), (4, 4)]
QUAVER = Fraction(1, 8)
Sign = tuple[Fraction, int, int]  # from where on, in whole notes, and the meter


def a_file(signs: Sequence[Sign], notes: Sequence[tuple[Fraction, Fraction]], early: int = 0) -> Tune:
    """A file whose notes (place, length in whole notes) rise from 62, the first `early` ticks too early, read."""

    def ticks(place: Fraction) -> int:
        return int(place * 4 * CROTCHET)

    events = [
        (ticks(at), 0, mido.MetaMessage("time_signature", numerator=above, denominator=below))
        for at, above, below in signs
    ]
    for number, (at, length) in enumerate(notes):
        on = ticks(at) - (early if number == 0 else 0)
        events.append((on, 2, mido.Message("note_on", note=62 + number, velocity=70)))
        events.append((ticks(at + length), 1, mido.Message("note_off", note=62 + number)))
    track = mido.MidiTrack()
    now = 0
    for at, _, message in sorted(events, key=lambda one: one[:2]):
        track.append(message.copy(time=at - now))
        now = at
    song = mido.MidiFile(ticks_per_beat=CROTCHET)
    song.tracks.append(track)
    out = io.BytesIO()
    song.save(file=out)
    return read_midi(out.getvalue()).tunes[0]


def places(tune: Tune) -> list[Fraction]:
    return [note.at for note in unfold(tune).notes]


@pytest.mark.parametrize("empty", range(5))
@pytest.mark.parametrize("pickup", [Fraction(0), QUAVER, Fraction(1, 4)], ids=["none", "a quaver", "a crotchet"])
@pytest.mark.parametrize(("above", "below"), METERS)
def test_empty_bars_are_left_out(above: int, below: int, pickup: Fraction, empty: int) -> None:
    bar = Fraction(above, below)
    # A pick-up stands at the end of a bar of its own, which begins with a rest.
    lead = bar - pickup if pickup else Fraction(0)
    notes = [(empty * bar + lead + n * QUAVER, QUAVER) for n in range(int(2 * bar / QUAVER))]
    tune = a_file([(Fraction(0), above, below)], notes)
    assert tune.meter.bar == bar
    assert places(tune) == [at - empty * bar for at, _ in notes]
    # Each bar's first quaver is in a new bar.
    bars = [note.bar for note in tune.notes]
    firsts = [n for n in range(1, len(bars)) if bars[n] != bars[n - 1]]
    assert [(lead + n * QUAVER) % bar for n in firsts] == [0] * len(firsts)
    assert len(firsts) == (2 if pickup else 1)
    assert not tune.problems


@pytest.mark.parametrize("empty", range(5))
@pytest.mark.parametrize(("above", "below"), METERS)
def test_our_own_files_come_back_with_their_bars(above: int, below: int, empty: int) -> None:
    quavers = int(Fraction(above, below) / QUAVER)
    head = f"X:1\nT:Slow Wicket\nM:{above}/{below}\nL:1/8\nK:D\n"
    bars = "|".join("DEFGABcde"[:quavers] for _ in range(2)) + f"|z2{'ABcdefg'[: quavers - 2]}|"
    rests = f"Z{empty}|" if empty else ""
    again = read_midi(midi_bytes(read_abc(head + rests + bars + "\n").tunes[0])).tunes[0]
    plain = read_abc(head + bars + "\n").tunes[0]
    assert [(n.bar, n.at, n.length, n.pitch) for n in unfold(again).notes] == [
        (n.bar, n.at, n.length, n.pitch) for n in unfold(plain).notes
    ]


@pytest.mark.parametrize("empty", range(3))
@pytest.mark.parametrize(("above", "below"), METERS)
def test_a_rest_at_the_front_of_the_first_bar_stays(above: int, below: int, empty: int) -> None:
    bar = Fraction(above, below)
    notes = [(empty * bar + QUAVER, QUAVER), (empty * bar + bar, Fraction(1, 4))]
    tune = a_file([(Fraction(0), above, below)], notes)
    assert places(tune) == [QUAVER, bar]
    assert tune.notes[0].bar != tune.notes[1].bar


def test_the_meter_that_counts_is_the_one_in_force_at_the_first_note() -> None:
    # Two bars of 4/4, then two empty bars of 6/8 and a pick-up.
    change, bar = Fraction(2), Fraction(6, 8)
    notes = [(change + 2 * bar + 5 * QUAVER + n * QUAVER, QUAVER) for n in range(7)]
    tune = a_file([(Fraction(0), 4, 4), (change, 6, 8)], notes)
    assert tune.meter.text == "6/8"
    assert places(tune) == [(5 + n) * QUAVER for n in range(7)]
    assert not tune.problems


def test_a_meter_begins_with_a_bar_even_where_the_one_before_is_cut_short() -> None:
    change = Fraction(5, 4)
    tune = a_file([(Fraction(0), 4, 4), (change, 3, 4)], [(change + Fraction(3, 4), Fraction(1, 4))])
    assert (tune.meter.text, places(tune)) == ("3/4", [0])


def test_a_change_within_the_tune_is_said() -> None:
    tune = a_file([(Fraction(0), 3, 4), (Fraction(6, 4), 4, 4)], [(n * QUAVER, QUAVER) for n in range(20)])
    assert tune.meter.text == "3/4"
    assert [one.message for one in tune.problems] == [
        "The meter changes within the tune; all its bars are read in 3/4."
    ]
    again = a_file([(Fraction(0), 3, 4), (Fraction(6, 4), 3, 4)], [(n * QUAVER, QUAVER) for n in range(20)])
    assert not again.problems


@pytest.mark.parametrize("above", [3, 4])
def test_a_first_note_a_little_early_is_in_its_own_bar(above: int) -> None:
    bar = Fraction(above, 4)
    notes = [(2 * bar + n * QUAVER, QUAVER) for n in range(6)]
    tune = a_file([(Fraction(0), above, 4)], notes, early=7)
    assert places(tune) == [n * QUAVER for n in range(6)]


def test_where_no_meter_is_named_it_is_common_time() -> None:
    tune = a_file([], [(Fraction(3) + Fraction(1, 4), QUAVER)])
    assert (tune.meter.text, places(tune)) == ("4/4", [Fraction(1, 4)])
