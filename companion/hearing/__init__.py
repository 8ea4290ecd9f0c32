"""From the sound of a box to notes: what is learnt of it, and what is heard with that. Pure: arrays in, notes out."""
