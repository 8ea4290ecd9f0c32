"""Writing a tune and reading it again gives the same tune: in ABC and MusicXML as written, in MIDI as played.

The tunes are random (hypothesis), as ABC text with all that the writers write.
"""

from __future__ import annotations

from dataclasses import replace

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from companion.notation.abc_reader import read_abc
from companion.notation.abc_writer import write_abc
from companion.notation.midi_reader import read_midi
from companion.notation.midi_writer import midi_bytes
from companion.notation.musicxml_reader import read_musicxml
from companion.notation.musicxml_writer import write_musicxml
from companion.tune.tune import Tune
from companion.tune.tune_values import Note
from companion.tune.unfold import unfold

NAMES = st.sampled_from(["C", "D", "E", "F", "G", "A", "B", "c", "d", "e", "f", "g", "a", "b", "C,", "c'"])
SIGNS = st.sampled_from(["", "", "", "^", "_", "="])
LENGTHS = st.sampled_from(["", "", "", "2", "3", "/", "3/2", "/4"])
BEFORE = st.sampled_from(["", "", "", "", "~", ".", "T", "!fermata!", "{g}", "{^f}", "!2!", '"Em"', '"D7"'])
SINGLE = st.tuples(BEFORE, SIGNS, NAMES, LENGTHS, st.sampled_from(["", "", "", "-"])).map("".join)
CHORD = st.tuples(NAMES, NAMES, LENGTHS).map(lambda t: f"[{t[0]}{t[1]}]{t[2]}")
REST = LENGTHS.map(lambda length: "z" + length)
PAIR = st.tuples(NAMES, st.sampled_from("<>"), NAMES).map("".join)
TRIPLET = st.tuples(NAMES, NAMES, NAMES).map(lambda t: "(3" + "".join(t))
EVENT = st.one_of(SINGLE, SINGLE, SINGLE, PAIR, TRIPLET, REST, CHORD)
BAR = st.lists(EVENT, min_size=1, max_size=6).map(" ".join)
PART = st.tuples(
    st.sampled_from(["", "|:"]),
    st.lists(BAR, min_size=1, max_size=3).map("|".join),
    st.sampled_from(["|", "||", ":|", "|1 C :|2 D||", ":||"]),
).map("".join)
KEYS = st.sampled_from(["C", "G", "D", "A", "Em", "Ddor", "Gmix", "Bb", "F#m", "none"])
METERS = st.sampled_from(["4/4", "6/8", "3/4", "C|", "2/4", "9/8"])
HEAD = "X:3\nT:A & B\nR:reel\nC:Trad.\n"
TEXT = st.builds(
    lambda meter, key, parts: f"{HEAD}M:{meter}\nL:1/8\nQ:1/4=90\nK:{key}\nc|" + "\n".join(parts),
    METERS,
    KEYS,
    st.lists(PART, min_size=1, max_size=3),
)  # fmt: skip
CALM = [HealthCheck.too_slow, HealthCheck.data_too_large]


def bare(notes: tuple[Note, ...]) -> list[Note]:
    return [replace(n, line=0, column=0) for n in notes]


def played(tune: Tune) -> list[tuple[object, ...]]:
    return [(n.written, n.part, n.turn, n.bar, n.at, n.length, n.pitch) for n in unfold(tune).notes]


@settings(max_examples=150, deadline=None, suppress_health_check=CALM)
@given(TEXT)
def test_abc_and_back(text: str) -> None:
    tune = read_abc(text).tunes[0]
    again = read_abc(write_abc(tune)).tunes[0]
    assert bare(again.notes) == bare(tune.notes)
    assert played(again) == played(tune)
    assert (again.number, again.titles, again.rhythm, again.fields) == (3, ("A & B",), "reel", tune.fields)
    assert (again.meter, again.key.signature, again.tempo) == (tune.meter, tune.key.signature, tune.tempo)
    assert (again.unit, again.bars, again.form) == (tune.unit, tune.bars, tune.form)


def test_a_tie_before_bars_of_rest_carries_no_accidental() -> None:
    tune = read_abc(f"{HEAD}M:4/4\nL:1/8\nK:C\n^d4 d4- | Z2 | ^d8 |]\n").tunes[0]
    assert [note.pitch for note in read_abc(write_abc(tune)).tunes[0].notes] == [75, 75, 75]


def test_an_accidental_in_a_chord_ends_what_a_tie_carries() -> None:
    tune = read_abc(f"{HEAD}M:4/4\nL:1/8\nK:C\n_D- [=DD] D2 |]\n").tunes[0]
    assert [(note.pitch, note.under) for note in tune.notes] == [(61, ()), (62, (62,)), (62, ())]
    for body in ("_D- [=DD] D2 |]", "_D- | [CC] C2 |]", "_E- | [_EG] E2 |]", "^C- | [CE] C2 |]", "^C- | [=C^C] C2 |]"):
        tune = read_abc(f"{HEAD}M:4/4\nL:1/8\nK:C\n{body}\n").tunes[0]
        assert bare(read_abc(write_abc(tune)).tunes[0].notes) == bare(tune.notes)


@settings(max_examples=60, deadline=None, suppress_health_check=CALM)
@given(TEXT)
def test_midi_and_back(text: str) -> None:
    tune = read_abc(text).tunes[0]
    again = read_midi(midi_bytes(tune)).tunes[0]
    first, second = unfold(tune).notes, unfold(again).notes
    assert [(n.at, n.length, n.pitch) for n in second] == [(n.at, n.length, n.pitch) for n in first]
    assert again.meter.bar == tune.meter.bar


@settings(max_examples=25, deadline=None, suppress_health_check=CALM)
@given(TEXT)
def test_musicxml_and_back(text: str) -> None:
    tune = read_abc(text).tunes[0]
    again = read_musicxml(write_musicxml(tune).encode()).tunes[0]
    first = [(n.onset, n.length, n.pitch, n.bar, n.grace, n.chord, n.under, n.finger) for n in tune.notes]
    second = [(n.onset, n.length, n.pitch, n.bar, n.grace, n.chord, n.under, n.finger) for n in again.notes]
    assert second == first
    assert [set(n.ornaments) for n in again.notes] == [set(n.ornaments) for n in tune.notes]
    assert [(n[0], n[4]) for n in played(again)] == [(n[0], n[4]) for n in played(tune)]
    assert (again.bars, again.form, again.meter.bar) == (tune.bars, tune.form, tune.meter.bar)
