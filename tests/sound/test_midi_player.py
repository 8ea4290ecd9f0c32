"""What is sent to a synthesiser, and that every note ends on every way out."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator

import pytest

from companion.sound.midi_player import NoteSender, run

Sent = list[tuple[int, int, int]]


def hanging(sent: Sent) -> set[tuple[int, int]]:
    """Notes that a synthesiser would still sound, by channel and pitch."""
    on: set[tuple[int, int]] = set()
    for status, first, second in sent:
        if status & 0xF0 == 0x90 and second:
            on.add((status & 15, first))
        elif status & 0xF0 in (0x80, 0x90):
            on.discard((status & 15, first))
    return on


def played(orders: list[str], seconds: float) -> Sent:
    sent: Sent = []
    player = NoteSender(lambda *message: sent.append(message))
    for order in orders:
        player.order(order.split())
    until = time.perf_counter() + seconds
    while time.perf_counter() < until:
        player.send_due()
        time.sleep(0.001)
    player.silence()
    return sent


def test_ends_come_before_beginnings_and_a_note_that_is_begun_again_ends_once() -> None:
    now = time.perf_counter() + 0.02
    orders = [f"note {now} 0 62 100 0.02", f"note {now + 0.02} 0 62 90 0.02", f"note {now + 0.03} 0 64 90 0.02"]
    sent = played(orders, 0.12)
    assert [message for message in sent if message[0] != 0xB0] == [
        (0x90, 62, 100), (0x80, 62, 0), (0x90, 62, 90), (0x90, 64, 90), (0x80, 62, 0), (0x80, 64, 0),
    ]  # fmt: skip
    overlapping = played([f"note {time.perf_counter()} 0 62 100 0.05", f"note {time.perf_counter()} 0 62 90 0.02"], 0.1)
    assert [message[0] for message in overlapping] == [0x90, 0x90, 0x80, 0xB0]


def test_levels_and_notes_that_are_too_late_or_no_notes() -> None:
    now = time.perf_counter()
    orders = ["level 9 0", f"note {now} 9 76 100 0.1", "level 0 0.25", f"note {now} 0 62 100 0.01"]
    orders += [f"note {now - 5} 0 70 100 0.1", f"note {now} 0 200 100 0.1", "nothing", ""]
    assert played(orders, 0.05)[:2] == [(0x90, 62, 50), (0x80, 62, 0)]


@pytest.mark.parametrize("way", ["end of input", "stopped", "broken orders", "broken port"])
def test_every_note_ends(way: str) -> None:
    sent: Sent = []
    stopped = threading.Event()

    def send(*message: int) -> None:
        sent.append(message)  # type: ignore[arg-type]
        if way == "broken port" and message[0] == 0x91:
            raise OSError("the port has a fit")

    def orders() -> Iterator[str]:
        now = time.perf_counter()
        yield f"note {now} 0 62 100 60\n"
        yield f"note {now + 0.02} 1 64 100 60\n"
        time.sleep(0.1)
        assert hanging(sent) or way == "broken port"
        if way == "stopped":
            stopped.set()
            time.sleep(0.3)
        if way == "broken orders":
            yield "note now then never again ever\n"

    if way == "broken port":
        with pytest.raises(OSError, match="fit"):
            run(orders(), send, stopped)
    else:
        run(orders(), send, stopped)
    assert sent
    assert not hanging(sent)
