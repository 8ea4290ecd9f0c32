# Two commands do all the set-up: `make play` runs the program, `make test` runs the tests.
PYTHON ?= python3
VENV ?= .venv
BIN := $(VENV)/bin

.PHONY: play test check fuzz mutants bench pictures soundfont clean
.DEFAULT_GOAL := play

play: $(VENV)/ready-play
	$(BIN)/companion practise --tune 1

# What needs no server runs on all cores at once. The tests that need one mostly wait, so four run at a time, each beside
# servers of its own.
SERVED := midi_server or sound_server or display_server
test: $(VENV)/ready-test
	$(BIN)/python -m pytest -n auto -m "not ($(SERVED))"
	$(BIN)/python -m pytest -n 4 --dist loadfile --no-loadscope-reorder -m "$(SERVED)"

check: $(VENV)/ready-test
	$(BIN)/ruff check companion tests benchmarks
	$(BIN)/ruff format --check companion tests benchmarks
	$(BIN)/mypy

# Fuzzes the file readers for two minutes; with atheris where it can be installed, else with hypothesis.
fuzz: $(VENV)/ready-fuzz
	$(BIN)/python tests/fuzz/for_a_while.py 120

# Mutation testing of one part (see tests/README.md): make mutants PART=fingering; AGAIN=again takes only what survived.
mutants: $(VENV)/ready-test
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -e '.[mutants]'
	$(BIN)/python -m tests.mutants $(PART) $(AGAIN)

bench: $(VENV)/ready-test
	$(BIN)/python -m benchmarks

# The README's pictures, from a real session's window on devices run by hand.
pictures: $(VENV)/ready-test
	$(BIN)/python -m tests.screen.pictures

soundfont: $(VENV)/ready-play
	$(BIN)/python -m companion.sound.build_soundfont

$(VENV)/bin/python:
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || \
	  { echo "Box Companion needs Python 3.11 or newer; name one with: make PYTHON=python3.12 $(MAKECMDGOALS)"; exit 2; }
	$(PYTHON) -m venv $(VENV)

$(VENV)/ready-play: pyproject.toml | $(VENV)/bin/python
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -e .
	@touch $@

$(VENV)/ready-test: pyproject.toml | $(VENV)/bin/python
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -e '.[test]'
	@touch $@ $(VENV)/ready-play

$(VENV)/ready-fuzz: $(VENV)/ready-test
	-$(BIN)/python -m pip install --quiet --disable-pip-version-check -e '.[fuzz]'
	@touch $@

clean:
	rm -rf $(VENV) build dist
