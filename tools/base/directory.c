/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/directory.c - keeps the promise that a reader never meets half a run. */
#define _GNU_SOURCE /* renameat2: two names change places in one step */
#include "tools/base/directory.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "sim/require.h"
#include "tools/base/file.h"
#include "tools/base/output.h"

/* What may lie in the directory of a run, a soak or a sweep. */
static const char *const run_file[] = {
    "occupancy.csv", "lanes.csv",   "levels.csv",    "stations.csv",  "arms.csv",
    "events.csv",    "moves.csv",   "summary.json",  "scenario.yaml", "drain.json",
    "runs.csv",      "against.csv", "soak.json",     "soak.results",  DIRECTORY_JOURNAL,
    "plan.json",     "sweep.csv",   "sweep.results", "start.capsule"};
/* Names with a number in the middle: of a jam, of a run, of seconds. */
static const struct {
    const char *begin, *end;
} numbered[] = {
    {"at-", ".capsule"}, {"jam-", ".capsule"}, {"jam-", "-events.csv"}, {"jam-", ".html"}};
enum {
    RUN_FILES = sizeof run_file / sizeof *run_file,
    NUMBERED = sizeof numbered / sizeof *numbered
};

static bool is_numbered(const char *name, const char *begin, const char *end) {
    size_t length = strlen(name), first = strlen(begin), last = strlen(end);
    return length > first + last && strncmp(name, begin, first) == 0 &&
           strcmp(name + length - last, end) == 0 &&
           strspn(name + first, "0123456789.") >= length - first - last;
}

static bool has_name_of_a_run(const char *name) {
    for (size_t i = 0; i < NUMBERED; i++)
        if (is_numbered(name, numbered[i].begin, numbered[i].end))
            return true;
    for (size_t i = 0; i < RUN_FILES; i++)
        if (strcmp(name, run_file[i]) == 0)
            return true;
    return strcmp(name, "report.html") == 0;
}

/* Whether a file of an open directory is part of a run: a page, which `report` adds afterwards,
 * only as it was written. */
static bool is_run_file(int directory, const char *name) {
    const char *dot = strrchr(name, '.');
    bool page = dot != NULL && strcmp(dot, ".html") == 0;
    return has_name_of_a_run(name) && (!page || output_wrote(directory, name));
}

static char *joined(const char *before, const char *name, const char *after) {
    size_t room = strlen(before) + strlen(name) + strlen(after) + 1;
    char *text = require_memory(room, 1);
    snprintf(text, room, "%s%s%s", before, name, after);
    return text;
}

static bool refuse(const char *path, const char *reason) {
    fprintf(stderr, "loopwright: %s: %s\n", path, reason);
    return false;
}

void directory_tell(const struct directory *directory, const char *name, int error) {
    fprintf(stderr, "loopwright: %s/%s: %s\n", directory->path, name, strerror(error));
}

/* ---- the names of a directory, one after another ---- */

/* Opens the directory `name` in `parent`, never through a symbolic link. Returns the open file; -1
 * with errno, EPERM where it is another user's. */
static int open_own(int parent, const char *name) {
    int file = openat(parent, name, O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC);
    struct stat status;
    if (file < 0 || (fstat(file, &status) == 0 && status.st_uid == geteuid()))
        return file;
    close(file);
    errno = EPERM;
    return -1;
}

/* A stream of names of an open directory, which it closes; NULL with errno where it is none. */
static DIR *names_open(int file) {
    DIR *names = file >= 0 ? fdopendir(file) : NULL;
    int error = errno;
    if (names == NULL && file >= 0)
        close(file);
    errno = error;
    return names;
}

/* NULL: there are no more, and errno is 0, or else says why that is not known. */
static const char *names_next(DIR *names) {
    for (;;) {
        errno = 0;
        const struct dirent *entry = readdir(names);
        if (entry == NULL)
            return NULL;
        if (strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0)
            return entry->d_name;
    }
}

/* Removes the files of a run in an open directory; with `every` all files, as of a directory that
 * nobody but this program writes to. Returns 0, or the first errno. */
static int empty_directory(DIR *names, bool every) {
    int error = 0;
    for (const char *entry = names_next(names); entry != NULL; entry = names_next(names))
        if ((every || is_run_file(dirfd(names), entry)) && unlinkat(dirfd(names), entry, 0) != 0 &&
            error == 0)
            error = errno;
    return error != 0 ? error : errno;
}

/* Removes a directory and the files in it, as of empty_directory. Returns 0 (also where there is
 * none), or an errno: ENOTEMPTY where something else is in it. */
static int remove_directory(int parent, const char *name, bool every) {
    DIR *names = names_open(open_own(parent, name));
    if (names == NULL)
        return errno == ENOENT ? 0 : errno;
    int error = empty_directory(names, every);
    closedir(names);
    if (error != 0)
        return error;
    return unlinkat(parent, name, AT_REMOVEDIR) == 0 ? 0 : errno;
}

/* ---- what stands at the wanted place ---- */

static bool has_file(int directory, const char *name) {
    return faccessat(directory, name, F_OK, AT_SYMLINK_NOFOLLOW) == 0;
}

struct contents {
    int error; /* errno: they could not all be read */
    bool summary, scenario, results, empty;
    char *stranger; /* the first by name of what no run wrote */
};

static struct contents contents_of(DIR *names) {
    struct contents contents = {.empty = true};
    const char *name;
    while ((name = names_next(names)) != NULL) {
        contents.empty = false;
        contents.summary |= strcmp(name, "summary.json") == 0;
        contents.scenario |= strcmp(name, "scenario.yaml") == 0;
        contents.results |= strcmp(name, "soak.results") == 0 || strcmp(name, "sweep.csv") == 0 ||
                            strcmp(name, "sweep.results") == 0;
        bool first = contents.stranger == NULL || strcmp(name, contents.stranger) < 0;
        if (is_run_file(dirfd(names), name) || !first)
            continue;
        free(contents.stranger);
        contents.stranger = require_text(name);
    }
    contents.error = errno;
    return contents;
}

static bool accept_contents(struct directory *directory, const struct contents *contents) {
    if (contents->error != 0)
        return refuse(directory->path, strerror(contents->error));
    if (contents->stranger != NULL) {
        fprintf(stderr,
                "loopwright: %s: holds `%s`, which is no part of a run, so nothing is written\n"
                "    help: give --out a new directory, or one that holds an earlier run\n",
                directory->path, contents->stranger);
        return false;
    }
    bool whole = contents->results || (contents->summary && contents->scenario);
    if (!contents->empty && !whole)
        return refuse(directory->path, "is not an earlier run (it lacks summary.json or "
                                       "scenario.yaml), so nothing is written\n"
                                       "    help: give --out a new directory");
    directory->replaces = !contents->empty;
    return true;
}

static const char *why_no_place(int error) {
    switch (error) {
    case ENOTDIR:
        return "is a file or a link, not a directory\n"
               "    help: give --out a new directory, or one that holds an earlier run";
    case EPERM:
        return "belongs to another user, so nothing is written\n"
               "    help: give --out a new directory";
    default: return strerror(error);
    }
}

static bool accept_place(struct directory *directory) {
    DIR *names = names_open(open_own(directory->parent, directory->name));
    if (names == NULL) {
        directory->replaces = false;
        return errno == ENOENT || refuse(directory->path, why_no_place(errno));
    }
    struct contents contents = contents_of(names);
    closedir(names);
    bool accepted = accept_contents(directory, &contents);
    free(contents.stranger);
    return accepted;
}

/* ---- what is hidden beside the wanted place ---- */

/* Reports why a hidden name is of no use: an error of open_own, or of the lock. */
static bool refuse_hidden(const struct directory *directory, const char *name, int error) {
    bool foreign = error == ENOTDIR || error == ELOOP || error == EPERM;
    fprintf(stderr, "loopwright: %s/%s: %s\n", directory->within, name,
            error == EPERM       ? "belongs to another user"
            : error == ENOTEMPTY ? "holds what no run wrote, kept from what was there before"
            : foreign ? "is not what this program makes there, but a link or another file"
                      : strerror(error));
    if (foreign || error == ENOTEMPTY)
        fputs("    help: nothing is written; move it away, or give --out another place\n", stderr);
    return false;
}

/* A lock is a file of our own, with one name. */
static int check_lock(int lock) {
    struct stat status;
    if (fstat(lock, &status) != 0)
        return errno;
    if (!S_ISREG(status.st_mode) || status.st_nlink > 1)
        return ELOOP;
    return status.st_uid == geteuid() ? 0 : EPERM;
}

/* Another run may have ended, and taken the file away, between our opening and our locking it. */
static bool lock_is_stale(int lock) {
    struct stat status;
    return fstat(lock, &status) == 0 && status.st_nlink == 0;
}

/* Makes sure that nobody else writes to the same place. Returns 0, or an errno. */
static int take_lock(struct directory *directory) {
    for (;;) {
        struct flock whole = {.l_type = F_WRLCK, .l_whence = SEEK_SET};
        directory->lock = openat(directory->parent, directory->locked,
                                 O_RDWR | O_CREAT | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC, 0666);
        if (directory->lock < 0)
            return errno;
        int error = check_lock(directory->lock);
        if (error != 0)
            return error;
        if (fcntl(directory->lock, F_SETLK, &whole) != 0)
            return errno;
        if (!lock_is_stale(directory->lock))
            return 0;
        close(directory->lock);
    }
}

/* The same; without it nothing is open. EAGAIN: somebody else has it. */
static int try_lock(struct directory *directory) {
    int error = take_lock(directory);
    if (error == 0)
        return 0;
    bool busy = directory->lock >= 0 && error == EACCES; /* another word for the same */
    if (directory->lock >= 0)
        close(directory->lock);
    directory->lock = -1;
    return busy ? EAGAIN : error;
}

static bool lock_place(struct directory *directory) {
    int error = try_lock(directory);
    if (error == 0)
        return true;
    if (error == EAGAIN)
        return refuse(directory->path, "another run is being written there at this moment");
    return refuse_hidden(directory, directory->locked, error);
}

/* On a disk that can't exchange names a killed run may have left the earlier run set aside. What
 * somebody has put into it since stays there. */
static bool take_back(struct directory *directory) {
    int parent = directory->parent;
    int aside = open_own(parent, directory->replaced);
    if (aside < 0)
        return errno == ENOENT || refuse_hidden(directory, directory->replaced, errno);
    close(aside);
    int error = 0;
    if (has_file(parent, directory->name))
        error = remove_directory(parent, directory->replaced, false);
    else if (renameat(parent, directory->replaced, parent, directory->name) != 0)
        error = errno;
    return error == 0 || refuse_hidden(directory, directory->replaced, error);
}

/* Opens the hidden directory where unfinished work is in it. Returns 0, or an errno: ENOENT where
 * there is none. */
static int open_unfinished(struct directory *directory) {
    int work = open_own(directory->parent, directory->unfinished);
    if (work < 0)
        return errno;
    if (has_file(work, DIRECTORY_JOURNAL)) {
        directory->work = work;
        return 0;
    }
    close(work);
    return ENOENT;
}

/* Makes the hidden directory anew. Returns 0, or an errno. */
static int make_anew(struct directory *directory) {
    int error = remove_directory(directory->parent, directory->unfinished, true);
    if (error == 0 && mkdirat(directory->parent, directory->unfinished, 0777) != 0)
        error = errno;
    if (error != 0)
        return error;
    directory->work = open_own(directory->parent, directory->unfinished);
    return directory->work < 0 ? errno : 0;
}

static bool refuse_unfinished(const struct directory *directory) {
    fprintf(stderr,
            "loopwright: %s: an unfinished soak or sweep to this place is there, so nothing is "
            "written\n"
            "    help: finish it, with its command line and --resume; or remove it with all that "
            "it has done: rm -r %s/%s\n",
            directory->path, directory->within, directory->unfinished);
    return false;
}

/* Opens the hidden directory with unfinished work, or makes a new one. */
static bool make_work(struct directory *directory, bool resume) {
    int error = open_unfinished(directory);
    if (error == 0 && !resume)
        return refuse_unfinished(directory);
    if (error == ENOENT)
        error = make_anew(directory);
    return error == 0 || refuse_hidden(directory, directory->unfinished, error);
}

/* A program that was killed right after its last step left its journal in the finished directory,
 * from where it must not come back as that of unfinished work. Returns 0, or an errno. */
static int remove_stale_journal(const struct directory *directory) {
    int place = open_own(directory->parent, directory->name);
    if (place < 0)
        return 0; /* which is looked at by accept_place */
    int error = 0;
    bool finished = has_file(place, "soak.results") || has_file(place, "sweep.csv");
    if (finished && unlinkat(place, DIRECTORY_JOURNAL, 0) != 0)
        error = errno == ENOENT ? 0 : errno;
    close(place);
    return error;
}

/* ---- begin, commit, abandon ---- */

/* The path with symbolic links followed where it exists, and without slashes at its end. */
static char *plain_path(const char *path) {
    char *plain = realpath(path, NULL);
    if (plain != NULL)
        return plain;
    plain = require_text(path);
    for (size_t end = strlen(plain); end > 1 && plain[end - 1] == '/'; end--)
        plain[end - 1] = '\0';
    return plain;
}

/* Opens the directory that holds `plain`, cut at its last slash, and keeps the name after it. */
static bool open_parent(struct directory *directory, char *plain) {
    char *slash = strrchr(plain, '/');
    directory->name = require_text(slash != NULL ? slash + 1 : plain);
    if (strcmp(directory->name, "") == 0 || strcmp(directory->name, ".") == 0 ||
        strcmp(directory->name, "..") == 0)
        return refuse(directory->path, "is not a place for the directory of a run");
    if (slash != NULL)
        slash[slash == plain ? 1 : 0] = '\0';
    const char *parent = slash != NULL ? plain : ".";
    directory->within = require_text(parent);
    directory->parent = open(parent, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (directory->parent >= 0)
        return true;
    int error = errno;
    fprintf(stderr, "loopwright: %s: the directory that should contain it, %s: %s\n",
            directory->path, parent, strerror(error));
    if (error == ENOENT)
        fputs("    help: make that directory first\n", stderr);
    return false;
}

/* A hidden name could not be removed. It is in nobody's way: the next run there removes it. */
static void tell_left(const struct directory *directory, const char *name, int error) {
    fprintf(stderr, "loopwright: %s/%s: could not be removed: %s\n", directory->within, name,
            strerror(error));
}

static void forget(struct directory *directory) {
    if (directory->work >= 0)
        close(directory->work);
    if (directory->lock >= 0) {
        if (unlinkat(directory->parent, directory->locked, 0) != 0 && errno != ENOENT)
            tell_left(directory, directory->locked, errno);
        close(directory->lock);
    }
    if (directory->parent >= 0)
        close(directory->parent);
    free(directory->path);
    free(directory->name);
    free(directory->within);
    free(directory->unfinished);
    free(directory->replaced);
    free(directory->locked);
    *directory = (struct directory){.parent = -1, .work = -1, .lock = -1};
}

static void set_hidden_names(struct directory *directory) {
    directory->unfinished = joined(".", directory->name, ".unfinished");
    directory->replaced = joined(".", directory->name, ".replaced");
    directory->locked = joined(".", directory->name, ".lock");
}

static bool begin(struct directory *directory, bool resume) {
    set_hidden_names(directory);
    if (!lock_place(directory) || !take_back(directory) || !accept_place(directory))
        return false;
    int error = remove_stale_journal(directory);
    if (error != 0) {
        directory_tell(directory, DIRECTORY_JOURNAL, error);
        return false;
    }
    return make_work(directory, resume);
}

/* No directory yet. */
static struct directory nowhere(const char *path) {
    return (struct directory){.path = require_text(path), .parent = -1, .work = -1, .lock = -1};
}

static bool begin_at(struct directory *directory, const char *path, bool resume) {
    *directory = nowhere(path);
    char *plain = plain_path(path);
    bool begun = open_parent(directory, plain) && begin(directory, resume);
    free(plain);
    if (!begun)
        forget(directory);
    return begun;
}

bool directory_begin(struct directory *directory, const char *path) {
    return begin_at(directory, path, false);
}

bool directory_resume(struct directory *directory, const char *path) {
    return begin_at(directory, path, true);
}

bool directory_add(const struct directory *directory, const char *name, const char *bytes,
                   size_t count) {
    int error = file_make(directory->work, name, bytes, count);
    if (error != 0)
        directory_tell(directory, name, error);
    return error == 0;
}

/* Removes the run that was replaced, under the name that it has now. What somebody has put into it
 * meanwhile stays, which is a word to the user but no failure: the new run is in its place. */
static void remove_earlier(const struct directory *directory, const char *name) {
    int error = remove_directory(directory->parent, name, false);
    if (error != 0)
        fprintf(stderr, "loopwright: %s/%s: part of what was at %s before is kept here: %s\n",
                directory->within, name, directory->path, strerror(error));
}

/* The earlier run has the name of unfinished work now. It gets that of what was replaced, under
 * which nobody's files in it are removed. */
static void remove_exchanged(const struct directory *directory) {
    int parent = directory->parent;
    bool renamed = renameat(parent, directory->unfinished, parent, directory->replaced) == 0;
    remove_earlier(directory, renamed ? directory->replaced : directory->unfinished);
}

/* Where a disk can't exchange names the earlier run steps aside first; take_back mends what a kill
 * between the two steps leaves. */
static int step_aside(struct directory *directory) {
    int parent = directory->parent;
    if (renameat(parent, directory->name, parent, directory->replaced) != 0)
        return errno;
    if (renameat(parent, directory->unfinished, parent, directory->name) == 0) {
        remove_earlier(directory, directory->replaced);
        return 0;
    }
    int error = errno;
    if (renameat(parent, directory->replaced, parent, directory->name) != 0)
        fprintf(stderr, "loopwright: %s/%s: is the run that was at %s\n", directory->within,
                directory->replaced, directory->path);
    return error;
}

static int replace(struct directory *directory) {
    int parent = directory->parent;
    if (renameat2(parent, directory->unfinished, parent, directory->name, RENAME_EXCHANGE) == 0) {
        remove_exchanged(directory);
        return 0;
    }
    if (errno == EINVAL || errno == ENOSYS)
        return step_aside(directory);
    return errno;
}

/* Somebody may have moved the hidden directory away, or put another one in its place. */
static bool work_is_there(const struct directory *directory) {
    struct stat work, named;
    return fstat(directory->work, &work) == 0 &&
           fstatat(directory->parent, directory->unfinished, &named, AT_SYMLINK_NOFOLLOW) == 0 &&
           work.st_dev == named.st_dev && work.st_ino == named.st_ino;
}

static bool is_synced(int directory) {
    while (fsync(directory) != 0)
        if (errno != EINTR)
            return false;
    return true;
}

static int into_place(struct directory *directory) {
    if (!is_synced(directory->work))
        return errno;
    if (!work_is_there(directory))
        return ESTALE;
    if (directory->replaces)
        return replace(directory);
    return renameat(directory->parent, directory->unfinished, directory->parent, directory->name) ==
                   0
               ? 0
               : errno;
}

/* The last step could not be made: says where the finished files are. */
static void tell_where_it_is(const struct directory *directory, int error) {
    if (error == ESTALE) {
        fprintf(
            stderr,
            "loopwright: %s/%s: was moved or removed in the meantime; its files are complete where "
            "they are now\n",
            directory->within, directory->unfinished);
        return;
    }
    if (error != 0)
        refuse(directory->path, strerror(error));
    fprintf(stderr, "    help: all files are complete in %s/%s; move that directory by hand\n",
            directory->within, directory->unfinished);
}

/* True when the new name in the directory that holds it is on the disk. */
static bool name_lasts(const struct directory *directory) {
    if (is_synced(directory->parent) || errno == EINVAL) /* a disk that cannot sync names */
        return true;
    fprintf(stderr, "loopwright: %s: is complete and in its place, but its name may not last: %s\n",
            directory->path, strerror(errno));
    return false;
}

/* Finished work needs its journal no more. */
static bool journal_is_gone(const struct directory *directory) {
    if (unlinkat(directory->work, DIRECTORY_JOURNAL, 0) == 0 || errno == ENOENT)
        return true;
    fprintf(stderr,
            "loopwright: %s: is complete and in its place, but its journal could not be removed: "
            "%s\n"
            "    help: remove it by hand: rm %s/" DIRECTORY_JOURNAL "\n",
            directory->path, strerror(errno), directory->path);
    return false;
}

bool directory_commit(struct directory *directory) {
    bool accepted = accept_place(directory);
    int error = accepted ? into_place(directory) : 0;
    bool placed = accepted && error == 0;
    if (!placed)
        tell_where_it_is(directory, error);
    bool alone = placed && journal_is_gone(directory);
    bool lasts = placed && name_lasts(directory);
    forget(directory);
    return alone && lasts;
}

void directory_abandon(struct directory *directory) {
    int error = 0;
    if (directory->work >= 0)
        error = remove_directory(directory->parent, directory->unfinished, true);
    if (error != 0)
        tell_left(directory, directory->unfinished, error);
    forget(directory);
}

void directory_leave(struct directory *directory) { forget(directory); }

/* ---- what a kill in the last steps leaves ---- */

static bool has_leftovers(const struct directory *directory) {
    const char *const hidden[] = {directory->locked, directory->unfinished, directory->replaced};
    int place = open_own(directory->parent, directory->name);
    bool found = place >= 0 && has_file(place, DIRECTORY_JOURNAL);
    if (place >= 0)
        close(place);
    for (size_t i = 0; i < sizeof hidden / sizeof *hidden; i++)
        found = found || has_file(directory->parent, hidden[i]);
    return found;
}

void directory_tidy(const char *path, bool (*is_needless)(void *self, int work), void *self) {
    struct directory directory = nowhere(path);
    char *plain = plain_path(path);
    bool opened = open_parent(&directory, plain);
    if (opened)
        set_hidden_names(&directory);
    if (opened && has_leftovers(&directory) && try_lock(&directory) == 0) {
        remove_stale_journal(&directory);
        remove_directory(directory.parent, directory.replaced, false);
        int error = open_unfinished(&directory);
        if (error == ENOENT || (error == 0 && is_needless(self, directory.work)))
            remove_directory(directory.parent, directory.unfinished, true);
    }
    free(plain);
    forget(&directory);
}
