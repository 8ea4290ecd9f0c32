"""A practice session with its devices: what puts tune, box, lesson, sound, hearing, screen and record together."""
