# Every task of the house. `make test` is the one that matters.

PYTHON ?= python3
VENV := .venv

.PHONY: test rust-test checks lint bench fuzz clean

test: rust-test checks ## everything: the Rust tests and the checks by independent readers

rust-test:
	cargo test --workspace --release --quiet

checks: $(VENV)/ready
	cargo build --release --quiet
	$(VENV)/bin/python -m pytest -q checks

$(VENV)/ready: checks/requirements.txt
	$(PYTHON) -m venv $(VENV)
	$(VENV)/bin/pip install --quiet --requirement checks/requirements.txt
	touch $@

lint:
	cargo fmt --all --check
	cargo clippy --workspace --all-targets --release --quiet -- -D warnings
	RUSTDOCFLAGS="-D warnings" cargo doc --workspace --no-deps --quiet

fuzz: ## damaged mesh files, for FEATHERLINE_FUZZ_SECONDS (default 600)
	FEATHERLINE_FUZZ_SECONDS=$${FEATHERLINE_FUZZ_SECONDS:-600} \
		cargo test --release --package featherline-geometry --test read_fuzz -- --nocapture

bench:
	cargo bench --workspace

clean:
	rm -rf target $(VENV) out
