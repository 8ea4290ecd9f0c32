"""A book of tunes, as every reader makes it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from companion.errors import UserError
from companion.tune.names import Asked, parts_of
from companion.tune.tune import Tune
from companion.tune.tune_values import Problem

_LISTED = 12  # tunes in a complaint


@dataclass(frozen=True, slots=True)
class Book:
    """The tunes of a file in written order; `problems` are those that are about no tune."""

    tunes: tuple[Tune, ...]
    problems: tuple[Problem, ...] = ()

    def tune(self, asked: Asked | None = None) -> Tune:
        """The tune of a number, or of a name (`companion.tune.names`); None is the first.

        Raises
        ------
        UserError
            Where the book has no such tune (it lists those that it has), or several (it says how to name each).
        """
        if asked is None:
            return self.tunes[0]
        number, nth = parts_of(asked) or (None, 0)
        of_it = [tune for tune in self.tunes if tune.number == number]
        if nth and nth <= len(of_it):
            return of_it[nth - 1]
        if not nth and len(of_it) > 1:
            named = _listed(f"{tune.name} {f'“{tune.title}”' if tune.title else 'without a title'}" for tune in of_it)
            raise UserError(f"{len(of_it)} tunes of this book have the number {number}; name one of them: {named}.")
        if not nth and of_it:
            return of_it[0]
        raise UserError(f"There is no tune {asked} in this book; it has {_listed(t.name for t in self.tunes)}.")


def told_apart(tunes: Sequence[Tune]) -> tuple[Tune, ...]:
    """The tunes of a book in written order, each of several with one number told which of them it is."""
    times = Counter(tune.number for tune in tunes)
    seen: Counter[int] = Counter()
    told = []
    for tune in tunes:
        seen[tune.number] += 1
        told.append(replace(tune, nth=seen[tune.number]) if times[tune.number] > 1 else tune)
    return tuple(told)


def _listed(names: Iterable[str]) -> str:
    known = list(names)
    return ", ".join(known[:_LISTED]) + (f" and {len(known) - _LISTED} more" if len(known) > _LISTED else "")
