"""The tables of the record, one step a version. A change is a new step at the end; a released step never changes."""

from __future__ import annotations

STEPS: tuple[str, ...] = (
    """
    CREATE TABLE tune (
        id INTEGER PRIMARY KEY,
        print TEXT NOT NULL UNIQUE,      -- fingerprint of the notes of a round
        title TEXT NOT NULL,
        rhythm TEXT NOT NULL
    ) STRICT;
    CREATE TABLE sitting (               -- one session, from start to end
        id INTEGER PRIMARY KEY,
        tune INTEGER NOT NULL REFERENCES tune(id),
        box TEXT NOT NULL,
        began TEXT NOT NULL,             -- UTC, ISO 8601
        ended TEXT
    ) STRICT;
    CREATE TABLE round (
        id INTEGER PRIMARY KEY,
        sitting INTEGER NOT NULL REFERENCES sitting(id),
        piece TEXT NOT NULL,
        step TEXT NOT NULL,
        bpm REAL,                        -- NULL where there was no clock
        clean INTEGER NOT NULL CHECK (clean IN (0, 1)),
        standin INTEGER NOT NULL CHECK (standin IN (0, 1)),
        ended TEXT NOT NULL
    ) STRICT;
    CREATE INDEX round_sitting ON round(sitting);
    CREATE TABLE note_mark (
        round INTEGER NOT NULL REFERENCES round(id) ON DELETE CASCADE,
        seq INTEGER NOT NULL,
        written INTEGER,                 -- index into the round of the tune
        verdict TEXT NOT NULL,
        pitch INTEGER,
        heard_pitch INTEGER,
        late_ms REAL,
        cause TEXT,
        PRIMARY KEY (round, seq)
    ) STRICT, WITHOUT ROWID;
    CREATE TABLE standing (              -- where the player is: written together with each round
        tune INTEGER NOT NULL REFERENCES tune(id),
        box TEXT NOT NULL,
        standin INTEGER NOT NULL CHECK (standin IN (0, 1)),
        state TEXT NOT NULL,             -- JSON
        PRIMARY KEY (tune, box, standin)
    ) STRICT, WITHOUT ROWID;
    """,
    """
    ALTER TABLE tune ADD COLUMN bars TEXT;       -- JSON: [part, number in the part, which time, notes] for each bar
    ALTER TABLE tune ADD COLUMN target REAL;     -- beats a minute, NULL where it was not said
    ALTER TABLE standing ADD COLUMN put TEXT NOT NULL DEFAULT '';   -- when it was written
    CREATE INDEX sitting_tune ON sitting(tune, box);
    UPDATE standing SET put = coalesce((
        SELECT max(round.ended) FROM sitting JOIN round ON round.sitting = sitting.id
        WHERE sitting.tune = standing.tune AND sitting.box = standing.box AND round.standin = standing.standin
    ), '');
    CREATE TABLE review (                -- every review of a whole tune
        tune INTEGER NOT NULL REFERENCES tune(id),
        box TEXT NOT NULL,
        at TEXT NOT NULL,                -- UTC, ISO 8601
        rating INTEGER NOT NULL CHECK (rating BETWEEN 1 AND 4),   -- again, hard, good, easy
        PRIMARY KEY (tune, box, at)
    ) STRICT, WITHOUT ROWID;
    CREATE TABLE card (                  -- what the reviews led to
        tune INTEGER NOT NULL REFERENCES tune(id),
        box TEXT NOT NULL,
        card TEXT NOT NULL,              -- JSON
        due TEXT NOT NULL,               -- UTC, ISO 8601
        PRIMARY KEY (tune, box)
    ) STRICT, WITHOUT ROWID;
    -- Running totals of the player's own rounds (not the stand-in's), which `totals.py` keeps; days are the player's.
    CREATE TABLE piece_day (
        tune INTEGER NOT NULL REFERENCES tune(id),
        box TEXT NOT NULL,
        piece TEXT NOT NULL,
        day TEXT NOT NULL,
        rounds INTEGER NOT NULL,
        clean INTEGER NOT NULL,
        best REAL,                       -- the fastest clean round in time, beats a minute
        PRIMARY KEY (tune, box, piece, day)
    ) STRICT, WITHOUT ROWID;
    CREATE TABLE mistake_day (
        tune INTEGER NOT NULL REFERENCES tune(id),
        box TEXT NOT NULL,
        piece TEXT NOT NULL,
        day TEXT NOT NULL,
        cause TEXT NOT NULL,             -- a cause, or the verdict where nothing explains it
        times INTEGER NOT NULL,
        PRIMARY KEY (tune, box, piece, day, cause)
    ) STRICT, WITHOUT ROWID;
    CREATE TABLE note_month (
        tune INTEGER NOT NULL REFERENCES tune(id),
        box TEXT NOT NULL,
        written INTEGER NOT NULL,        -- index into the round of the tune
        month TEXT NOT NULL,
        asked INTEGER NOT NULL,
        mistaken INTEGER NOT NULL,
        PRIMARY KEY (tune, box, written, month)
    ) STRICT, WITHOUT ROWID;
    CREATE TABLE practice_day (
        tune INTEGER NOT NULL REFERENCES tune(id),
        box TEXT NOT NULL,
        day TEXT NOT NULL,
        ms INTEGER NOT NULL,             -- played, short waits between two rounds included
        PRIMARY KEY (tune, box, day)
    ) STRICT, WITHOUT ROWID;
    """,
)
