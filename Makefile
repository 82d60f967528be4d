# SPDX-License-Identifier: GPL-3.0-or-later
#
# make             builds the program, build/release/loopwright
# make demo        builds it, runs scenarios/demo.yaml and says what happened
# make check       tries all that can be tried; a quarter of an hour
#                  FAST=1: only the steps that take three minutes together
#                  OCTAVE=1: installs GNU Octave first, for one more comparison
# make paper       writes docs/checks.md anew, the table of values from outside
# make fault       lets memory, files and threads fail at each call of each command; hours
# make kill        kills each command at each of its file operations; some minutes
#                  PART=0/4: only a quarter of either; CASE=soak-out: only that command;
#                  MOST=100: of each failure of each command only so many points
# make tsan        looks for threads that get in each other's way
# make bench       measures what a move costs, beside the goals; some minutes
# make install     to PREFIX (/usr/local), below DESTDIR if given; `make uninstall` undoes it.
#                  tools/package/install.mk says more of it, and of packages
# make design-nights  designs the briefs of tests/design with whole nights; some minutes
# make format      lays out C sources and the page's scripts by .clang-format
# make clean       removes build/
#
# MODE=debug       the same with the address and undefined-behaviour sanitizers, in build/debug
# CC=clang         the same with clang, in build/release-clang
# V=1              shows each command in full
#
# What is missing on a Debian machine is installed first, by tools/setup.sh, which says so.

MODE ?= release
PREFIX ?= /usr/local
CLANG := $(findstring clang,$(CC))
O := build/$(MODE)$(CLANG:%=-%)

PACKAGES := gsl yaml-0.1 jansson zlib
WARN := -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wmissing-prototypes \
	-Wstrict-prototypes -Wswitch-enum -Werror
release := -O3 -g $(if $(CLANG),,-flto=auto -ffat-lto-objects)
debug := -Og -g -fsanitize=address,undefined,float-cast-overflow -fno-sanitize-recover=all
tsan := -O1 -g -fsanitize=thread
fuzz := -O2 -g -fsanitize=address,undefined,float-cast-overflow,fuzzer-no-link \
	-fno-sanitize-recover=all
FLAGS = -std=c17 $(WARN) -ffp-contract=off -pthread -I. -D_POSIX_C_SOURCE=200809L \
	-ffile-prefix-map=$(CURDIR)=. $($(MODE)) $(CPPFLAGS) $(CFLAGS)
# Asked in the recipes only, because set-up may have to install pkg-config first.
HEADERS = $(shell pkg-config --cflags $(PACKAGES))
LIBS = $(shell pkg-config --libs $(PACKAGES)) -lglpk -lm
CHECK_HEADERS = $(shell pkg-config --cflags check)
CHECK_LIBS = $(shell pkg-config --libs check)

# All processors, where the caller has not said how many jobs may run.
JOBS = $(if $(findstring jobserver,$(MAKEFLAGS)),,-j$(shell nproc 2>/dev/null || echo 2))

# Each command is shown in full, or just what it makes.
Q = $(if $V,,@echo "  $@";)

objects = $(patsubst %.c,$O/%.o,$(sort $(wildcard $1)))
programs = $(patsubst %.c,$O/%,$(sort $(wildcard $1)))
TOOL := $(call objects,sim/*.c model/*/*.c tools/*.c tools/*/*.c) \
	$O/tools/page/assets_data.o $O/tools/new/kinds.o
PARTS := $(filter-out $O/tools/loopwright.o,$(TOOL))
EXACT := $(call objects,tests/exact/*.c)
LITERAL := $(call objects,tests/exact/literal*.c)
# What runs a scenario, and what both engines are compared by.
ENGINE := $(call objects,sim/*.c model/scenario/*.c model/reader/*.c model/engine/*.c \
	model/state/*.c tools/record/event_kinds.c tools/record/state_names.c)
COMMON := $O/tests/common/dice.o $O/tests/common/processor.o
BENCH := $(call objects,tests/bench/*.c) $(PARTS) $(LITERAL)
UPSET := $(addprefix $O/tests/fault/,command_case.o place.o trial.o sweep.o)
TESTS := $(call programs,tests/*/test_*.c)
# What the page of `report` is made of: ours, and the chart library that set-up fetches.
CHARTS := build/npm/node_modules/uplot
PAGE := $(sort $(wildcard tools/page/*.html tools/page/*.css tools/page/*.js)) \
	$(addprefix $(CHARTS)/,dist/uPlot.iife.min.js dist/uPlot.min.css LICENSE)
FUZZERS := $(call programs,tests/fuzz/fuzz_*.c)
SCENARIOS := $(sort $(wildcard scenarios/*.yaml tests/*/*.yaml tests/*/*/*.yaml))

.PHONY: all setup demo tests probe upset clean
all: $O/loopwright
tests: all $(TESTS) $O/tests/exact/compare
probe: $O/tests/bench/probe
upset: all $O/tests/fault/fault $O/tests/kill/kill $O/tests/fault/shim.so

$O/loopwright: $(TOOL)
	$(Q)$(CC) $(FLAGS) $(LDFLAGS) $^ $(LIBS) -o $@
# Without work on the whole program, which takes longer than it saves.
$O/tests/exact/compare: $(EXACT) $(COMMON) $(ENGINE)
	$(Q)$(CC) $(FLAGS) -fno-lto $(LDFLAGS) $^ $(LIBS) -o $@
# Loaded before the program, to let its calls fail.
$O/tests/fault/shim.so: tests/fault/shim.c tests/fault/shim.h $O/flags
	@mkdir -p $(@D)
	$(Q)$(CC) $(FLAGS) -fno-lto -fPIC -shared $(LDFLAGS) $< -o $@
$O/tests/fault/fault $O/tests/kill/kill: $O/%: $O/%.o $(UPSET) $(PARTS)
	$(Q)$(CC) $(FLAGS) -fno-lto $(LDFLAGS) $^ $(LIBS) -o $@
# As shipped, and once with whole functions, whose calls can be counted.
$O/tests/bench/probe: $(BENCH)
	$(Q)$(CC) $(FLAGS) $(LDFLAGS) $^ $(LIBS) -o $@
$O/tests/bench/probe-whole: $(BENCH)
	$(Q)$(CC) $(FLAGS) -fno-lto $(LDFLAGS) $^ $(LIBS) -o $@
# A test is linked with what its directory shares (files not named test_*) and what all tests share.
.SECONDEXPANSION:
shared = $(filter-out $O/$1test_%,$(call objects,$1*.c))
$(TESTS): $O/%: $O/%.o $(PARTS) $(call objects,tests/common/*.c) $$(call shared,$$(dir $$*))
	$(Q)$(CC) $(FLAGS) -fno-lto $(LDFLAGS) $^ $(LIBS) $(CHECK_LIBS) -o $@
$O/tests/unit/test_literal: $(LITERAL)
SCATTERED := unit/test_state unit/test_world_audit unit/test_record unit/test_soak_audit \
	unit/test_capsule unit/test_corners unit/test_identities unit/test_certificate \
	unit/test_arm_books unit/test_mends story/test_replay
$(SCATTERED:%=$O/tests/%): $O/tests/exact/scatter.o
DESIGNED := design sweep
$(DESIGNED:%=$O/tests/design/test_%): $O/tests/story/errand.o $O/tests/story/story.o
$O/tests/unit/test_long: $O/tests/bench/ring.o $O/tests/exact/scatter.o $(LITERAL)
$O/tests/unit/test_explanation: $O/tests/bench/ring.o
# With MODE=fuzz libFuzzer calls a target, else replay.c with the files of a corpus.
FUZZ_SHARED := $(filter-out $(if $(filter fuzz,$(MODE)),%/replay.o) $O/tests/fuzz/fuzz_%, \
	$(call objects,tests/fuzz/*.c)) $O/tests/unit/same_scenario.o $O/tests/unit/corners.o
$(FUZZERS): $O/%: $O/%.o $(PARTS) $(COMMON) $(filter-out %/compare.o,$(EXACT)) $(FUZZ_SHARED)
	$(Q)$(CC) $(FLAGS) -fno-lto $(if $(filter fuzz,$(MODE)),-fsanitize=fuzzer) $(LDFLAGS) \
		$^ $(LIBS) -o $@
# A test needs more than the program: what it needs is installed first, too.
$(patsubst %.c,$O/%.o,$(wildcard tests/*/*.c)): | setup-check
$O/tests/%.o: HEADERS += $(CHECK_HEADERS)
$O/%.o: %.c $O/flags | setup
	@mkdir -p $(@D)
	$(Q)$(CC) $(FLAGS) $(HEADERS) -MMD -MP -c $< -o $@
# Made anew when a file of the page has changed, or when the chart library has come or gone.
$O/tools/page/assets_data.c: FORCE | setup
	@mkdir -p $(@D)
	@tools/page/embed.sh $(PAGE) >$@.new
	@if cmp -s $@.new $@; then rm $@.new; else mv $@.new $@; fi
	@test -r $(CHARTS)/LICENSE || echo "  without the page of \`report\`: uPlot is not here"
$O/tools/page/assets_data.o: $O/tools/page/assets_data.c $O/flags
	$(Q)$(CC) $(FLAGS) $(HEADERS) -c $< -o $@
-include $(wildcard $O/*/*.d $O/*/*/*.d)
# The scenarios to start from are part of the program.
KINDS := tools/new/loop.yaml tools/new/brief.yaml $(sort $(wildcard scenarios/*.yaml))
$O/tools/new/kinds.c: tools/new/texts.sh $(KINDS)
	@mkdir -p $(@D)
	@tools/new/texts.sh $(KINDS) >$@
$O/tools/new/kinds.o: $O/tools/new/kinds.c $O/flags | setup
	$(Q)$(CC) $(FLAGS) -c $< -o $@
# The flags of the last build: all is compiled again when they change, and not when a line of this
# file does.
$O/flags: FORCE
	@mkdir -p $(@D)
	@echo '$(CC) $(FLAGS) $(LDFLAGS)' | cmp -s - $@ || echo '$(CC) $(FLAGS) $(LDFLAGS)' >$@

# One after the other, because only one apt-get can run at a time. SETUP=done: both do nothing.
setup:
	@$(if $(filter done,$(SETUP)),,CC="$(CC)" tools/setup.sh build)
setup-check: setup
	@$(if $(filter done,$(SETUP)),,CC="$(CC)" tools/setup.sh check $(if $(OCTAVE),octave))

demo:
	@tools/setup.sh page
	@$(MAKE) --no-print-directory $(JOBS) all
	@echo; echo "scenarios/demo.yaml, whose head says what should happen:"; echo
	@$O/loopwright run scenarios/demo.yaml --out build/demo
	@echo "events.csv there tells what happened when, occupancy.csv what lay on the lane;"
	@echo "docs/files.md explains them all."
	@echo; $O/loopwright report build/demo

# docs/checks.md anew, from what the checks against values from outside find.
.PHONY: paper
paper: run-outside
	@tests/outside/paper.sh $O/tests/outside write

# Counts under callgrind: Debian's valgrind must be there, which `make check` sees to.
.PHONY: bench
PROBES := $O/tests/bench/probe $O/tests/bench/probe-whole
bench: all $(PROBES)
	@tests/bench/bench.sh $O/tests/bench $O/loopwright

# Each command with a call of it that fails, or in which it is killed (tests/fault/sweep.h).
.PHONY: fault kill tsan
UPSETS := $O/loopwright $O/tests/fault/shim.so
fault kill: upset
	@$O/tests/$@/$@ $(UPSETS) $(PART:%=--part %) $(CASE:%=--case %) $(MOST:%=--most %)
tsan:
	@$(MAKE) --no-print-directory $(JOBS) all MODE=tsan
	@tests/fault/threads.sh build/tsan/loopwright

# ---- make check: one line a step; what a step printed is shown only when it fails ----

# The steps run side by side, as far as one does not need what another makes; each `make` in them
# takes its jobs from the same pool.
.PHONY: check check-steps setup-check FORCE
FAST_STEPS := layout includes circles licence columns types bite papers guarantees build symbols \
	unit story design scenarios random random-debug schema typos mistakes man completion \
	editor terminal data tutorial waves
FULL_STEPS := page outside paper others probe guard clang clang-states debug unit-debug \
	story-debug corpora slurm valgrind limits upset fault kill threads
STEPS := $(addprefix step-,$(FAST_STEPS) $(if $(FAST),,$(FULL_STEPS)))
STEP := tests/house/step.sh build/log
.PHONY: $(addprefix step-,$(FAST_STEPS) $(FULL_STEPS))
check: setup-check
	@rm -f build/log/skipped
	@$(MAKE) --no-print-directory $(JOBS) check-steps MODE=release SETUP=done
check-steps: $(STEPS)
	@if [ -s build/log/skipped ]; then echo "all that was tried holds"; else echo "all holds"; fi

step-layout:      ; @$(STEP) "laid out by .clang-format" tests/house/format.sh
step-includes:    ; @$(STEP) "includes point down"    tests/house/floors.sh
step-circles:
	@$(STEP) "no circles of files"    tests/house/circles.sh
step-licence:     ; @$(STEP) "licence lines"          tests/house/licence.sh
step-columns:     ; @$(STEP) "a hundred columns"      tests/house/columns.sh
step-types:       ; @$(STEP) "page's scripts by type" tests/page/types.sh
step-bite:        ; @$(STEP) "house checks bite"      tests/house/bite.sh
step-papers:      ; @$(STEP) "papers name what is"    tests/house/readme.sh
step-guarantees:  ; @$(STEP) "promises have tests"    tests/house/guarantees.sh
step-build:       ; @$(STEP) "build"                  $(MAKE) tests
step-symbols: step-build
	@$(STEP) "symbols named for files" tests/house/symbols.sh $O
step-unit: step-build
	@$(STEP) "unit tests"             $(MAKE) -k run-unit
step-story: step-build
	@$(STEP) "stories"                $(MAKE) -k run-story
step-design: step-build
	@$(STEP) "designs from briefs"    $(MAKE) -k run-design
step-scenarios: step-build
	@$(STEP) "both engines: scenarios" $O/tests/exact/compare $(SCENARIOS)
step-random: step-build
	@$(STEP) "both engines: random"   $O/tests/exact/compare \
		--random $(if $(FAST),300,2000) --seed 1 --chance-every 4
step-random-debug: step-build
	@$(STEP) "both engines, sanitized" $(MAKE) run-random MODE=debug
step-schema: step-build
	@$(STEP) "schema against reader"  tests/manual/schema.py $O/loopwright
step-typos: step-build
	@$(STEP) "the right word for a typo" tests/manual/typos.py $O/loopwright
step-mistakes: step-build
	@$(STEP) "mistakes and answers"   tests/manual/mistakes.py $O/loopwright
step-man: step-build
	@$(STEP) "manual pages"           tests/manual/man.sh $O/loopwright
step-completion: step-build
	@$(STEP) "completion"             tests/manual/completion.py $O/loopwright
step-data: step-build
	@$(STEP) "tables in pandas and R" tests/manual/data.py $O/loopwright
step-tutorial: step-build
	@$(STEP) "pages as a reader would"  tests/manual/tutorial.py $O/loopwright \
		docs/tutorial.md docs/why-it-jams.md docs/runs-empty.md docs/overnight.md
step-limits: step-build
	@$(STEP) "limits at their edges" tests/manual/limits.py $O/loopwright
step-terminal: step-build
	@$(STEP) "terminals and pipes"    tests/manual/terminal.py $O/loopwright
step-waves: step-build
	@$(STEP) "waveforms read back"    tests/manual/waves.py $O/loopwright
step-editor: step-build
	@$(STEP) "scenarios in an editor" tests/manual/editor.py
step-page: step-build
	@$(STEP) "page in a browser"      tests/page/page.sh $O/loopwright build/page
step-outside: step-build
	@$(STEP) "values from outside"    $(MAKE) -k run-outside
step-paper: step-outside
	@$(STEP) "docs/checks.md is theirs" tests/outside/paper.sh $O/tests/outside
step-others: step-outside
	@$(STEP) "other programs"         tests/outside/others.sh $O/tests/outside
step-probe: step-build
	@$(STEP) "build to measure"       $(MAKE) probe
step-guard: step-probe
	@$(STEP) "what a move costs"      tests/bench/guard.sh $O/tests/bench
step-clang: step-build
	@$(STEP) "build with clang"       $(MAKE) tests probe CC=clang
step-clang-states: step-clang
	@$(STEP) "same states with clang" build/release-clang/tests/unit/test_state
step-debug: step-build step-random-debug
	@$(STEP) "build with sanitizers"  $(MAKE) tests probe MODE=debug
step-unit-debug: step-debug
	@$(STEP) "unit tests, sanitized"  $(MAKE) -k run-unit MODE=debug
step-story-debug: step-debug
	@$(STEP) "stories, sanitized"     $(MAKE) -k run-story MODE=debug
step-corpora: step-debug
	@$(STEP) "corpora of the fuzzers"  $(MAKE) run-corpora MODE=debug
step-slurm: step-build
	@$(STEP) "soak as a job array"    tests/slurm/array.sh $O/loopwright
step-valgrind: step-build
	@$(STEP) "memory, by valgrind"    tests/house/valgrind.sh $O/loopwright scenarios/*.yaml

step-upset: step-build
	@$(STEP) "build to disturb"       $(MAKE) upset
step-fault: step-upset
	@$(STEP) "calls that fail"        $O/tests/fault/fault $(UPSETS) --most 6
step-kill: step-upset
	@$(STEP) "kills"                  $O/tests/kill/kill $(UPSETS) --most 6
step-threads:
	@$(STEP) "threads, sanitized"     $(MAKE) tsan

# Enough for the sanitizers to see a fault that any run of the engine has.
.PHONY: run-random
run-random: $O/tests/exact/compare
	@$< --random 60 --seed 1 --chance-every 4

# run-KIND runs the test programs of tests/KIND side by side; the log is kept beside the program.
runs = $(addsuffix .ran,$(filter $O/tests/$1/%,$(TESTS)))
.PRECIOUS: $O/%.ran
run-%: $$(call runs,$$*)
	@echo "$(words $^) programs hold" && test $(words $^) -gt 0
$O/%.ran: $O/% all FORCE
	@LOOPWRIGHT=$O/loopwright $< >$@ 2>&1 \
		|| { cat $@; echo "failed: $<"; exit 1; }

# Fuzzing with libFuzzer: FOR so long, TARGET one or all of tests/fuzz/fuzz_*.c.
FOR ?= 10m
TARGET ?= all
.PHONY: fuzz fuzzers run-corpora mutate analyze
fuzzers: $(FUZZERS)
fuzz:
	@CC=clang tools/setup.sh build fuzz
	@$(MAKE) --no-print-directory $(JOBS) fuzzers MODE=fuzz CC=clang SETUP=done
	@nice tests/fuzz/fuzz.sh build/fuzz-clang/tests/fuzz $(FOR) $(TARGET)
run-corpora: fuzzers
	@tests/fuzz/corpora.sh $O/tests/fuzz tests/fuzz/corpus

# Breaks sim/ and model/ in COUNT places, one at a time, and has the quick tests find each.
# MUTATE_JOBS: how many at once.
COUNT ?= 300
SEED ?= 1
MUTATE_JOBS ?= $(shell nproc 2>/dev/null || echo 2)
mutate: setup-check
	@nice tests/mutation/mutate.py $(COUNT) $(SEED) $(MUTATE_JOBS)

# What gcc, clang-tidy and cppcheck find without running anything.
analyze: setup
	@tools/setup.sh analyze
	@tests/analyze/analyze.sh

# The briefs of tests/design with whole nights, which takes some minutes.
.PHONY: design-nights
design-nights: all $O/tests/design/test_design
	WHOLE_NIGHTS=1 CK_DEFAULT_TIMEOUT=3000 LOOPWRIGHT=$O/loopwright $O/tests/design/test_design

include tools/package/install.mk
.PHONY: format
format:
	@clang-format -i $(shell git ls-files '*.[ch]' '*.js' '*.mjs')
clean:
	rm -rf build
