"""Running totals of the player's rounds, so that ten years of them are shown at once.

Each total is one statement over the rounds: of one round when it is kept (in the same transaction), of all of them
when a record is brought up to date or another one is read into it. The stand-in's rounds are not counted.
"""

from __future__ import annotations

import sqlite3

IDLE_MS = 300_000  # a longer wait between two rounds is not practice, and counts as this much

# A mark is a mistake when a note went wrong, or when a right one came with a cause (late where the bellows turn).
# What was not heard well enough to judge counts neither way.
_JUDGED = "n.verdict <> 'unsure'"
_MISTAKE = f"({_JUDGED} AND (n.cause IS NOT NULL OR n.verdict IN ('wrong', 'missed', 'extra')))"

_PIECES = """
    INSERT INTO piece_day (tune, box, piece, day, rounds, clean, best)
    SELECT s.tune, s.box, r.piece, substr(r.ended, 1, 10), count(*), sum(r.clean), max(CASE WHEN r.clean THEN r.bpm END)
    FROM round r JOIN sitting s ON s.id = r.sitting
    WHERE NOT r.standin {only}
    GROUP BY 1, 2, 3, 4
    ON CONFLICT DO UPDATE SET rounds = rounds + excluded.rounds, clean = clean + excluded.clean,
        best = coalesce(max(best, excluded.best), best, excluded.best)
"""
_MISTAKES = f"""
    INSERT INTO mistake_day (tune, box, piece, day, cause, times)
    SELECT s.tune, s.box, r.piece, substr(r.ended, 1, 10), coalesce(n.cause, n.verdict), count(*)
    FROM round r JOIN sitting s ON s.id = r.sitting JOIN note_mark n ON n.round = r.id
    WHERE NOT r.standin AND {_MISTAKE} {{only}}
    GROUP BY 1, 2, 3, 4, 5
    ON CONFLICT DO UPDATE SET times = times + excluded.times
"""
_NOTES = f"""
    INSERT INTO note_month (tune, box, written, month, asked, mistaken)
    SELECT s.tune, s.box, n.written, substr(r.ended, 1, 7), count(*), sum({_MISTAKE})
    FROM round r JOIN sitting s ON s.id = r.sitting JOIN note_mark n ON n.round = r.id
    WHERE NOT r.standin AND n.written IS NOT NULL AND {_JUDGED} {{only}}
    GROUP BY 1, 2, 3, 4
    ON CONFLICT DO UPDATE SET asked = asked + excluded.asked, mistaken = mistaken + excluded.mistaken
"""
# The time from the round before, or from the beginning of the sitting. A clock set back takes nothing away.
_TIME = """
    INSERT INTO practice_day (tune, box, day, ms)
    SELECT tune, box, substr(ended, 1, 10),
        sum(min(max(CAST(round((julianday(ended) - julianday(since)) * 86400000) AS INTEGER), 0), {idle}))
    FROM ({rounds})
    WHERE NOT standin
    GROUP BY 1, 2, 3
    ON CONFLICT DO UPDATE SET ms = ms + excluded.ms
"""
_ONE_SINCE = """
    SELECT s.tune, s.box, r.ended, r.standin, coalesce(
        (SELECT p.ended FROM round p WHERE p.sitting = r.sitting AND p.id < r.id ORDER BY p.id DESC LIMIT 1), s.began
    ) AS since
    FROM round r JOIN sitting s ON s.id = r.sitting
    WHERE r.id = :round
"""
_ALL_SINCE = """
    SELECT s.tune, s.box, r.ended, r.standin, coalesce(
        lag(r.ended) OVER (PARTITION BY r.sitting ORDER BY julianday(r.ended), r.id), s.began
    ) AS since
    FROM round r JOIN sitting s ON s.id = r.sitting
"""
_TABLES = ("piece_day", "mistake_day", "note_month", "practice_day")


def count_round(db: sqlite3.Connection, number: int) -> None:
    """Add one round to the totals, in the transaction that keeps it."""
    for statement in (_PIECES, _MISTAKES, _NOTES):
        db.execute(statement.format(only="AND r.id = :round"), {"round": number})
    db.execute(_TIME.format(idle=IDLE_MS, rounds=_ONE_SINCE), {"round": number})


def count_anew(db: sqlite3.Connection) -> None:
    """Count all rounds, in the transaction that changed them."""
    for table in _TABLES:
        db.execute(f"DELETE FROM {table}")
    for statement in (_PIECES, _MISTAKES, _NOTES):
        db.execute(statement.format(only=""))
    db.execute(_TIME.format(idle=IDLE_MS, rounds=_ALL_SINCE))
