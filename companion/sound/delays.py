"""Measured delays, kept by device: how late notes come in, how late a synthesiser sounds.

Conventions: seconds. The name of a sound device stands for output and input together; "" is the default device.
"""

from __future__ import annotations

import contextlib
import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import median

from companion.errors import UserError
from companion.places import own_data
from companion.whole_file import whole_file

FILE = "delays.json"
FEWEST = 8  # hits needed for a measurement
UNEVEN = 0.06  # seconds: with more scatter the hits say nothing
MOST = 1.0  # seconds: no device is later


@dataclass(frozen=True, slots=True)
class Delay:
    """A measured delay: the middle of `count` hits, and how far the middle one of them lies from it."""

    seconds: float
    scatter: float
    count: int


def delay_of(clicks: Sequence[float], hits: Sequence[float]) -> Delay:
    """How late hits come after the clicks that they were played to, both on one clock.

    Parameters
    ----------
    clicks : moments of an even click. `hits` : what was played along; each counts for the click that the whole of them
        fits best, so that a delay of up to half a beat is found in full.

    Raises
    ------
    UserError : too few hits, or too uneven ones.
    """
    if len(clicks) < 2 or len(hits) < FEWEST:
        raise UserError(f"{len(hits)} notes were heard; play one note with each click, {FEWEST} or more of them")
    each = (clicks[-1] - clicks[0]) / (len(clicks) - 1)
    # Players are more often late than early: look from a quarter of a beat before the click to three quarters after.
    off = sorted((hit - clicks[0] + each / 4) % each - each / 4 for hit in hits)
    middle = median(off)
    near = [one for one in off if abs(one - middle) < each / 4]
    scatter = median(abs(one - middle) for one in near)
    if len(near) < FEWEST or scatter > UNEVEN:
        raise UserError("these notes were not played evenly enough to the click; try again, one note with each click")
    return Delay(median(near), scatter, len(near))


def kept_delay(kind: str, name: str) -> float | None:
    """The delay of a device ("sound" or "midi"); None where none was measured."""
    value = _read().get(f"{kind}:{name}")
    if isinstance(value, (int, float)) and not isinstance(value, bool) and abs(value) <= MOST:
        return float(value)
    return None


def keep_delay(kind: str, name: str, seconds: float | None) -> Path:
    """Keep a device's delay, or forget it. Gives the file; raises `UserError` where it cannot be written."""
    path = own_data() / FILE
    kept = _read()
    kept.pop(f"{kind}:{name}", None)
    if seconds is not None:
        kept[f"{kind}:{name}"] = round(seconds, 4)
    with contextlib.suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
    with whole_file(path) as beside:
        beside.write_text(json.dumps(kept, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")
    return path


def _read() -> dict[str, object]:
    with contextlib.suppress(OSError, ValueError):
        found = json.loads((own_data() / FILE).read_text(encoding="utf-8"))
        if isinstance(found, dict):
            return found
    return {}  # a lost or broken file only costs a new measurement
