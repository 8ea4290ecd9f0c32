"""The tables of the record, one step a version. A change is a new step at the end; a step that is out never changes."""

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
)
