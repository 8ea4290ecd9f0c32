"""Macros: `m: ~G3 = G{A}G{F}G` and the transposing `m: ~n2 = (3o/n/m/ n` (ABC 2.1, section 9)."""

from __future__ import annotations

import re

_SCALE = [letter + octave for octave in (",,,", ",,", ",") for letter in "CDEFGAB"]
_SCALE += [*"CDEFGABcdefgab"] + [letter + octave for octave in ("'", "''", "'''") for letter in "cdefgab"]
_MOST = 40_000


def expand(text: str, macros: list[tuple[str, str]]) -> str:
    """A line of music with its macros put in place, in the order in which they are defined."""
    for target, made in macros:
        if "n" in target:
            text = _transposing(text, target, made)
        elif target in text:
            # A length that goes on is another note: ~G3 is not in ~G32.
            text = made.join(re.split(re.escape(target) + r"(?![\d/,'])", text))
        if len(text) > _MOST:
            return text[:_MOST]
    return text


def _transposing(text: str, target: str, made: str) -> str:
    before, _, after = target.rpartition("n")
    pattern = re.escape(before) + r"([A-Ga-g][,']*)" + re.escape(after) + r"(?![\d/])"

    def put(match: re.Match[str]) -> str:
        note = match[1]
        if note not in _SCALE:
            return match[0]
        at = _SCALE.index(note)
        # h to z are steps above or below n, by their place in the alphabet (9.2).
        return re.sub(r"[h-z]", lambda m: _step(at + ord(m[0]) - ord("n"), m[0]), made)

    return re.sub(pattern, put, text)


def _step(at: int, otherwise: str) -> str:
    return _SCALE[at] if 0 <= at < len(_SCALE) else otherwise
