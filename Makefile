# Every task of the house. `make test` is the one that matters.

PYTHON ?= python3
# Files are UTF-8 everywhere, whatever language the machine speaks.
export PYTHONUTF8 := 1
VENV := .venv
PAGE := web/node_modules
# All of it at once: for one program alone cargo would build what it stands on a second time.
BUILD := cargo build --release --quiet --workspace --bins --examples

.PHONY: help test rust-test page-test checks screenshots large-cuts scans taped lint spelling deny bench hands range peers plots patches curves fuzz clean

test: rust-test page-test checks ## everything: the Rust tests, the page's, and the checks by independent readers

rust-test: ## the Rust tests alone
	cargo test --workspace --release --quiet

page-test: $(PAGE)/ready ## the tests of the workbench's page that need no browser
	cd web && npm test --silent

$(PAGE)/ready: web/package-lock.json
	cd web && npm ci --no-audit --no-fund --silent
	touch $@

checks: $(VENV)/ready ## the checks by independent readers alone
	$(BUILD)
	$(VENV)/bin/python -m pytest -q --numprocesses 2 --dist worksteal checks

screenshots: $(VENV)/ready $(PAGE)/ready ## the pictures of the guide and of the README, and docs/guide.md from the words of the page
	$(BUILD)
	$(VENV)/bin/python docs/pictures/take.py
	cd web && npx vitest run test/guide.test.ts --update

large-cuts: $(VENV)/ready ## relief cuts in bands of 50,000 triangles
	$(BUILD)
	FEATHERLINE_LARGE_CUTS=1 $(VENV)/bin/python -m pytest -q checks/flatten/test_cuts.py

scans: $(VENV)/ready ## two hundred invented scans measured against the truth, and twenty poses of two
	$(BUILD)
	FEATHERLINE_ALL_SCANS=1 $(VENV)/bin/python -m pytest -q checks/measure/test_two_hundred.py \
		checks/measure/test_measure_again.py

taped: $(VENV)/ready ## two hundred lasts from tape measures, measured again
	$(BUILD)
	FEATHERLINE_ALL_TAPED=1 $(VENV)/bin/python -m pytest -q --numprocesses 2 checks/last/test_taped_last.py

$(VENV)/ready: checks/requirements.txt
	$(PYTHON) -m venv $(VENV)
	$(VENV)/bin/pip install --quiet --requirement checks/requirements.txt
	touch $@

lint: $(PAGE)/ready ## form, clippy, docs and the page's types, a warning being an error
	cd web && npm run check --silent
	cargo fmt --all --check
	cargo clippy --workspace --all-targets --release --quiet -- -D warnings
	RUSTDOCFLAGS="-D warnings" cargo doc --workspace --no-deps --release --quiet

fuzz: ## damaged mesh files, for FEATHERLINE_FUZZ_SECONDS (default 600) for each of the six readers
	FEATHERLINE_FUZZ_SECONDS=$${FEATHERLINE_FUZZ_SECONDS:-600} \
		cargo test --release --package featherline-geometry --test read_fuzz -- --nocapture

patches: $(VENV)/ready ## a thousand random patches of lasts and feet laid flat and checked; FEATHERLINE_PATCHES sets how many
	$(BUILD)
	FEATHERLINE_PATCHES=$${FEATHERLINE_PATCHES:-1000} \
		$(VENV)/bin/python -m pytest -q checks/flatten/test_many_patches.py

curves: $(VENV)/ready ## random curves on surfaces, FEATHERLINE_CURVES (default 1000), and all parallel lines
	FEATHERLINE_CURVES=$${FEATHERLINE_CURVES:-1000} \
		cargo test --release --package featherline-geometry --test cutting_apart -- --nocapture
	FEATHERLINE_CURVES=$${FEATHERLINE_CURVES:-1000} $(VENV)/bin/python -m pytest -q -s checks/surface

spelling: $(VENV)/spelling ## spelling, by rules in typos.toml
	$(VENV)/bin/typos

$(VENV)/spelling: $(VENV)/ready
	$(VENV)/bin/pip install --quiet typos==1.52.0
	touch $@

deny: ## licences, sources and advisories; needs `cargo install --locked cargo-deny` once
	cargo deny --all-features check

bench: ## the benches beside the kernels
	cargo bench --workspace

hands: $(VENV)/ready ## how soon the workbench answers a hand, server and page apart; a large scan read, sent and seen
	$(BUILD)
	$(VENV)/bin/python crates/featherline/benches/hands.py

range: $(VENV)/plots ## how long a range of sizes takes, in cold solves of the same run
	$(BUILD)
	$(VENV)/bin/python crates/featherline/benches/range.py

peers: $(VENV)/ready ## flattening against libigl by turns: ratios of times, energies, memory
	$(BUILD)
	$(VENV)/bin/python crates/flatten/benches/by_turns.py

plots: $(VENV)/plots ## time and memory of `measure` and `flatten` against triangles, drawn into target/plots
	$(BUILD)
	$(VENV)/bin/python crates/shoe/benches/plots.py
	$(VENV)/bin/python crates/flatten/benches/growth.py

$(VENV)/plots: $(VENV)/ready
	$(VENV)/bin/pip install --quiet matplotlib==3.11.1
	touch $@

help: ## this list
	@grep -hE '^[a-z-]+:.*##' $(MAKEFILE_LIST) | sed -E 's/:.*## /\t/' | expand -t 14

clean: ## what was built and fetched here
	rm -rf target $(VENV) $(PAGE) out
