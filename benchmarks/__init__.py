"""What is measured against what. `make bench` runs all of it and prints one table a room."""
