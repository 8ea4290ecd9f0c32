"""Short pieces of ABC, read: what the tests of the standard are made with."""

from __future__ import annotations

from companion.notation.abc_reader import read_abc
from companion.tune.tune import Tune
from companion.tune.tune_values import Note


def tune(music: str, header: str = "L:1/8\n", key: str = "C") -> Tune:
    return read_abc(f"X:1\nT:t\n{header}K:{key}\n{music}\n").tunes[0]


def notes(music: str, header: str = "L:1/8\n", key: str = "C") -> tuple[Note, ...]:
    return tune(music, header, key).notes


def pitches(*args: str) -> list[int]:
    return [n.pitch for n in notes(*args)]


def lengths(*args: str) -> str:
    """The lengths in eighths, which are whole fractions in every case."""
    return " ".join(str(n.length * 8) for n in notes(*args))


def warned(written: Tune) -> list[str]:
    return [p.message for p in written.problems]
