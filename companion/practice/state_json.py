"""Where a player is in a tune as plain values, for the record, and back.

Rungs are kept as shares of the target tempo, so that the ladder can be edited: a share that is no rung any more becomes
the rung below it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from companion.lesson.lesson_rules import LessonRules
from companion.lesson.lesson_values import SIZES, Kind, Lesson, Piece
from companion.practice.player_state import FRESH, Focus, MoveKnown, PieceState, PlayerState, start


def to_plain(state: PlayerState, rules: LessonRules) -> dict[str, Any]:
    """The state as plain values: standings by the name of the piece, moves by the index of the note."""
    return {
        "current": state.course[state.current].name,
        "standings": {
            piece.name: _standing_plain(standing, rules)
            for piece, standing in zip(state.course, state.standings, strict=True)
            if standing != PieceState()
        },
        "known": {
            str(move): [known.right, _share(known.rung, rules), known.wrong, known.spots]
            for move, known in enumerate(state.known)
            if known != MoveKnown()
        },
        "focus": [
            {
                "piece": _piece_plain(one.piece),
                "why": one.why,
                "goal": None if one.goal is None else _share(one.goal, rules),
                "needed": one.needed,
                "standing": _standing_plain(one.standing, rules),
            }
            for one in state.focus
        ],
        "aside": None if state.aside is None else state.course[state.aside].name,
        "size": state.size,
        "stride": state.stride,
        "pace": _share(state.pace, rules),
    }


def from_plain(lesson: Lesson, plain: Mapping[str, Any], rules: LessonRules) -> PlayerState:
    """The state that `to_plain` wrote, on a lesson that may have changed since: pieces that are gone are forgotten, new
    ones begin at the beginning, and steps and rungs that the rules no longer have are brought within them."""
    fresh = start(lesson, rules)
    saved = plain.get("standings", {})
    names = [piece.name for piece in fresh.course]
    aside = plain.get("aside")
    return PlayerState(
        lesson,
        names.index(plain["current"]) if plain.get("current") in names else 0,
        tuple(_standing(saved.get(name), rules) for name in names),
        _known(plain.get("known", {}), lesson.count, rules),
        tuple(_focus(one, lesson, rules) for one in plain.get("focus", ()) if _fits(one, lesson)),
        names.index(aside) if aside in names else None,
        _within(plain.get("size", 0), len(SIZES) - 1),
        max(1, int(plain.get("stride", rules.stride))),
        max(0, _rung(plain.get("pace"), rules)),
    )


def _share(rung: int, rules: LessonRules) -> float | None:
    return None if rung == FRESH else rules.rungs[rung]


def _rung(share: float | None, rules: LessonRules) -> int:
    """The fastest rung that is no faster than a share of the target tempo."""
    if share is None:
        return FRESH
    return max((i for i, rung in enumerate(rules.rungs) if rung <= share + 1e-9), default=0)


def _standing_plain(standing: PieceState, rules: LessonRules) -> dict[str, Any]:
    plain = asdict(standing)
    del plain["rung"]
    return plain | {"share": _share(standing.rung, rules)}


def _standing(saved: Mapping[str, Any] | None, rules: LessonRules) -> PieceState:
    if saved is None:
        return PieceState()
    return PieceState(
        step=_within(saved.get("step", 0), len(rules.steps) - 1),
        rung=max(0, _rung(saved.get("share"), rules)),
        clean=max(int(saved.get("clean", 0)), 0),
        failed=max(int(saved.get("failed", 0)), 0),
        slips=max(int(saved.get("slips", 0)), 0),
        done=bool(saved.get("done", False)),
        by_heart=bool(saved.get("by_heart", False)),
        forgot=max(int(saved.get("forgot", 0)), 0),
    )


def _known(saved: Mapping[str, Any], count: int, rules: LessonRules) -> tuple[MoveKnown, ...]:
    known = [MoveKnown()] * count
    for move, (right, share, wrong, spots) in saved.items():
        if int(move) < count:
            known[int(move)] = MoveKnown(int(right), _rung(share, rules), int(wrong), int(spots))
    return tuple(known)


def _piece_plain(piece: Piece) -> dict[str, Any]:
    return {"name": piece.name, "kind": piece.kind.value, "first": piece.first, "last": piece.last}


def _fits(saved: Mapping[str, Any], lesson: Lesson) -> bool:
    """Whether the notes of a piece that was taken up in between are still there."""
    piece = saved["piece"]
    return max(piece["first"], piece["last"]) < lesson.count and piece["kind"] in list(Kind)


def _focus(saved: Mapping[str, Any], lesson: Lesson, rules: LessonRules) -> Focus:
    one = saved["piece"]
    first, last = int(one["first"]), int(one["last"])
    fresh = Piece(str(one["name"]), Kind(one["kind"]), first, last, None, 0.0)
    known = [*lesson.pieces, *(piece for piece in lesson.around if piece.name == fresh.name)]
    piece = next((p for p in known if (p.name, p.first, p.last) == (fresh.name, first, last)), fresh)
    goal = saved["goal"]
    return Focus(
        piece,
        str(saved["why"]),
        None if goal is None else _rung(goal, rules),
        max(1, int(saved["needed"])),
        _standing(saved["standing"], rules),
    )


def _within(value: Any, top: int) -> int:
    return min(max(int(value), 0), top)
