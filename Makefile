# Two commands matter: `make demo` does the main job on the demo shop, `make test` runs everything CI runs.
# Both set up what they need first: a virtual environment of the project's own, the extension, the tools.

PYTHON ?= python3
VENV   := .venv
BIN    := $(VENV)/bin

# No plot of ours opens a window, and no build of ours writes outside this folder.
export MPLBACKEND := Agg
export PATH := $(CURDIR)/$(BIN):$(PATH)
export VIRTUAL_ENV := $(CURDIR)/$(VENV)
export PIP_QUIET := 1

RUST_SOURCES := Cargo.toml Cargo.lock python/Cargo.toml $(shell find src python/src -type f)
NOTEBOOKS    := $(wildcard notebooks/*.py)

.PHONY: setup demo test rust python format bench prediction calibration docs notebooks deny clean

setup: $(VENV)/.built  ## environment, tools, extension; does nothing when nothing changed

$(VENV)/.tools: pyproject.toml
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || { echo 'Python 3.11 or newer is needed; name one with PYTHON='; exit 1; }
	@command -v cargo >/dev/null || { echo 'A Rust toolchain (1.85 or newer) is needed'; exit 1; }
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --upgrade pip 'maturin>=1.9.4,<2'
	@touch $@

$(VENV)/.built: $(VENV)/.tools $(RUST_SOURCES)
	$(BIN)/maturin develop --release --extras plot,report,frames,cli,dev --quiet
	@touch $@

demo: setup  ## plan, log, readings, decision and sheet of the demo shop, with its answers printed
	$(BIN)/python notebooks/demo.py

test: rust python  ## everything CI runs

rust: $(VENV)/.tools  ## format, lints, docs, core tests, the arrow between the rooms
	cargo fmt --all --check
	cargo clippy --workspace --all-targets --quiet -- -D warnings
	RUSTDOCFLAGS='-D warnings' cargo doc --workspace --no-deps --quiet
	cargo tree -p afterquench -e normal > target/core-tree.txt
	! grep -q pyo3 target/core-tree.txt
	cargo test

python: setup deny  ## lints, types, stubs, Python tests with doctests, notebooks
	ruff check
	ruff format --check
	mypy
	pyright
	python -m mypy.stubtest afterquench._native --allowlist tests/python/stubtest_allowlist.txt --mypy-config-file pyproject.toml --ignore-disjoint-bases
	pytest
	$(MAKE) notebooks

notebooks: setup  ## runs each notebook once
	jupytext --quiet --to ipynb $(NOTEBOOKS)
	pytest --nbmake --override-ini testpaths=notebooks --nbmake-timeout=120 notebooks

deny: setup  ## licences, duplicate versions and sources of the dependencies
	cargo deny --workspace check licenses bans sources

bench: setup  ## divan benches of the core, ratios against NumPy, SciPy and numba, then what is promised beside its bars
	cargo bench --bench kernels --bench coupons
	python benches/side_by_side.py
	python benches/promised.py

calibration: setup  ## invented logs, coupons and parts of known truth: how often the stated ranges hold it (takes minutes)
	PYTHONPATH=tests/python $(BIN)/python -m oven_truth docs/calibration_oven.md
	PYTHONPATH=tests/python $(BIN)/python -m oven_truth.sensors docs/faults.md
	$(BIN)/python benches/calibration_coupons.py
	$(BIN)/python benches/calibration_decisions.py

prediction: setup  ## fits the composition predictor again and scores it beside its rivals, a steel left out at a time
	$(BIN)/python -m pip install 'scikit-learn>=1.5,<2'
	python benches/prediction/fit.py
	python benches/prediction/benchmark.py
	python benches/prediction/report.py

docs: setup  ## the pictures of README and docs, and the gallery of refusals
	python docs/pictures/draw.py
	python tests/python/test_error_gallery.py

format:  ## mends what fmt and ruff can mend
	cargo fmt --all
	ruff check --fix
	ruff format

clean:  ## everything that can be made again
	cargo clean
	rm -rf $(VENV) demo-output notebooks/*.ipynb
