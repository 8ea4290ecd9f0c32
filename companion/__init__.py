"""Box Companion: a practice companion for players and tutors of the two-row button accordion."""

__version__ = "0.1.0"
