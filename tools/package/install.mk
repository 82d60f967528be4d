# SPDX-License-Identifier: GPL-3.0-or-later
#
# make install         installs program, manual pages, completion, docs and scenarios
# make install-strip   the same without symbols in the program
# make uninstall       takes all of it away again
# make dist            packs the sources: build/loopwright-VERSION.tar.gz
# make distcheck       builds, checks (FAST=1), installs and uninstalls what is in there
# make deb             a package for Debian: build/loopwright_VERSION_ARCH.deb
# make reproducible    builds twice, in different directories, and compares the bytes; some minutes
# make check-deb       tries it in a bare Debian in a directory of its own; needs root and network
#
# The variables are those of the GNU coding standards: prefix (or PREFIX), exec_prefix, bindir,
# datarootdir, docdir, mandir, DESTDIR, INSTALL, INSTALL_PROGRAM, INSTALL_DATA.

prefix = $(PREFIX)
exec_prefix = $(prefix)
bindir = $(exec_prefix)/bin
datarootdir = $(prefix)/share
docdir = $(datarootdir)/doc/loopwright
mandir = $(datarootdir)/man
bashcompletiondir = $(datarootdir)/bash-completion/completions
zshcompletiondir = $(datarootdir)/zsh/site-functions
INSTALL = install
INSTALL_PROGRAM = $(INSTALL)
INSTALL_DATA = $(INSTALL) -m 644

VERSION := $(shell sed -n 's/.*LOOPWRIGHT_VERSION "\(.*\)"/\1/p' tools/base/version.h)
# The time that everything made from the sources has, so that it is the same each time.
SOURCE_DATE_EPOCH ?= $(shell date -u -d "$$(sed -n 's/.*LOOPWRIGHT_DATE "\(.*\)"/\1/p' \
	tools/base/version.h)" +%s)
export SOURCE_DATE_EPOCH
DIST := loopwright-$(VERSION)
PACKAGE = tools/package

# What the program itself prints: manual pages and completion.
MADE := $O/made
$(MADE)/done: $O/loopwright $(PACKAGE)/pages.sh
	@$(PACKAGE)/pages.sh $O/loopwright $(MADE) && touch $@

.PHONY: install install-strip uninstall dist distcheck reproducible deb check-deb
install: all $(MADE)/done
	$(INSTALL) -d $(addprefix $(DESTDIR),$(bindir) $(mandir)/man1 $(mandir)/man5 \
		$(docdir)/docs $(docdir)/scenarios $(bashcompletiondir) $(zshcompletiondir))
	$(INSTALL_PROGRAM) $O/loopwright $(DESTDIR)$(bindir)/loopwright
	$(INSTALL_DATA) $(MADE)/man1/* $(DESTDIR)$(mandir)/man1
	$(INSTALL_DATA) $(MADE)/man5/* $(DESTDIR)$(mandir)/man5
	$(INSTALL_DATA) $(MADE)/loopwright.bash $(DESTDIR)$(bashcompletiondir)/loopwright
	$(INSTALL_DATA) $(MADE)/_loopwright $(DESTDIR)$(zshcompletiondir)/_loopwright
	$(INSTALL_DATA) README.md $(DESTDIR)$(docdir)
	$(INSTALL_DATA) docs/* $(DESTDIR)$(docdir)/docs
	$(INSTALL_DATA) scenarios/*.yaml $(DESTDIR)$(docdir)/scenarios
install-strip:
	$(MAKE) INSTALL_PROGRAM='$(INSTALL_PROGRAM) -s' install
uninstall:
	rm -f $(DESTDIR)$(bindir)/loopwright $(DESTDIR)$(mandir)/man1/loopwright.1 \
		$(DESTDIR)$(mandir)/man1/loopwright-*.1 $(DESTDIR)$(mandir)/man5/loopwright-*.5 \
		$(DESTDIR)$(bashcompletiondir)/loopwright $(DESTDIR)$(zshcompletiondir)/_loopwright
	rm -rf $(DESTDIR)$(docdir)

dist:
	@mkdir -p build
	@$(PACKAGE)/dist.sh $(DIST) build/$(DIST).tar.gz
distcheck: dist
	@$(PACKAGE)/distcheck.sh $(DIST) build/$(DIST).tar.gz
reproducible: setup
	@tests/install/same.sh
# Hardened as Debian asks for, which changes no result.
deb:
	$(MAKE) O=build/deb CFLAGS='$(CFLAGS) -fstack-protector-strong' \
		CPPFLAGS='$(CPPFLAGS) -D_FORTIFY_SOURCE=2' LDFLAGS='$(LDFLAGS) -Wl,-z,relro,-z,now' \
		prefix=/usr zshcompletiondir=/usr/share/zsh/vendor-completions \
		DESTDIR=$(CURDIR)/build/deb/root install-strip
	@$(PACKAGE)/deb.sh $(VERSION) build/deb build
check-deb: deb
	@tests/install/chroot.sh build/loopwright_$(VERSION)_*.deb
