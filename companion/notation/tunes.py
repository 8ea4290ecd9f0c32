"""A book of tunes, as every reader makes it."""

from __future__ import annotations

from dataclasses import dataclass

from companion.errors import UserError
from companion.tune.model import Problem
from companion.tune.tune import Tune


@dataclass(frozen=True, slots=True)
class Book:
    """The tunes of a file in written order; `problems` are those that are about no tune."""

    tunes: tuple[Tune, ...]
    problems: tuple[Problem, ...] = ()

    def tune(self, number: int | None = None) -> Tune:
        """The tune with a reference number; None is the first.

        Raises
        ------
        UserError
            Where the book has no such tune; it lists those that it has.
        """
        if number is None:
            return self.tunes[0]
        for tune in self.tunes:
            if tune.number == number:
                return tune
        known = [str(t.number) for t in self.tunes]
        listed = ", ".join(known[:12]) + (f" and {len(known) - 12} more" if len(known) > 12 else "")
        raise UserError(f"There is no tune {number} in this book; it has {listed}.")
