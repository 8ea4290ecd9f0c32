"""The parts of `benchmarks.hour_under_load`, each a process of its own but for what is only looked at."""
