"""The pointer over the practice page, and that hands and keys reach the same things."""

from __future__ import annotations

from dataclasses import replace

import pygame
import pytest

from companion.screen.actions import Action, ChosenNotes, ChosenTempo, load_keys
from companion.screen.bellows_line import note_at
from companion.screen.card import CARD, REVERSE, card_cells
from companion.screen.chips import chips
from companion.screen.look import Look
from companion.screen.page_values import PracticePage
from companion.screen.pointer import STAY, Pointer, Pointing
from companion.screen.tempo_scale import scale_box
from companion.screen.theme import load_theme
from companion.screen.view import Painter
from companion.screen.window_layout import lay_out
from tests.screen.glances import CHOICES, jig, judged, long_round, one_row

SIZE = (1280, 720)
LAYOUT, LOOK = lay_out(SIZE), Look()


def pull(page: PracticePage, start: tuple[int, int], end: tuple[int, int]) -> object:
    pointer = Pointer()
    assert pointer.pressed(page, SIZE, LOOK, start, 0.0) is None
    pointer.moved(page, SIZE, LOOK, end, 0.1)
    return pointer.released(page, SIZE, LOOK, end, 0.2)


def on_line(page: PracticePage, note: int) -> tuple[int, int]:
    """Where a note is drawn: the middle of the first pixels that belong to it."""
    found = [x for x in range(LAYOUT.line.left, LAYOUT.line.right) if note_at(page, LAYOUT, LOOK, x) == note]
    return found[len(found) // 2], LAYOUT.line.centery


def test_a_pull_along_the_line_gives_the_notes_of_the_tune() -> None:
    page = judged(jig(), 7)
    page = replace(page, notes=tuple(replace(note, index=40 + n) for n, note in enumerate(page.notes)))
    assert pull(page, on_line(page, 3), on_line(page, 9)) == ChosenNotes(43, 49)
    assert pull(page, on_line(page, 9), on_line(page, 3)) == ChosenNotes(43, 49)
    unknown = replace(page, notes=tuple(replace(note, index=-1) for note in page.notes))
    assert pull(unknown, on_line(page, 3), on_line(page, 9)) is None


def test_a_click_on_the_line_pauses_though_the_line_moves_on() -> None:
    page = judged(long_round(), 20)
    assert pull(page, on_line(page, 22), on_line(page, 22)) == Action.PAUSE
    pointer, at = Pointer(), on_line(page, 22)
    pointer.pressed(page, SIZE, LOOK, at, 0.0)
    assert pointer.released(judged(long_round(), 60), SIZE, LOOK, at, 0.4) == Action.PAUSE


def test_notes_lie_where_the_line_draws_them() -> None:
    """The number of each note begins within its own stretch."""
    for page in (judged(jig(), 3), judged(long_round(), 1), one_row()):
        painter = Painter(load_theme(), listing=True)
        painter.paint(pygame.Surface(SIZE), replace(page, now=0.0, current=0))
        band = LAYOUT.line
        found = [one for one in painter.placed if band.contains(one.box) and one.text.isdigit()]
        for above, below in zip(found[::2], found[1::2], strict=True):
            note = page.notes[note_at(replace(page, now=0.0, current=0), LAYOUT, LOOK, above.box.centerx)]
            assert (above.text, below.text) == (str(note.fingered.press.button), str(note.fingered.finger))


def test_the_scale_chooses_a_tempo_in_steps_of_five() -> None:
    box, page = scale_box(LAYOUT), jig()

    def at(x: int) -> object:
        return Pointer().pressed(page, SIZE, LOOK, (x, box.centery), 0.0)

    assert at(box.left) == ChosenTempo(40)
    assert at(box.right - 1) == ChosenTempo(110)
    assert at(round(box.left + box.width * 3.4 / 7)) == ChosenTempo(75)
    free = replace(page, clocked=False)
    assert Pointer().pressed(free, SIZE, LOOK, box.center, 0.0) == Action.PAUSE


def test_chips_come_when_the_pointer_is_low_and_go_by_themselves() -> None:
    page, pointer = judged(jig(choices=CHOICES), 7), Pointer()
    pointer.moved(page, SIZE, LOOK, (640, 300), 0.0)
    assert not pointer.pointing(page, SIZE, LOOK, 0.0).chips
    pointer.moved(page, SIZE, LOOK, (640, 700), 1.0)
    assert pointer.pointing(page, SIZE, LOOK, 1.0 + STAY - 0.1).chips
    assert not pointer.pointing(page, SIZE, LOOK, 1.0 + STAY + 0.1).chips
    found = chips(page, LAYOUT)
    assert [chip.choice for chip in found] == list(CHOICES)
    pointer.moved(page, SIZE, LOOK, (640, 700), 10.0)
    pointer.moved(page, SIZE, LOOK, found[2].box.center, 12.0)
    assert pointer.pointing(page, SIZE, LOOK, 12.0 + STAY - 0.1).over == found[2].box
    assert pointer.pressed(page, SIZE, LOOK, found[2].box.center, 12.5) == Action.BASSES
    own = replace(page, own=True)
    assert chips(own, LAYOUT)[0].choice.action is Action.LESSON


def test_a_touch_low_down_brings_the_chips_and_does_not_pause() -> None:
    page, pointer = judged(jig(choices=CHOICES, tune_map=None), 7), Pointer()
    assert pointer.pressed(page, SIZE, LOOK, (640, 715), 0.0) is None
    assert pointer.pointing(page, SIZE, LOOK, 0.5).chips
    assert Pointer().pressed(replace(page, choices=()), SIZE, LOOK, (640, 715), 0.0) == Action.PAUSE


@pytest.mark.parametrize("size", [(800, 480), (800, 600), (1280, 720), (3840, 2160), (1200, 1920)])
def test_chips_are_large_enough_to_touch_and_apart(size: tuple[int, int]) -> None:
    layout, page = lay_out(size), judged(jig(choices=CHOICES, own=True), 7)
    boxes = [chip.box for chip in chips(page, layout)]
    assert all(min(box.size) >= 44 and pygame.Rect((0, 0), size).contains(box) for box in boxes)
    assert len(boxes) == len(CHOICES) + 1
    assert all(box.collidelistall(boxes) == [n] for n, box in enumerate(boxes))
    assert max(box.bottom for box in boxes) <= layout.map.top


def test_what_can_be_done_by_key_can_be_done_by_hand_and_the_other_way_round() -> None:
    by_hand = {action for side in (CARD, REVERSE) for action in side if action is not None}
    assert by_hand == set(load_keys()) == set(Action)
    assert len(by_hand) == sum(action is not None for action in (*CARD, *REVERSE))
    pointer, page = Pointer(), jig(paused=True)
    found = set()
    for more in (False, True):
        cells = card_cells(LAYOUT, more)
        for _, cell in cells:
            found.add(pointer.pressed(page, SIZE, LOOK, cell.center, 0.0))
    assert found == {*Action, None}


def test_a_press_that_ends_on_another_page_is_forgotten() -> None:
    page, pointer = judged(jig(choices=CHOICES), 7), Pointer()
    assert pointer.pressed(page, SIZE, LOOK, on_line(page, 3), 0.0) is None
    pointer.let_go()
    pointer.moved(page, SIZE, LOOK, on_line(page, 9), 0.1)
    assert pointer.pointing(page, SIZE, LOOK, 0.1).notes is None
    assert pointer.released(page, SIZE, LOOK, on_line(page, 9), 0.2) is None
    pointer.moved(page, SIZE, LOOK, (640, 700), 0.3)
    assert pointer.pointing(page, SIZE, LOOK, 0.4).chips


def test_the_cell_under_the_pointer_looks_different() -> None:
    page, pointer, seen = jig(paused=True), Pointer(), set()
    for _, cell in card_cells(LAYOUT)[:3]:
        pointer.moved(page, SIZE, LOOK, cell.center, 0.0)
        surface = pygame.Surface(SIZE)
        Painter(load_theme()).paint(surface, page, pointer.pointing(page, SIZE, LOOK, 0.0))
        seen.add(pygame.image.tobytes(surface, "RGB"))
    assert len(seen) == 3


def test_drawing_only_what_has_changed_gives_the_same_picture_under_the_pointer() -> None:
    """The chips come, one after another lies under the pointer, bars are picked out, the chips go."""
    base, painter, surface = judged(jig(choices=CHOICES), 7), Painter(load_theme()), pygame.Surface(SIZE)
    boxes = [chip.box for chip in chips(base, LAYOUT)]
    moments = [
        Pointing(), Pointing(chips=True), Pointing(boxes[0], chips=True), Pointing(boxes[7], chips=True),
        Pointing(chips=True, bars=(2, 6)), Pointing(bars=(2, 9)), Pointing(notes=(3, 8)), Pointing(),
    ]  # fmt: skip
    for n, pointing in enumerate(moments):
        page = judged(base, 7 + n // 2)
        painter.paint(surface, page, pointing, fresh=n == 0)
        alone = pygame.Surface(SIZE)
        Painter(load_theme()).paint(alone, page, pointing)
        assert pygame.image.tobytes(surface, "RGB") == pygame.image.tobytes(alone, "RGB"), n
