# Two commands do everything on a fresh machine: `make demo` and `make test`.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
WORKSHOP ?= saltmere

.PHONY: demo test check format docs figures clean bench-model bench-imaging bench-estimate bench-closed-loop bench-sentences bench-web

$(VENV)/.base: pyproject.toml
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --upgrade pip
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -e .
	@touch $@

$(VENV)/.dev: $(VENV)/.base
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -e '.[dev]'
	@touch $@

demo: $(VENV)/.base
	$(BIN)/inkhorn demo $(WORKSHOP) $(DEMO_FLAGS)

# A test process a core already: threads of the linear algebra beside them would only wait for one another.
test: $(VENV)/.dev
	OPENBLAS_NUM_THREADS=1 OMP_NUM_THREADS=1 $(BIN)/python -m pytest -n auto

check: $(VENV)/.dev
	$(BIN)/ruff format --check src tests benchmarks validation docs
	$(BIN)/ruff check src tests benchmarks validation docs
	$(BIN)/mypy
	$(BIN)/lint-imports --no-cache
	$(BIN)/inkhorn handbook --check

format: $(VENV)/.dev
	$(BIN)/ruff format src tests benchmarks validation docs
	$(BIN)/ruff check --fix src tests benchmarks validation docs

docs: $(VENV)/.dev
	$(BIN)/python docs/refresh.py

figures: $(VENV)/.dev
	$(BIN)/python docs/figures/make.py

bench-model: $(VENV)/.dev
	$(BIN)/python benchmarks/model.py

bench-imaging: $(VENV)/.dev
	$(BIN)/python benchmarks/imaging_accuracy.py
	$(BIN)/python benchmarks/imaging_card.py
	$(BIN)/python benchmarks/imaging_speed.py

bench-estimate: $(VENV)/.dev
	$(BIN)/python benchmarks/estimate.py
	$(BIN)/python benchmarks/coverage.py
	$(BIN)/python benchmarks/calibration.py
	$(BIN)/python benchmarks/samplers.py

bench-closed-loop: $(VENV)/.dev
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -e '.[bench]'
	$(BIN)/python -m benchmarks.closed_loop --without-misfit --figure

bench-sentences: $(VENV)/.dev
	$(BIN)/python benchmarks/sentences.py

bench-web: $(VENV)/.dev
	$(BIN)/python benchmarks/web.py

clean:
	rm -rf $(VENV) $(WORKSHOP) .pytest_cache .mypy_cache .ruff_cache .hypothesis
