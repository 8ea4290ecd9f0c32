"""End to end on a real screen: a tune is chosen, played in over a MIDI port, paused by pedal, and left; in pictures.

The pictures are kept in `$COMPANION_PICTURES` and looked at by people; what is asserted here is read from the screen,
from the record, and from the player's own files.
"""

from __future__ import annotations

import contextlib
import json
import time
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import pytest

pytest.importorskip("rtmidi", reason="no python-rtmidi here")

from companion.screen.theme import load_theme
from tests.servers.desk import Desk
from tests.session.fakes import a_tune_in_hand

pytestmark = [pytest.mark.midi_server, pytest.mark.sound_server, pytest.mark.display_server]

CHOSEN = 5  # the waltz: its first bar is short
THEMES = ("dark", "light", "high-contrast")
CARD = (0.5, 0.82)  # where the pause card lies, as shares of the height
Sit = Callable[..., Desk]


@pytest.fixture
def sit(tmp_path: Path) -> Iterator[Sit]:
    """Sit down at a screen of some size."""
    desks: list[Desk] = []

    def down(screen: tuple[int, int], *arguments: str) -> Desk:
        desks.append(Desk(tmp_path, screen, *arguments))
        return desks[-1]

    yield down
    for desk in desks:
        desk.close()


def rounds(desk: Desk, more: str = "") -> int:
    """How many clean rounds of the player's the record has."""
    asked = desk.record(f"SELECT count(*) FROM round WHERE standin = 0 AND clean = 1 {more}")
    return asked[0][0] if asked else 0


def again(desk: Desk, pitches: Sequence[int], had: int) -> None:
    """Play a piece again, as a player does, until more than `had` rounds of it are counted.

    On a busy machine the piece may still be sounding when it is first played; those notes belong to no round.
    """
    for _ in range(4):
        with contextlib.suppress(AssertionError):
            desk.until(lambda: rounds(desk) > had, 6.0)
            return
        desk.play(pitches)
    desk.until(lambda: rounds(desk) > had)


def share(desk: Desk) -> float:
    """The tempo of the first piece in the standing that was kept last, as a share of the target."""
    kept = desk.record("SELECT state FROM standing WHERE standin = 0")
    plain = json.loads(kept[0][0])["standings"] if kept else {}
    return float(next(iter(plain.values()))["share"]) if plain else 0.5


def ground(desk: Desk, name: str, theme: str) -> float:
    """The share of the screen that is the theme's ground. The picture is kept."""
    colours = desk.colours(name)
    return colours.get(load_theme(theme).ground, 0) / sum(colours.values())


def test_a_sitting_from_the_choice_of_a_tune_to_the_end(sit: Sit) -> None:
    course, steps = a_tune_in_hand(CHOSEN)
    desk = sit((1280, 720))
    chooser = desk.colours("window-1-choose")
    assert not desk.record("SELECT * FROM sitting")
    desk.tool("type", "salt")
    time.sleep(0.5)
    assert desk.colours("window-2-search") != chooser
    desk.key("Return")
    desk.until(lambda: desk.record("SELECT * FROM sitting"))
    assert desk.record("SELECT title FROM tune") == [(course.title,)]
    time.sleep(3.0)
    desk.see("window-3-listen")

    # The piece is heard once; then the right notes in order, three times.
    piece = steps.pieces[0]
    pitches = [note.pitch for note in course.round.notes[piece.first : piece.last + 1]]
    time.sleep(course.laid(piece).length * 4 * 60 / (0.5 * course.target) + 2)
    for turn in range(3):
        desk.play(pitches[:2])
        desk.see(f"window-4-in-order-{turn}")
        desk.play(pitches[2:])
        again(desk, pitches, turn)

    # In time now; the pedal pauses, and nothing is counted meanwhile.
    desk.until(lambda: '"step": 2' in desk.record("SELECT state FROM standing WHERE standin = 0")[0][0])
    time.sleep(6.0)  # until the caution of the beginning has gone
    desk.see("window-5-in-time")
    desk.pedal()
    paused = desk.colours("window-6-paused", CARD)
    kept = desk.record("SELECT count(*) FROM round")
    desk.play([30, 31, 32])
    time.sleep(2.5)
    assert desk.colours("window-6-paused-still", CARD) == paused
    assert desk.record("SELECT count(*) FROM round") == kept
    desk.pedal()
    time.sleep(1.0)
    assert desk.colours("window-7-on-again", CARD) != paused

    # A button held for two seconds pauses as well, and is not marked.
    desk.hold(30, 2.6)
    held = desk.colours("window-8-held", CARD)
    time.sleep(1.0)
    assert desk.colours("window-8-held-still", CARD) == held == paused
    assert desk.record("SELECT count(*) FROM round") == kept

    # The tempo, by key.
    before = share(desk)
    desk.key("Up")
    desk.until(lambda: share(desk) > before)
    desk.see("window-9-faster")

    # Another size of the window, the help page, the end.
    desk.tool("windowsize", "--sync", desk.window, "900", "560")
    time.sleep(1.0)
    desk.see("window-10-smaller")
    desk.key("h")
    desk.see("window-11-help")
    desk.key("h", "q", "q")
    said = desk.stop()
    assert desk.running.returncode == 0, said
    assert course.title in said
    assert desk.record("SELECT count(*) FROM sitting WHERE ended IS NOT NULL") == [(1,)]


def test_another_tune_is_another_sitting_in_the_same_window(sit: Sit) -> None:
    desk = sit((1280, 720), "--tune", "1")
    desk.until(lambda: desk.record("SELECT * FROM sitting"))
    time.sleep(1.5)
    desk.key("o")
    desk.see("window-another-1")
    desk.tool("type", "ferry")
    desk.key("Return")
    desk.until(lambda: len(desk.record("SELECT * FROM sitting")) == 2)
    time.sleep(3.0)
    desk.see("window-another-2")
    desk.key("q", "q")  # leaving is asked once
    assert desk.stop().count("You begin with") == 2
    assert desk.running.returncode == 0
    assert desk.record("SELECT title FROM sitting JOIN tune ON tune.id = tune ORDER BY sitting.id") == [
        ("The Lamp on Tanner's Quay",),
        ("The Thursday Ferry",),
    ]


def test_settings_are_tried_and_kept(sit: Sit) -> None:
    desk = sit((1280, 720), "--tune", "1")
    desk.until(lambda: desk.record("SELECT * FROM sitting"))
    time.sleep(1.5)
    desk.key("e")
    time.sleep(0.5)
    desk.see("window-settings-1")
    desk.key("Return")  # which buttons sound what is played
    desk.play([69, 62])
    time.sleep(0.3)
    desk.see("window-settings-2-box")
    desk.key("Down", "Down", "Return")  # past the fingering: the instrument
    desk.play([69])
    desk.pedal(67)
    desk.see("window-settings-3-instrument")
    desk.key("Down", "Down", "Down", "Return")  # past the microphone and the box's sound: the pedal, on the instrument
    desk.pedal(66)
    desk.key("Down", "Return")  # the sound
    desk.see("window-settings-4-sound")
    time.sleep(2.5)
    desk.key("Down", "Left", "Left", "Return")  # the level
    time.sleep(2.5)
    desk.see("window-settings-5-level")
    desk.key("Down", "Down", "Right")  # the page between pieces
    desk.key("Down", "Right")  # the colours
    time.sleep(0.3)
    desk.see("window-settings-6-colours")
    desk.key(*["Up"] * 10, "Right", "Escape")  # the box: the next of them
    desk.until(lambda: len(desk.record("SELECT * FROM sitting")) == 2)
    time.sleep(2.0)
    desk.see("window-settings-7-other-box")
    desk.key("q", "q")  # leaving is asked once
    assert desk.stop()
    assert desk.running.returncode == 0
    own = (desk.folder / "config" / "settings.toml").read_text()
    assert "level = 80" in own
    assert 'theme = "' in own
    assert 'theme = "dark"' not in own
    boxes = [box for (box,) in desk.record("SELECT box FROM sitting ORDER BY id")]
    assert boxes[0] == "bc-21"
    assert boxes[1] != "bc-21"
    assert f'box = "{boxes[1]}"' in own


@pytest.mark.parametrize(("size", "themes"), [((800, 480), THEMES), ((3840, 2160), THEMES[:1])])
def test_every_page_at_other_sizes(sit: Sit, size: tuple[int, int], themes: tuple[str, ...]) -> None:
    desk = sit(size, "--size", f"{size[0]}x{size[1]}", "--tune", "2", "--no-standin")
    desk.until(lambda: desk.record("SELECT * FROM sitting"))
    course, steps = a_tune_in_hand(2)
    time.sleep(course.laid(steps.pieces[0]).length * 8 * 60 / (0.5 * course.target) + 3)  # heard once, and counted in
    desk.play([note.pitch for note in course.round.notes[:2]])
    for theme in themes:
        name = f"window-{size[0]}-{theme}"
        shown = {}
        for page, key in (("practice", ""), ("paused", "space"), ("settings", "e"), ("tunes", "Tab"), ("help", "F1")):
            if key:
                desk.key(key)
                time.sleep(0.5)
            desk.until(lambda name=f"{name}-{page}", theme=theme: ground(desk, name, theme) > 0.25)
            shown[page] = ground(desk, f"{name}-{page}", theme)
            if page in ("settings", "tunes"):
                desk.key("Escape")
        assert min(shown.values()) > 0.25, (theme, shown)
        desk.key("F1")
        time.sleep(0.3)
        desk.key("F8")
        time.sleep(0.5)
        desk.key("space")
    desk.key("q", "q")  # leaving is asked once
    desk.stop()
    assert desk.running.returncode == 0
