"""Figures typed within 0.8 s of each other make one number."""

from __future__ import annotations

import pytest

from companion.screen.figure_keys import TOGETHER, FigureKeys


def bars(figures: str, most: int, wait: float = 0.3) -> list[int]:
    keys = FigureKeys()
    return [keys.bar(int(figure), n * wait, most).number for n, figure in enumerate(figures)]


def tempi(figures: str, wait: float = 0.3) -> list[int]:
    keys = FigureKeys()
    return [keys.tempo(int(figure), n * wait).per_cent for n, figure in enumerate(figures)]


@pytest.mark.parametrize(
    ("figures", "most", "found"),
    [
        ("5", 16, [5]),
        ("0", 16, [0]),
        ("16", 16, [1, 16]),
        ("17", 16, [1, 7]),
        ("123", 32, [1, 12, 3]),
        ("07", 8, [0, 7]),
    ],
)
def test_bars(figures: str, most: int, found: list[int]) -> None:
    assert bars(figures, most) == found


@pytest.mark.parametrize(
    ("figures", "found"),
    [
        ("7", [70]), ("75", [70, 75]), ("0", [100]), ("05", [100, 50]), ("105", [10, 10, 105]), ("120", [10, 12, 120]),
        ("125", [10, 12, 50]), ("1058", [10, 10, 105, 80]),
    ],
)  # fmt: skip
def test_tempi(figures: str, found: list[int]) -> None:
    assert tempi(figures) == found


def test_after_a_while_a_figure_begins_anew() -> None:
    assert bars("12", 32, TOGETHER + 0.05) == [1, 2]
    assert tempi("75", TOGETHER + 0.05) == [70, 50]


def test_a_bar_and_a_tempo_do_not_mix() -> None:
    keys = FigureKeys()
    keys.bar(1, 0.0, 32)
    assert keys.tempo(2, 0.1).per_cent == 20
    assert keys.bar(3, 0.2, 32).number == 3
