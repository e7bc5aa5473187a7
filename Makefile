# One file builds everything. MODE=release (default), asan or debug; each has its own folder
# build/$(MODE). DEVELOPER=1 turns warnings into errors, as `make check` and `make lint` do.

MODE ?= release
B    := build/$(MODE)

prefix  ?= /usr/local
bindir  ?= $(prefix)/bin
libdir  ?= $(prefix)/lib
datadir ?= $(prefix)/share
docdir  ?= $(datadir)/doc/tallystone
mandir  ?= $(datadir)/man
INSTALL ?= install

JOBS   ?= $(shell nproc 2>/dev/null || echo 2)
CFLAGS ?= $(CFLAGS_$(MODE))

# --- what is built -----------------------------------------------------------------------

SRC      := $(wildcard src/*/*.c)
CLI_SRC  := $(filter src/cli/%,$(SRC))
DOOR_SRC := src/papers/press.c
LIB_SRC  := $(filter-out src/cli/% $(DOOR_SRC),$(SRC))
UNIT_SRC := $(wildcard tests/unit/*.c)
TEST_SRC := $(filter tests/unit/test_%,$(UNIT_SRC))
HELP_SRC := $(filter-out tests/unit/test_%,$(UNIT_SRC))
HEADERS  := $(wildcard include/tallystone/*.h include/tallystone/*/*.h src/*/*.h)
TABLES   := $(wildcard include/tallystone/*/*.def src/*/*.def)

object = $(1:%.c=$(B)/%.o)
LIB    := $(B)/libtallystone.a
BIN    := $(B)/tallystone
PRESS  := $(B)/tallystone-papers.so
TESTS  := $(TEST_SRC:%.c=$(B)/%)
BENCH_SRC := $(wildcard tests/bench/*.c)
ANCHORS   := $(BENCH_SRC:%.c=$(B)/%)
FUZZ_SRC  := $(wildcard tests/fuzz/*.c)
FUZZED    := $(filter tests/fuzz/fuzz_%,$(FUZZ_SRC))
REPLAYED  := $(FUZZED:%.c=$(B)/%)
SCRIPT_TESTS = $(shell find tests/commands -maxdepth 1 -name '*.sh' -type f -perm -u+x 2>/dev/null | sort)
OUTSIDE_TESTS = $(shell find tests/independent -maxdepth 1 -type f -perm -u+x 2>/dev/null | sort)

# What calls the workbook library or cairo, and what calls that: loaded by src/papers/press.c when
# a paper is made. A source that is missing here is an undefined reference of the program's.
PRESS_SRC := $(patsubst %,src/papers/%.c,bestbook decision figureform formula guardrow ledger linesheet \
  linklines margin orderbook outlook paint picture png pressed quotation quote quotedrawing quoteknow \
  quotepage quoteprice quotestones ratesheet sensitivity worksheet xlsx)
PRESS_OBJ := $(call object,$(PRESS_SRC))
BIN_OBJ   := $(call object,$(CLI_SRC) $(DOOR_SRC) $(filter-out $(PRESS_SRC),$(LIB_SRC)))

# --- how -----------------------------------------------------------------------------------

CFLAGS_release := -O2 -g
CFLAGS_debug   := -O0 -g3
CFLAGS_asan    := -O1 -g -fno-omit-frame-pointer
CFLAGS_fuzz    := -O1 -g -fno-omit-frame-pointer
ifeq ($(CFLAGS_$(MODE)),)
$(error MODE is release, asan, debug or fuzz, not "$(MODE)")
endif

WARNINGS := -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wdouble-promotion \
  -Wstrict-prototypes -Wmissing-prototypes -Wvla -Wwrite-strings -Wundef -Wformat=2 \
  -Wimplicit-fallthrough
# No fused multiply-add: the same grams whatever the compiler and the processor.
LANGUAGE := -std=c11 -D_POSIX_C_SOURCE=200809L -ffp-contract=off -Iinclude -Isrc

accepts = $(shell $(CC) -Werror $(1) -x c -c /dev/null -o /dev/null 2>/dev/null && echo '$(1)')
ifeq ($(MODE),asan)
HARDENED := -fPIE -fsanitize=address,undefined -fno-sanitize-recover=all
else ifeq ($(MODE),fuzz)
HARDENED := -fPIE -fsanitize=address,undefined,fuzzer-no-link -fno-sanitize-recover=all
else
HARDENED := -fPIE -fstack-protector-strong
endif
ifeq ($(MODE),release)
HARDENED += $(call accepts,-ftrivial-auto-var-init=zero)
HARDENED += $(if $(filter -O0,$(CFLAGS)),,-U_FORTIFY_SOURCE -D_FORTIFY_SOURCE=2)
endif
LINKING := -Wl,-z,relro,-z,now -Wl,--as-needed $(filter -fsanitize=%,$(HARDENED))
LINK     = $(CC) $(CFLAGS) -pie $(LINKING) $(LDFLAGS)

COMPILE := $(CC) $(LANGUAGE) $(WARNINGS) $(HARDENED) $(CFLAGS) $(CPPFLAGS)
WERROR  := $(if $(filter 1,$(DEVELOPER)),-Werror)

# Asked at first use, for `make demo` may have to install pkg-config first. libcsv has no .pc.
PKGS = sqlite3
PRESS_PKGS = xlsxwriter cairo
PKG_CFLAGS = $(eval PKG_CFLAGS := $$(patsubst -I%,-isystem %,$$(shell pkg-config --cflags $(PKGS) $(PRESS_PKGS))))$(PKG_CFLAGS)
PKG_LIBS   = $(eval PKG_LIBS := $$(shell pkg-config --libs $(PKGS)))$(PKG_LIBS)
PRESS_LIBS = $(eval PRESS_LIBS := $$(shell pkg-config --libs $(PRESS_PKGS)))$(PRESS_LIBS) -lm
BIN_LIBS   = $(PKG_LIBS) -lcsv -ldl -lm
LIBS       = $(PRESS_LIBS) $(BIN_LIBS)

# V=1 shows the whole commands.
SAY = @$(if $(V),,echo "  $(1) $(2:$(B)/%=%)";)
Q   = $(if $(V),,@)

# With no -j of its own a build takes all processors. These goals build through a second make,
# so that packages are there before it looks; two of them must not build side by side.
AGAIN = -s --no-print-directory $(if $(findstring jobserver,$(MAKEFLAGS)),,-j$(JOBS))
ifneq ($(filter demo check check-asan lint bench fuzz torture,$(MAKECMDGOALS)),)
.NOTPARALLEL:
endif

.PHONY: all programs anchors demo check check-asan torture bench fuzz fuzzers lint lint-format lint-scripts \
  lint-cppcheck \
  lint-tidy tidied lint-gcc lint-clang headers install uninstall clean help FORCE
.SUFFIXES:
.DELETE_ON_ERROR:

all: $(LIB) $(BIN) $(PRESS) ## build the library, the program and what it loads

$(BIN): $(BIN_OBJ) $(B)/exports $(B)/members
	$(call SAY,link,$@)
	$(Q)$(LINK) -Wl,--dynamic-list=$(B)/exports -o $@ $(BIN_OBJ) $(BIN_LIBS)

# Position-independent and hidden, so that its own calls stay inside and are as cheap as before.
$(PRESS_OBJ): PLACED := -fPIC -fvisibility=hidden

$(PRESS): $(PRESS_OBJ)
	$(call SAY,link,$@)
	$(Q)$(CC) $(CFLAGS) -shared -Wl,-soname,$(@F) $(LINKING) $(LDFLAGS) -o $@ $^ $(PRESS_LIBS)

# What the press takes of the program, no more, is what the program shows; and the rewind() that
# stands before the C library's for the workbook library (src/papers/xlsxwhole.c).
$(B)/exports: $(PRESS)
	$(Q){ echo '{ rewind;'; nm -D --undefined-only $< | sed -n 's/^ *U \(ts_[a-z0-9_]*\)$$/\1;/p'; echo '};'; } >$@

$(LIB): $(call object,$(LIB_SRC)) $(B)/members
	$(call SAY,ar  ,$@)
	@rm -f $@
	$(Q)ar rcs $@ $(filter %.o,$^)

$(B)/%.o: %.c $(B)/flags
	$(call SAY,cc  ,$<)
	@mkdir -p $(@D)
	$(Q)$(COMPILE) $(WERROR) $(if $(filter src/%,$<),$(ANALYSE)) $(PLACED) $(PKG_CFLAGS) -MMD -MP -c -o $@ $<

STARVE := $(B)/tests/starve/starve.so

programs: all $(TESTS) $(REPLAYED) $(STARVE) # what the tests need

$(TESTS): %: %.o $(call object,$(HELP_SRC)) $(LIB)
	$(call SAY,link,$@)
	$(Q)$(LINK) -o $@ $^ $(LIBS) -lcmocka

$(REPLAYED): %: %.o $(B)/tests/fuzz/replay.o $(B)/tests/fuzz/hold.o $(LIB)
	$(call SAY,link,$@)
	$(Q)$(LINK) -o $@ $^ $(LIBS)

$(STARVE): tests/starve/starve.c $(B)/flags
	$(call SAY,link,$@)
	@mkdir -p $(@D)
	$(Q)$(CC) -std=c11 -O1 -g $(WARNINGS) $(WERROR) -fPIC -shared -o $@ $< -ldl

anchors: all $(ANCHORS) # what the program is measured beside

$(ANCHORS): %: %.o $(LIB)
	$(call SAY,link,$@)
	$(Q)$(LINK) -o $@ $^ $(LIBS)

.PRECIOUS: $(B)/%.o
-include $(patsubst %.o,%.d,$(call object,$(SRC) $(UNIT_SRC) $(BENCH_SRC) $(FUZZ_SRC)))

# Two files that change only with their text: a new flag builds all anew, a source that went
# away leaves the library.
ifneq ($(strip $(file <$(B)/flags)),$(strip $(COMPILE)))
$(B)/flags: FORCE
endif
ifneq ($(strip $(file <$(B)/members)),$(strip $(LIB_SRC)))
$(B)/members: FORCE
endif
# Both sides of the press's door are built anew with any header, table, flag or place.
DOOR_FLAGS = -DTS_PRESS_MARK='"$(MARK)"' -DTS_PRESS_BESIDE='"$(BESIDE)"'
MARK   := $(firstword $(shell { cat $(sort $(HEADERS) $(TABLES)); echo '$(COMPILE)'; } | sha256sum))
BESIDE := $(shell realpath -m --relative-to='$(bindir)' '$(libdir)/tallystone')
ifneq ($(strip $(file <$(B)/door)),$(strip $(MARK) $(BESIDE)))
$(B)/door: FORCE
endif
$(call object,$(DOOR_SRC) src/papers/pressed.c): PLACED += $(DOOR_FLAGS)
$(call object,$(DOOR_SRC) src/papers/pressed.c): $(B)/door
$(B)/door:
	@mkdir -p $(@D)
	@printf '%s\n' '$(MARK) $(BESIDE)' >$@
$(B)/flags:
	@mkdir -p $(@D)
	@printf '%s\n' '$(COMPILE)' >$@
$(B)/members:
	@mkdir -p $(@D)
	@printf '%s\n' '$(LIB_SRC)' >$@

# --- using it --------------------------------------------------------------------------------

demo: ## price the demo sheets into out/ and say what to open
	@scripts/install-deps build
	@$(MAKE) $(AGAIN) all
	$(BIN) price demo/*.csv --books pricebooks --out out
	@set -- out/*.xlsx; echo "Open $$1 (the client's quote); the owner's papers are in out/studio."

# --- checking it -----------------------------------------------------------------------------

check: ## run every test; the last line is "N passed, N failed"
	@scripts/install-deps build test
	@$(MAKE) $(AGAIN) DEVELOPER=1 programs
	@TALLYSTONE=$(CURDIR)/$(BIN) MODE=$(MODE) scripts/run-tests $(OUTSIDE_TESTS) $(SCRIPT_TESTS) $(TESTS)

check-asan: ## unit and command tests under address and undefined-behaviour sanitizers
	@scripts/install-deps build test
	@$(MAKE) $(AGAIN) MODE=asan programs
	@TALLYSTONE=$(CURDIR)/build/asan/tallystone MODE=asan scripts/run-tests \
	  $(TEST_SRC:%.c=build/asan/%) $(SCRIPT_TESTS)

# Rounds of random kills, and all that check only samples: an hour and more.
torture: ## cut the program off at every call and allocation; ROUNDS of random kills (2000)
	@scripts/install-deps build test
	@$(MAKE) $(AGAIN) programs
	@TALLYSTONE=$(CURDIR)/$(BIN) MODE=$(MODE) tests/commands/nothing-lost.sh --all
	@TALLYSTONE=$(CURDIR)/$(BIN) MODE=$(MODE) tests/commands/killed-at-random.sh $(or $(ROUNDS),2000)
	@TALLYSTONE=$(CURDIR)/$(BIN) MODE=$(MODE) tests/commands/starved.sh --all

bench: ## measure beside plain programs that do the same; ROUNDS, COMMISSIONS and QUOTES may be set
	@scripts/install-deps build test
	@$(MAKE) $(AGAIN) anchors
	@TALLYSTONE=$(BIN) tests/bench/run $(B)/tests/bench

# Coverage guides the input: clang's fuzzer with both sanitizers. What it finds is written under
# tests/fuzz/found, where `make check` replays it.
FUZZ_SECONDS ?= 60
fuzz: ## mutate sheets, books, rows, tables, meshes and registers; FUZZ_SECONDS for each (60)
	@scripts/install-deps build lint
	@$(MAKE) $(AGAIN) MODE=fuzz CC=clang fuzzers
	scripts/fuzz build/fuzz/tests/fuzz $(FUZZ_SECONDS)

FUZZERS := $(FUZZED:%.c=$(B)/%.fuzzer)

fuzzers: $(FUZZERS)

$(FUZZERS): %.fuzzer: %.o $(B)/tests/fuzz/hold.o $(LIB)
	$(call SAY,link,$@)
	$(Q)$(LINK) -fsanitize=fuzzer -o $@ $^ $(LIBS)

lint: lint-format lint-scripts headers lint-gcc lint-clang lint-cppcheck lint-tidy ## look without running: form, rooms, both compilers, analysers

lint-format:
	@scripts/install-deps build lint
	@clang-format --dry-run -Werror --style=file $(SRC) $(UNIT_SRC) $(BENCH_SRC) $(FUZZ_SRC) $(HEADERS) \
	  $(wildcard tests/unit/*.h tests/fuzz/*.h tests/starve/*.c)

lint-scripts:
	scripts/check-rooms
	scripts/check-house
	shellcheck -x $(filter-out %.service %.timer,$(wildcard scripts/*)) .ci/run

headers: ## compile each header alone, twice over
	@for h in $(HEADERS:include/%=%); do h=$${h#src/}; \
	  printf '#include "%s"\n#include "%s"\ntypedef int alone;\n' "$$h" "$$h" | \
	  $(COMPILE) -Werror -fsyntax-only -x c - || { echo "$$h does not stand alone"; exit 1; }; done

# The analyser reads no tests: it does not know that a cmocka assertion does not return.
lint-gcc:
	@$(MAKE) $(AGAIN) B=build/lint-gcc CC=gcc DEVELOPER=1 ANALYSE=-fanalyzer programs
	scripts/check-house --library build/lint-gcc/libtallystone.a

lint-clang:
	@$(MAKE) $(AGAIN) B=build/lint-clang CC=clang DEVELOPER=1 programs

# Not asked of cppcheck: that every header of the system is found; what it concludes of an
# index from a condition elsewhere, without knowing the assert that bounds it; its old check
# for unset variables, which takes `.none = ` in an initialiser for a use of `none`. Its advice
# on style is clang-tidy's matter.
lint-cppcheck:
	cppcheck --quiet --std=c11 --enable=warning,performance,portability --inline-suppr \
	  --error-exitcode=1 --suppress=missingIncludeSystem --suppress=arrayIndexOutOfBoundsCond \
	  --suppress=legacyUninitvar -D_POSIX_C_SOURCE=200809L -j$(JOBS) -Iinclude -Isrc src

# A source is read again when it, a header or the list of checks has changed. The analyser
# stops at 40,000 steps a function instead of 225,000: a quarter of the time, the same finds.
TIDIED := $(SRC:%.c=build/tidy/%.ok)

lint-tidy:
	@$(MAKE) $(AGAIN) -k tidied

tidied: $(TIDIED)

$(TIDIED): build/tidy/%.ok: %.c .clang-tidy $(HEADERS) $(TABLES)
	$(call SAY,tidy,$<)
	@mkdir -p $(@D)
	$(Q)clang-tidy --quiet $< -- $(LANGUAGE) $(PKG_CFLAGS) \
	  -Xclang -analyzer-config -Xclang max-nodes=40000 2>/dev/null
	@touch $@

# --- installing it ---------------------------------------------------------------------------

SHARED = $(wildcard pricebooks/* demo/*)

install: all ## install program, manual, demo and price books (DESTDIR, prefix, bindir, libdir, datadir, mandir)
	$(INSTALL) -D -m 755 $(BIN) $(DESTDIR)$(bindir)/tallystone
	$(INSTALL) -D -m 644 $(PRESS) $(DESTDIR)$(libdir)/tallystone/$(notdir $(PRESS))
	$(INSTALL) -D -m 644 LICENSE $(DESTDIR)$(docdir)/LICENSE
	$(INSTALL) -d $(DESTDIR)$(mandir)/man1
	$(BIN) help manual >$(DESTDIR)$(mandir)/man1/tallystone.1
	set -e; for f in $(SHARED); do $(INSTALL) -D -m 644 $$f $(DESTDIR)$(datadir)/tallystone/$$f; done

uninstall: ## take away what install put there
	rm -f $(DESTDIR)$(bindir)/tallystone $(DESTDIR)$(docdir)/LICENSE $(DESTDIR)$(mandir)/man1/tallystone.1
	rm -f $(DESTDIR)$(libdir)/tallystone/$(notdir $(PRESS))
	rm -f $(addprefix $(DESTDIR)$(datadir)/tallystone/,$(SHARED))
	rmdir $(DESTDIR)$(docdir) $(DESTDIR)$(libdir)/tallystone $(addprefix $(DESTDIR)$(datadir)/tallystone,/demo /pricebooks /) || :

clean: ## remove what was built and the demo's papers
	rm -rf build out

help: ## this list
	@sed -n 's/^\([a-z-]*\):.*## \(.*\)/  \1	\2/p' $(firstword $(MAKEFILE_LIST)) | expand -t 16
