# SPDX-License-Identifier: GPL-3.0-or-later
#
# make             builds the program, build/release/loopwright
# make demo        builds it, runs scenarios/demo.yaml and says what happened
# make check       tries all that can be tried; a quarter of an hour
# make paper       writes docs/checks.md anew, the table of values from outside
# make bench       measures what a move costs, beside the goals; some minutes
# make install     to PREFIX (/usr/local), below DESTDIR if given; `make uninstall` undoes it
# make format      lays out the C sources by .clang-format
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

PACKAGES := gsl yaml-0.1 jansson
WARN := -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wmissing-prototypes \
	-Wstrict-prototypes -Werror
release := -O3 -g $(if $(CLANG),,-flto=auto -ffat-lto-objects)
debug := -Og -g -fsanitize=address,undefined -fno-sanitize-recover=all
FLAGS = -std=c17 $(WARN) -ffp-contract=off -pthread -I. -D_POSIX_C_SOURCE=200809L \
	$($(MODE)) $(CFLAGS)
# Asked in the recipes only, because set-up may have to install pkg-config first.
HEADERS = $(shell pkg-config --cflags $(PACKAGES))
LIBS = $(shell pkg-config --libs $(PACKAGES)) -lglpk -lm
CHECK_HEADERS = $(shell pkg-config --cflags check)
CHECK_LIBS = $(shell pkg-config --libs check)

# Each command is shown in full, or just what it makes.
Q = $(if $V,,@echo "  $@";)

objects = $(patsubst %.c,$O/%.o,$(sort $(wildcard $1)))
programs = $(patsubst %.c,$O/%,$(sort $(wildcard $1)))
TOOL := $(call objects,sim/*.c model/*/*.c tools/*.c tools/*/*.c)
PARTS := $(filter-out $O/tools/loopwright.o,$(TOOL))
EXACT := $(call objects,tests/exact/*.c)
LITERAL := $(call objects,tests/exact/literal*.c)
BENCH := $(call objects,tests/bench/*.c) $(PARTS) $(LITERAL)
TESTS := $(call programs,tests/*/test_*.c)
SCENARIOS := $(sort $(wildcard scenarios/*.yaml tests/*/*.yaml tests/*/*/*.yaml))

.PHONY: all setup demo tests install uninstall clean
all: $O/loopwright
tests: all $(TESTS) $(if $(EXACT),$O/tests/exact/compare $O/tests/bench/probe)

$O/loopwright: $(TOOL)
	$(Q)$(CC) $(FLAGS) $(LDFLAGS) $^ $(LIBS) -o $@
$O/tests/exact/compare: $(EXACT) $(PARTS)
	$(Q)$(CC) $(FLAGS) $(LDFLAGS) $^ $(LIBS) -o $@
# As shipped, and once with whole functions, whose calls can be counted.
$O/tests/bench/probe: $(BENCH)
	$(Q)$(CC) $(FLAGS) $(LDFLAGS) $^ $(LIBS) -o $@
$O/tests/bench/probe-whole: $(BENCH)
	$(Q)$(CC) $(FLAGS) -fno-lto $(LDFLAGS) $^ $(LIBS) -o $@
# A test is linked with what its directory shares (files not named test_*), and without work on the
# whole program, which would take long.
.SECONDEXPANSION:
shared = $(filter-out $O/$1test_%,$(call objects,$1*.c))
$(TESTS): $O/%: $O/%.o $(PARTS) $$(call shared,$$(dir $$*))
	$(Q)$(CC) $(FLAGS) -fno-lto $(LDFLAGS) $^ $(LIBS) $(CHECK_LIBS) -o $@
$O/tests/unit/test_literal: $(LITERAL)
SCATTERED := unit/test_state unit/test_capsule unit/test_identities unit/test_certificate \
	story/test_replay
$(SCATTERED:%=$O/tests/%): $O/tests/exact/scatter.o
$O/tests/unit/test_long: $O/tests/bench/ring.o $O/tests/exact/scatter.o $(LITERAL)
# A test needs more than the program: what it needs is installed first, too.
$(patsubst %.c,$O/%.o,$(wildcard tests/*/*.c)): | setup-check
$O/tests/%.o: HEADERS += $(CHECK_HEADERS)
$O/%.o: %.c Makefile | setup
	@mkdir -p $(@D)
	$(Q)$(CC) $(FLAGS) $(HEADERS) -MMD -MP -c $< -o $@
-include $(wildcard $O/*/*.d $O/*/*/*.d)

setup:
	@CC="$(CC)" tools/setup.sh build
setup-check:
	@CC="$(CC)" tools/setup.sh build check

demo: all
	@echo; echo "scenarios/demo.yaml, whose head says what should happen:"; echo
	@$O/loopwright run scenarios/demo.yaml --out build/demo
	@echo "events.csv there tells what happened when, occupancy.csv what lay on the lane;"
	@echo "docs/files.md explains them all."

# docs/checks.md anew, from what the checks against values from outside find.
.PHONY: paper
paper: run-outside
	@tests/outside/paper.sh $O/tests/outside write

# Counts under callgrind: Debian's valgrind must be there, which `make check` sees to.
.PHONY: bench
PROBES := $O/tests/bench/probe $O/tests/bench/probe-whole
bench: all $(PROBES)
	@tests/bench/bench.sh $O/tests/bench $O/loopwright

# ---- make check: one line a step; what a step printed is shown only when it fails ----
.PHONY: check check-steps setup-check FORCE
STEP := tests/house/step.sh build/log
# Rooms without circles of files; those that still have one are left out.
CIRCLES := model/budget tools/drain tools/soak
OPEN_ROOMS := $(filter-out $(CIRCLES),$(patsubst %/,%,sim/ tools/ $(wildcard model/*/ tools/*/)))
JOBS := -j$(shell nproc 2>/dev/null || echo 2)
check: setup-check
	@$(MAKE) --no-print-directory check-steps MODE=release
check-steps:
	@$(STEP) "build"                  $(MAKE) $(JOBS) tests
	@$(STEP) "includes point down"    tests/house/floors.sh
	@$(STEP) "no circles of files"    tests/house/circles.sh . $(OPEN_ROOMS)
	@$(STEP) "symbols named for files" tests/house/symbols.sh $O
	@$(STEP) "licence lines"          tests/house/licence.sh
	@$(STEP) "a hundred columns"      tests/house/columns.sh
	@$(STEP) "house checks bite"      tests/house/bite.sh
	@$(STEP) "papers name what is"    tests/house/readme.sh
	@$(STEP) "unit tests"             $(MAKE) -k $(JOBS) run-unit
	@$(STEP) "values from outside"    $(MAKE) -k $(JOBS) run-outside
	@$(STEP) "docs/checks.md is theirs" tests/outside/paper.sh $O/tests/outside
	@$(STEP) "stories"                $(MAKE) -k $(JOBS) run-story
	@$(STEP) "both engines: scenarios" $O/tests/exact/compare $(SCENARIOS)
	@$(STEP) "both engines: random"   $O/tests/exact/compare --random 2000 --seed 1 --chance-every 4
	@$(STEP) "what a move costs"      tests/bench/guard.sh $O/tests/bench
	@$(STEP) "build with clang"       $(MAKE) $(JOBS) tests CC=clang
	@$(STEP) "same states with clang" build/release-clang/tests/unit/test_state
	@$(STEP) "build with sanitizers"  $(MAKE) $(JOBS) tests MODE=debug
	@$(STEP) "unit tests, sanitized"  $(MAKE) -k $(JOBS) run-unit MODE=debug
	@$(STEP) "stories, sanitized"     $(MAKE) -k $(JOBS) run-story MODE=debug
	@$(STEP) "soak as a job array"    tests/slurm/array.sh $O/loopwright
	@$(STEP) "memory, by valgrind"    tests/house/valgrind.sh $O/loopwright scenarios/*.yaml
	@echo "all holds"

# run-KIND runs the test programs of tests/KIND side by side; the log is kept beside the program.
runs = $(addsuffix .ran,$(filter $O/tests/$1/%,$(TESTS)))
.PRECIOUS: $O/%.ran
run-%: $$(call runs,$$*)
	@echo "$(words $^) programs hold" && test $(words $^) -gt 0
$O/%.ran: $O/% all FORCE
	@LOOPWRIGHT=$O/loopwright CK_DEFAULT_TIMEOUT=$${CK_DEFAULT_TIMEOUT:-120} $< >$@ 2>&1 \
		|| { cat $@; echo "failed: $<"; exit 1; }

install: all
	install -d $(DESTDIR)$(PREFIX)/bin $(DESTDIR)$(PREFIX)/share/doc/loopwright/scenarios
	install $O/loopwright $(DESTDIR)$(PREFIX)/bin
	install -m 644 README.md docs/* $(DESTDIR)$(PREFIX)/share/doc/loopwright
	install -m 644 scenarios/*.yaml $(DESTDIR)$(PREFIX)/share/doc/loopwright/scenarios
uninstall:
	rm -f $(DESTDIR)$(PREFIX)/bin/loopwright
	rm -rf $(DESTDIR)$(PREFIX)/share/doc/loopwright
.PHONY: format
format:
	@clang-format -i $(shell git ls-files '*.[ch]')
clean:
	rm -rf build
