"""Replays what the fuzzer has saved, and random changes of it (hypothesis), without atheris."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

sys.path.insert(0, str(Path(__file__).parent))
import targets

CORPUS = sorted((Path(__file__).parent / "corpus").iterdir())
FIELDS = ["X:1\n", "K:D\n", "M:6/8\n", "L:1/8\n", "P:A\n", "P:(AB)2\n", "V:1\n", "w:la\n", "s:!f!\n", "+:x\n", "%%x\n"]
INLINE = ["[V:2]", "[K:G]", "[M:3/4]", "[P:B]", "[L:1/4]"]
SOUNDS = ["A", "b2", "^c/", "_d,", "=e'", "z", "Z3", "(3", "(3:2:4", ">", "<<", "-", "[CEG]", "{g}", "&"]
OVER = ["!fine!", "!D.C.!", "!coda!", "!segno!", "~", '"Em"', "!2!"]
BARS = ["|", "|:", ":|", "||", "|]", "|1", ":|2", "::", "[1", "[2", "[1,3", "[", "]", ":", "\\\n", "\n"]
PIECES = st.sampled_from([*FIELDS, *INLINE, *SOUNDS, *OVER, *BARS])


@pytest.mark.parametrize("path", CORPUS, ids=[p.name[:12] for p in CORPUS])
def test_the_saved_corpus(path: Path) -> None:
    targets.abc(path.read_bytes())
    targets.midi(path.read_bytes())


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(PIECES, max_size=60).map("".join))
def test_tokens_in_any_order(text: str) -> None:
    targets.abc(text.encode())


@settings(max_examples=100, deadline=None)
@given(st.binary(max_size=200))
def test_any_bytes(data: bytes) -> None:
    targets.abc(data)
    targets.midi(b"MThd\x00\x00\x00\x06\x00\x00\x00\x01\x01\xe0MTrk\x00\x00\x00" + bytes([min(len(data), 255)]) + data)
