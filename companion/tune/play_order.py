"""The order of play: sections, the order that `P:` asks for, and the jumps (D.C., D.S., fine, coda)."""

from __future__ import annotations

import re
from dataclasses import dataclass

from companion.tune.draft import Complaints, Jump, Melody
from companion.tune.tune import SpanPlayed
from companion.tune.way_through import MOST_STEPS, Section, sections

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"
_ORDER = re.compile(r"\d+|.")


@dataclass(frozen=True, slots=True)
class Pass:
    """One time through one section: its letter, which time through that part, and its spans."""

    part: str
    turn: int
    spans: tuple[int, ...]


def plan(melody: Melody, order: str, complaints: Complaints, place: tuple[int, int] = (0, 0)) -> list[SpanPlayed]:
    """The steps of one round.

    Parameters
    ----------
    melody : its spans and signs.
    order : the order of the parts from the header ("AABB", "(AB)2C"), "" where there is none.
    complaints : where problems go.
    place : line and column of the order.
    """
    made = sections(melody, complaints)
    letters = _letters(made)
    passes: list[Pass] | None = None
    if order:
        wanted = spell_out(order, complaints, place)
        if wanted is not None:
            passes = _ordered(made, letters, wanted, complaints, place) or None
    if passes is None:
        passes = _straight(made, letters)
        passes = _with_jumps(made, letters, passes, melody.jumps)
    if sum(len(p.spans) for p in passes) > MOST_STEPS:
        complaints.error(*place, f"With its repeats the tune is longer than {MOST_STEPS} bars.")
        return []
    return [SpanPlayed(span, p.part, p.turn) for p in passes for span in p.spans]


def form_of(passes: list[SpanPlayed]) -> str:
    """The parts in the order of play, one letter a time through."""
    form: list[str] = []
    before: tuple[str, int] | None = None
    for _, part, turn in passes:
        if (part, turn) != before:
            before = (part, turn)
            form.append(part)
    return "".join(form)


def _letters(made: list[Section]) -> list[str]:
    """A letter for each section: the part's own name where it is one letter, else the next one that is free.

    Sections under one name share its letter.
    """
    own = {s.name for s in made if _is_letter(s.name)}
    free = (c for c in LETTERS if c not in own)
    named: dict[str, str] = {}
    out: list[str] = []
    for section in made:
        if _is_letter(section.name):
            out.append(section.name)
        elif section.name:
            if section.name not in named:
                named[section.name] = next(free, "z")
            out.append(named[section.name])
        else:
            out.append(next(free, "z"))
    return out


def _is_letter(name: str) -> bool:
    return len(name) == 1 and name.isalpha()


def _groups(made: list[Section], letters: list[str]) -> list[tuple[str, list[int]]]:
    """The sections of one part that stand together."""
    groups: list[tuple[str, list[int]]] = []
    for i, letter in enumerate(letters):
        if groups and groups[-1][0] == letter and made[i].name:
            groups[-1][1].append(i)
        else:
            groups.append((letter, [i]))
    return groups


def _group_passes(made: list[Section], letter: str, members: list[int], turns: dict[str, int]) -> list[Pass]:
    """Every pass of one part, its repeats followed. A part of several sections counts as one time through."""
    out: list[Pass] = []
    if len(members) > 1:
        turns[letter] = turns.get(letter, 0) + 1
    for i in members:
        total = made[i].passes()
        for k in range(1, total + 1):
            if len(members) == 1:
                turns[letter] = turns.get(letter, 0) + 1
            out.append(Pass(letter, turns[letter], tuple(made[i].spans(k, total, k == 1))))
    return out


def _straight(made: list[Section], letters: list[str]) -> list[Pass]:
    """The sections as they are written, with their repeats."""
    turns: dict[str, int] = {}
    return [p for letter, members in _groups(made, letters) for p in _group_passes(made, letter, members, turns)]


def spell_out(order: str, complaints: Complaints, place: tuple[int, int]) -> str | None:
    """`(AB)2C` as `ABABC`; None where it is not an order of parts (3.1.9)."""
    stack: list[str] = [""]
    last = ""  # what a number that follows repeats
    for token in _ORDER.findall(order):
        if token == "(":
            stack.append("")
            last = ""
        elif token == ")":
            if len(stack) == 1:
                return _not_an_order(order, complaints, place)
            last = stack.pop()
            stack[-1] += last
        elif token.isdecimal():
            if len(token) > 4 or len(last) * int(token) > MOST_STEPS:
                complaints.error(*place, "The order of the parts (P:) is too long to be played.")
                return None
            stack[-1] = stack[-1][: len(stack[-1]) - len(last)] + last * int(token)
            last = ""
        elif token.isalpha():
            last = token
            stack[-1] += token
        elif token not in ".," and not token.isspace():
            return _not_an_order(order, complaints, place)
        if len(stack[-1]) > MOST_STEPS or len(stack) > 64:
            complaints.error(*place, "The order of the parts (P:) is too long to be played.")
            return None
    if len(stack) > 1:
        return _not_an_order(order, complaints, place)
    return stack[0]


def _not_an_order(order: str, complaints: Complaints, place: tuple[int, int]) -> str | None:
    shown = order if len(order) <= 40 else order[:40] + "…"
    complaints.warn(*place, f"“{shown}” is not an order of parts; the tune is played as it is written.")
    return None


def _ordered(
    made: list[Section], letters: list[str], wanted: str, complaints: Complaints, place: tuple[int, int]
) -> list[Pass] | None:
    """The passes in the order that `P:` asks for.

    A part asked for several times in a row (`AABB`, `A4`) is played once each time, with the ending of that time
    (4.10: under `P:A4` each of its four endings is played once). One asked for once is played with its own repeats.
    """
    parts: dict[str, list[int]] = {}
    for i, letter in enumerate(letters):
        parts.setdefault(letter, []).append(i)
    missing = sorted({c for c in wanted if c not in parts})
    if missing:
        named = any(s.name for s in made)
        if named:
            complaints.warn(*place, f"The order of the parts asks for {', '.join(missing)}, which is not in the tune.")
        if not named or len(missing) == len(set(wanted)):
            return None
    runs = [(m.group()[0], len(m.group())) for m in re.finditer(r"(.)\1*", wanted) if m.group()[0] in parts]
    turns: dict[str, int] = {}
    out: list[Pass] = []
    first_named = next((i for i, s in enumerate(made) if s.name), 0)
    for i in range(first_named):
        out += _group_passes(made, letters[i], [i], turns)
    for letter, run in runs:
        members = parts[letter]
        if run == 1 and any(made[i].closed or made[i].explicit for i in members):
            out += _group_passes(made, letter, members, turns)
            continue
        for k in range(1, run + 1):
            turns[letter] = turns.get(letter, 0) + 1
            for i in members:
                total = made[i].passes()
                count = k if run > 1 else turns[letter]
                turn = (count - 1) % total + 1
                out.append(Pass(letter, turns[letter], tuple(made[i].spans(turn, total, True))))
        if len(out) > MOST_STEPS:
            break
    return out


def _with_jumps(
    made: list[Section], letters: list[str], passes: list[Pass], jumps: list[tuple[Jump, int]]
) -> list[Pass]:
    """D.C. and D.S., to the fine or the coda.

    The jump is taken once, after the repeats before it; the way back is played without repeats, with last endings
    (common practice). A D.C. at the very end with neither fine nor coda says that the tune goes round, as every
    round does: it adds nothing.
    """
    back = next(((kind, at) for kind, at in jumps if kind in ("D.C.", "D.S.")), None)
    if back is None:
        return passes
    places: dict[str, list[int]] = {}
    for kind, at in jumps:
        places.setdefault(kind, []).append(at)
    kind, at = back
    flat = [(n, span) for n, p in enumerate(passes) for span in p.spans]
    # The sign may stand after an ending that never comes; then it belongs to what is played before that.
    where = max((i for i, (_, span) in enumerate(flat) if span < at), default=None)
    where = max((i for i, (_, span) in enumerate(flat) if span == at - 1), default=where)
    if where is None:
        return passes
    start = places["segno"][0] if kind == "D.S." and "segno" in places else 0
    out = _cut(passes, flat, where)
    again = _once(made, letters, start, out)
    fine = next((f for f in places.get("fine", []) if start < f <= at), None)
    codas = places.get("coda", [])
    leave = places["to coda"][0] if "to coda" in places else (codas[0] if len(codas) > 1 else None)
    if fine is not None:
        return out + _until(again, fine)
    if leave is not None and codas and codas[-1] >= leave:
        return out + _until(again, leave) + _from(passes, codas[-1])
    rest = flat[where + 1 :]
    if not rest:
        return passes
    return out + _until(again, at) + _after(passes, where)


def _cut(passes: list[Pass], flat: list[tuple[int, int]], where: int) -> list[Pass]:
    """The passes up to step `where`, inclusive."""
    n = flat[where][0]
    begun = sum(1 for m, _ in flat[: where + 1] if m == n)
    return [*passes[:n], _part_of(passes[n], passes[n].spans[:begun])]


def _after(passes: list[Pass], where: int) -> list[Pass]:
    """The passes after step `where`."""
    out: list[Pass] = []
    for p in passes:
        if where >= len(p.spans):
            where -= len(p.spans)
            continue
        rest = p.spans[where + 1 :]
        where = -1
        if rest:
            out.append(_part_of(p, rest))
    return out


def _from(passes: list[Pass], coda: int) -> list[Pass]:
    """The passes from span `coda` on, as written."""
    kept = [_part_of(p, tuple(s for s in p.spans if s >= coda)) for p in passes]
    return [p for p in kept if p.spans]


def _until(passes: list[Pass], end: int) -> list[Pass]:
    """The passes up to span `end`, exclusive."""
    out: list[Pass] = []
    for p in passes:
        kept = tuple(s for s in p.spans if s < end)
        if kept:
            out.append(_part_of(p, kept))
        if len(kept) < len(p.spans):
            break
    return out


def _once(made: list[Section], letters: list[str], start: int, played: list[Pass]) -> list[Pass]:
    """Each section once, with its last ending, from span `start` on."""
    turns: dict[str, int] = {}
    for p in played:
        turns[p.part] = max(turns.get(p.part, 0), p.turn)
    out: list[Pass] = []
    for i, section in enumerate(made):
        total = section.passes()
        spans = tuple(s for s in section.spans(total, total, True) if s >= start)
        if spans:
            turns[letters[i]] = turns.get(letters[i], 0) + 1
            out.append(Pass(letters[i], turns[letters[i]], spans))
    return out


def _part_of(whole: Pass, spans: tuple[int, ...]) -> Pass:
    return Pass(whole.part, whole.turn, spans)
