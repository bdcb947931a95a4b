# Two commands matter: `make demo` runs the whole chain on an invented site, `make test` checks it.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
STAMP := $(VENV)/.installed
DEMO ?= demo-job

.PHONY: demo test lint bench accept pictures clean

$(STAMP): pyproject.toml constraints.txt
	test -x $(BIN)/python || $(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -c constraints.txt -e '.[all,test]'
	touch $@

demo: $(STAMP)
	$(BIN)/groundglow demo $(DEMO)

test: $(STAMP)
	$(BIN)/python -m pytest -m "not accept" -n 2 --dist loadfile

lint: $(STAMP)
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports

bench: $(STAMP)
	for bench in benchmarks/bench_*.py; do echo "== $$bench"; $(BIN)/python $$bench || exit 1; done

accept: $(STAMP)
	$(BIN)/python -m pytest -m accept

pictures: $(STAMP)
	$(BIN)/python tools/make_pictures.py

clean:
	rm -rf build dist demo-job demo-job-truth .pytest_cache .mypy_cache .ruff_cache
