"""On a real screen and real MIDI ports: bar 5, round and round, at 60%, in three inputs at most, by key, by pointer and
by pedal; another tempo in mid-round, heard.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

pytest.importorskip("rtmidi", reason="no python-rtmidi here")

from companion.pages.bars_known import tune_map
from companion.screen.tempo_scale import LEAST, MOST, scale_box
from companion.screen.tune_map import map_cells
from companion.screen.window_layout import lay_out
from tests.servers.desk import Desk
from tests.servers.sound_ear import RATE, listening
from tests.session.fakes import Bench
from tests.shipped_tables import TABLES

pytestmark = [pytest.mark.midi_server, pytest.mark.sound_server, pytest.mark.display_server]

SIZE = (1280, 720)
WHOLE, LOOP, TEMPO_PEDAL = 24, 21, 4  # controllers, as the table of keys gives them
Sit = Callable[..., Desk]


@pytest.fixture
def sit(tmp_path: Path) -> Iterator[Sit]:
    desks: list[Desk] = []

    def down(*arguments: str) -> Desk:
        desks.append(Desk(tmp_path, SIZE, "--tune", "1", "--no-due", "--size", "1280x720", *arguments))
        return desks[-1]

    yield down
    for desk in desks:
        desk.close()


@pytest.fixture
def bench(tmp_path: Path) -> Bench:
    """The same tune, for what is asked of it."""
    return Bench(tmp_path / "bench")


def own_rounds(desk: Desk, bench: Bench) -> None:
    """Play the bar until a round of it is kept; it is bar 5, at 60%."""
    first, last = bench.course.spans[next(bar for bar in bench.course.spans if bar.name == "A bar 5")]
    pitches = [note.pitch for note in bench.course.round.notes[first : last + 1]]
    for _ in range(12):
        desk.play(pitches, each=0.5)
        kept = desk.record("SELECT piece, bpm FROM round WHERE standin = 0")
        if kept:
            break
    assert {(piece, round(bpm / bench.course.target, 2)) for piece, bpm in kept} == {("A bar 5", 0.6)}


def test_by_key_in_two_inputs(sit: Sit, bench: Bench) -> None:
    desk = sit()
    desk.key("5")
    desk.key("alt+6")
    own_rounds(desk, bench)
    desk.see("own-rounds-by-key")


def test_by_pointer_in_two_inputs(sit: Sit, bench: Bench) -> None:
    desk = sit()
    layout = lay_out(SIZE)
    tune = bench.course
    drawn = tune_map(tune, bench.standing, bench.standing.piece, None, TABLES.lesson)
    first, last = tune.spans[next(bar for bar in tune.spans if bar.name == "A bar 5")]
    box = next(box for start, end, box in map_cells(drawn, layout) if (start, end) == (first, last))
    scale = scale_box(layout)
    at = scale.left + round(scale.width * (60 - LEAST) / (MOST - LEAST))
    for x, y in (box.center, (at, scale.centery)):
        desk.tool("mousemove", "--window", desk.window, str(x), str(y), "click", "1")
        time.sleep(0.2)
    own_rounds(desk, bench)
    desk.see("own-rounds-by-pointer")


def test_by_pedal_in_three_inputs(sit: Sit, bench: Bench) -> None:
    desk = sit()
    desk.pedal(WHOLE)
    begun = time.monotonic()
    tune = bench.course
    first, last = tune.spans[next(bar for bar in tune.spans if bar.name == "A bar 5")]
    share = bench.rules.rungs[0]
    beats = float((tune.round.notes[first].at + tune.round.notes[last].at) / 2 / tune.beat) + 2  # a bar is counted in
    time.sleep(max(0.0, beats * 60 / (tune.target * share) - (time.monotonic() - begun) - 0.2))
    desk.pedal(LOOP)
    desk.control(TEMPO_PEDAL, round(127 * (60 - 40) / 70))
    own_rounds(desk, bench)
    desk.see("own-rounds-by-pedal")


def beats_in(wave: NDArray[np.float64]) -> list[float]:
    """When clicks begin, in seconds; nothing else sounds."""
    loud = np.abs(wave) > 0.1 * np.abs(wave).max()
    found: list[float] = []
    for frame in np.flatnonzero(loud):
        if not found or frame / RATE - found[-1] > 0.2:
            found.append(float(frame / RATE))
    return found


def test_another_tempo_in_mid_round_is_heard_within_a_beat(sit: Sit, bench: Bench) -> None:
    desk = sit()
    desk.key("w", "d", "alt+5")  # the whole tune, the melody off: only the click is heard
    time.sleep(6)
    with listening() as heard:
        begun = time.monotonic() - 1.0
        time.sleep(4)
        pressed = time.monotonic() - begun
        desk.key("alt+8")
        time.sleep(5)
    beats = beats_in(heard.wave)
    steps = np.diff(beats)
    slow, fast = (60 / (bench.course.target * share) for share in (0.5, 0.8))
    kinds = [min((slow, fast), key=lambda want: abs(step - want)) for step in steps]
    assert all(abs(step - kind) < 0.02 for step, kind in zip(steps, kinds, strict=True)), steps
    turned = kinds.index(fast)
    assert turned >= 2
    assert set(kinds[turned:]) == {fast}  # it stays
    assert set(kinds[:turned]) == {slow}  # and no beat is lost between the two
    # From when the key was pressed to the beat from which it goes faster; the recording's beginning is known to 0.3 s.
    assert beats[turned] - pressed < slow + 0.3
