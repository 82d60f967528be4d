/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_directory.c - a run's directory is either complete or as it was before,
 * whatever interrupts the writing. */
#include <check.h>
#include <dirent.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "tests/common/suite.h"
#include "tools/base/directory.h"
#include "tools/base/output.h"

enum { TEXT_BYTES = 256 };

/* Each test works in a directory of its own, as the current one. */
static char place[TEXT_BYTES];

static void make_place(void) {
    strcpy(place, "/tmp/test_directory_XXXXXX");
    ck_assert_ptr_nonnull(mkdtemp(place));
    ck_assert_int_eq(chdir(place), 0);
    int quiet = open("/dev/null", O_WRONLY); /* what is reported to a user is not looked at here */
    dup2(quiet, STDERR_FILENO);
    close(quiet);
}

static void remove_tree(const char *path) {
    DIR *names = opendir(path);
    if (names == NULL) {
        unlink(path);
        return;
    }
    for (struct dirent *entry = readdir(names); entry != NULL; entry = readdir(names)) {
        char below[2 * TEXT_BYTES + 2];
        if (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0)
            continue;
        snprintf(below, sizeof below, "%s/%s", path, entry->d_name);
        remove_tree(below);
    }
    closedir(names);
    rmdir(path);
}

static void remove_place(void) { remove_tree(place); }

/* How many names stand in a directory, hidden ones too. */
static int names_in(const char *path) {
    int count = -2;
    DIR *names = opendir(path);
    ck_assert_ptr_nonnull(names);
    while (readdir(names) != NULL)
        count++;
    closedir(names);
    return count;
}

static void put_file(const char *path, const char *text) {
    FILE *file = fopen(path, "w");
    ck_assert_ptr_nonnull(file);
    fputs(text, file);
    ck_assert_int_eq(fclose(file), 0);
}

static void check_file(const char *path, const char *text) {
    char found[TEXT_BYTES] = "";
    FILE *file = fopen(path, "r");
    ck_assert_msg(file != NULL, "%s is missing", path);
    size_t length = fread(found, 1, sizeof found - 1, file);
    found[length] = '\0';
    fclose(file);
    ck_assert_str_eq(found, text);
}

static bool add(const struct directory *directory, const char *name, const char *text) {
    return directory_add(directory, name, text, strlen(text));
}

/* A run whose files all hold `text`. */
static void write_run(const char *path, const char *text) {
    struct directory directory;
    ck_assert(directory_begin(&directory, path));
    ck_assert(add(&directory, "summary.json", text));
    ck_assert(add(&directory, "scenario.yaml", text));
    ck_assert(directory_commit(&directory));
}

static void check_run(const char *path, const char *text) {
    char name[TEXT_BYTES];
    snprintf(name, sizeof name, "%s/summary.json", path);
    check_file(name, text);
    snprintf(name, sizeof name, "%s/scenario.yaml", path);
    check_file(name, text);
}

START_TEST(run_appears_when_it_is_complete) {
    struct directory directory;
    ck_assert(directory_begin(&directory, "out"));
    ck_assert(add(&directory, "summary.json", "one"));
    ck_assert_int_ne(access("out", F_OK), 0);
    ck_assert(add(&directory, "scenario.yaml", "one"));
    ck_assert(directory_commit(&directory));
    check_run("out", "one");
    ck_assert_int_eq(names_in("out"), 2);
    ck_assert_int_eq(names_in("."), 1);
}
END_TEST

START_TEST(earlier_run_is_replaced_as_a_whole) {
    write_run("out", "one");
    put_file("out/moves.csv", "tick\n");
    struct directory directory;
    ck_assert(directory_begin(&directory, "out/"));
    ck_assert(add(&directory, "summary.json", "two"));
    check_run("out", "one");
    ck_assert(add(&directory, "scenario.yaml", "two"));
    ck_assert(directory_commit(&directory));
    check_run("out", "two");
    ck_assert_int_eq(names_in("out"), 2); /* moves.csv went with its run */
    ck_assert_int_eq(names_in("."), 1);
}
END_TEST

START_TEST(abandoned_run_leaves_nothing) {
    write_run("out", "one");
    struct directory directory;
    ck_assert(directory_begin(&directory, "out"));
    ck_assert(add(&directory, "summary.json", "two"));
    directory_abandon(&directory);
    check_run("out", "one");
    ck_assert_int_eq(names_in("."), 1);
}
END_TEST

START_TEST(empty_directory_is_taken) {
    ck_assert_int_eq(mkdir("out", 0777), 0);
    write_run("out", "one");
    check_run("out", "one");
}
END_TEST

START_TEST(link_to_an_earlier_run_stays_a_link) {
    ck_assert_int_eq(mkdir("disk", 0777), 0);
    write_run("disk/run", "one");
    ck_assert_int_eq(symlink("disk/run", "out"), 0);
    write_run("out", "two");
    struct stat status;
    ck_assert_int_eq(lstat("out", &status), 0);
    ck_assert(S_ISLNK(status.st_mode));
    check_run("disk/run", "two");
}
END_TEST

/* ---- refused ---- */

static void check_refused(const char *path) {
    struct directory directory;
    ck_assert(!directory_begin(&directory, path));
}

START_TEST(what_no_run_wrote_is_kept) {
    write_run("out", "one");
    put_file("out/notes.txt", "mine");
    check_refused("out");
    check_file("out/notes.txt", "mine");
    check_run("out", "one");
    ck_assert_int_eq(names_in("."), 1);
}
END_TEST

/* Names that look like those of a run, and a page that the program did not write. */
START_TEST(what_is_named_much_like_a_file_of_a_run_is_kept) {
    static const char *const name[] = {"out/best.capsule", "out/my-events.csv", "out/jam-.capsule",
                                       "out/jam-1a.html",  "out/report.html",   "out/jam-1.html"};
    for (size_t i = 0; i < sizeof name / sizeof *name; i++) {
        write_run("out", "one");
        put_file(name[i], "mine");
        check_refused("out");
        check_file(name[i], "mine");
        ck_assert_int_eq(unlink(name[i]), 0);
    }
}
END_TEST

/* With moments, what came before a jam, and a page as `report` writes it. */
START_TEST(what_a_run_wrote_is_replaced_whatever_its_name) {
    write_run("out", "one");
    put_file("out/start.capsule", "old");
    put_file("out/at-600.5.capsule", "old");
    put_file("out/jam-12.capsule", "old");
    put_file("out/jam-0-events.csv", "old");
    ck_assert(output_write("out/report.html", OUTPUT_HTML, false, "<p>old</p>\n"));
    ck_assert(output_write("out/jam-3.html", OUTPUT_HTML, false, "<p>old</p>\n"));
    write_run("out", "two");
    check_run("out", "two");
    ck_assert_int_eq(names_in("out"), 2);
}
END_TEST

START_TEST(half_a_run_is_not_an_earlier_run) {
    ck_assert_int_eq(mkdir("out", 0777), 0);
    put_file("out/summary.json", "mine");
    check_refused("out");
    check_file("out/summary.json", "mine");
}
END_TEST

START_TEST(places_that_cannot_be_are_refused) {
    put_file("file", "mine");
    check_refused("file");
    check_refused("file/out");
    check_refused("nowhere/out");
    check_refused("/");
    check_refused("nowhere/..");
    check_file("file", "mine");
    ck_assert_int_eq(names_in("."), 1);
}
END_TEST

START_TEST(subdirectory_is_something_other) {
    write_run("out", "one");
    ck_assert_int_eq(mkdir("out/mine", 0777), 0);
    check_refused("out");
    ck_assert_int_eq(names_in("out"), 3);
}
END_TEST

/* ---- links and what belongs to others ---- */

/* A directory outside with a file in it, to which a link leads. */
static void link_outside(const char *link) {
    ck_assert_int_eq(mkdir("outside", 0777), 0);
    put_file("outside/summary.json", "mine");
    ck_assert_int_eq(symlink("outside", link), 0);
    check_refused("out");
    check_file("outside/summary.json", "mine");
    ck_assert_int_eq(names_in("outside"), 1);
}

START_TEST(hidden_names_that_are_links_are_not_followed) {
    static const char *const hidden[] = {".out.unfinished", ".out.replaced"};
    link_outside(hidden[_i]);
    struct directory directory;
    ck_assert(!directory_resume(&directory, "out"));
    ck_assert_int_eq(names_in("outside"), 1);
    ck_assert_int_ne(access("out", F_OK), 0);
}
END_TEST

START_TEST(lock_that_is_a_link_is_not_followed) {
    put_file("outside", "mine");
    ck_assert_int_eq(symlink("outside", ".out.lock"), 0);
    check_refused("out");
    ck_assert_int_eq(unlink(".out.lock"), 0);
    ck_assert_int_eq(link("outside", ".out.lock"), 0); /* another name of a file of somebody's */
    check_refused("out");
    check_file("outside", "mine");
}
END_TEST

START_TEST(link_that_leads_nowhere_is_refused) {
    ck_assert_int_eq(symlink("nowhere", "out"), 0);
    check_refused("out");
    ck_assert_int_ne(access("nowhere", F_OK), 0);
}
END_TEST

START_TEST(what_another_user_owns_is_refused) {
    if (geteuid() != 0)
        return; /* only root can give a directory away */
    ck_assert_int_eq(mkdir(".out.unfinished", 0777), 0);
    put_file(".out.unfinished/summary.json", "theirs");
    ck_assert_int_eq(chown(".out.unfinished", 65534, 65534), 0);
    check_refused("out");
    check_file(".out.unfinished/summary.json", "theirs");
}
END_TEST

/* Its earlier run stays where it is: we could put ours there, but not remove theirs. */
START_TEST(run_of_another_user_is_not_replaced) {
    if (geteuid() != 0)
        return;
    write_run("out", "theirs");
    ck_assert_int_eq(chown("out", 65534, 65534), 0);
    check_refused("out");
    check_run("out", "theirs");
    ck_assert_int_ne(access(".out.replaced", F_OK), 0);
}
END_TEST

/* ---- the last step ---- */

/* A run that is complete but for its last step. */
static struct directory complete_run(const char *text) {
    struct directory directory;
    ck_assert(directory_begin(&directory, "out"));
    ck_assert(add(&directory, "summary.json", text));
    ck_assert(add(&directory, "scenario.yaml", text));
    return directory;
}

START_TEST(what_was_put_into_the_earlier_run_meanwhile_is_kept) {
    write_run("out", "one");
    struct directory directory = complete_run("two");
    put_file("out/notes.txt", "mine");
    ck_assert(!directory_commit(&directory));
    check_file("out/notes.txt", "mine");
    check_run("out", "one");
    check_run(".out.unfinished", "two");
}
END_TEST

START_TEST(directory_that_was_made_meanwhile_is_kept) {
    struct directory directory = complete_run("one");
    ck_assert_int_eq(mkdir("out", 0777), 0);
    put_file("out/notes.txt", "mine");
    ck_assert(!directory_commit(&directory));
    check_file("out/notes.txt", "mine");
    check_run(".out.unfinished", "one");
}
END_TEST

START_TEST(finished_files_that_were_moved_are_left_where_they_are) {
    struct directory directory = complete_run("one");
    ck_assert_int_eq(rename(".out.unfinished", "moved"), 0);
    ck_assert_int_eq(mkdir(".out.unfinished", 0777), 0);
    ck_assert(!directory_commit(&directory));
    check_run("moved", "one");
    ck_assert_int_ne(access("out", F_OK), 0);
}
END_TEST

START_TEST(earlier_run_that_went_away_is_no_hindrance) {
    write_run("out", "one");
    struct directory directory = complete_run("two");
    remove_tree("out");
    ck_assert(directory_commit(&directory));
    check_run("out", "two");
}
END_TEST

/* ---- others at work, and those who died ---- */

/* A child that begins a run to `out`, writes half of it, and waits to be killed. */
static pid_t begin_and_wait(void) {
    int ready[2];
    ck_assert_int_eq(pipe(ready), 0);
    pid_t child = fork();
    if (child == 0) {
        struct directory directory;
        if (directory_begin(&directory, "out") && add(&directory, "summary.json", "half"))
            (void)!write(ready[1], "x", 1);
        for (;;)
            pause();
    }
    char byte;
    ck_assert_int_eq(read(ready[0], &byte, 1), 1);
    close(ready[0]);
    close(ready[1]);
    return child;
}

static void kill_child(pid_t child) {
    kill(child, SIGKILL);
    waitpid(child, NULL, 0);
}

START_TEST(killed_run_leaves_the_earlier_one_and_is_cleared_away) {
    write_run("out", "one");
    kill_child(begin_and_wait());
    check_run("out", "one");
    ck_assert_int_eq(names_in("."), 3); /* out, and two hidden ones */
    write_run("out", "two");
    check_run("out", "two");
    ck_assert_int_eq(names_in("out"), 2);
    ck_assert_int_eq(names_in("."), 1);
}
END_TEST

START_TEST(two_at_once_are_kept_apart) {
    pid_t child = begin_and_wait();
    check_refused("out");
    check_file(".out.unfinished/summary.json", "half");
    kill_child(child);
    write_run("out", "one");
    check_run("out", "one");
    ck_assert_int_eq(names_in("."), 1);
}
END_TEST

/* Where a disk can't exchange names, a kill may fall between the two renames. */
START_TEST(run_that_was_set_aside_comes_back) {
    write_run("out", "one");
    ck_assert_int_eq(rename("out", ".out.replaced"), 0);
    struct directory directory;
    ck_assert(directory_begin(&directory, "out"));
    check_run("out", "one");
    directory_abandon(&directory);
    ck_assert_int_eq(mkdir(".out.replaced", 0777), 0); /* the kill came after the second one */
    put_file(".out.replaced/summary.json", "old");
    write_run("out", "two");
    check_run("out", "two");
    ck_assert_int_eq(names_in("."), 1);
}
END_TEST

/* A directory under the name of the journal stands for a disk that does not remove it. */
START_TEST(journal_that_cannot_be_removed_is_said_to_be_the_only_thing_wrong) {
    struct directory directory;
    char said[2 * TEXT_BYTES] = "";
    ck_assert(directory_begin(&directory, "out"));
    ck_assert(add(&directory, "summary.json", "one"));
    ck_assert_int_eq(mkdirat(directory.work, DIRECTORY_JOURNAL, 0777), 0);
    ck_assert_ptr_nonnull(freopen("said", "w+", stderr));
    ck_assert(!directory_commit(&directory));
    rewind(stderr);
    ck_assert_uint_gt(fread(said, 1, sizeof said - 1, stderr), 0);
    ck_assert_str_eq(said,
                     "loopwright: out: is complete and in its place, but its journal could not be "
                     "removed: Is a directory\n"
                     "    help: remove it by hand: rm out/soak.journal\n");
    check_file("out/summary.json", "one");
}
END_TEST

int main(void) {
    Suite *suite = suite_begin("directory");
    TCase *tests = tcase_create("directory");
    tcase_add_checked_fixture(tests, make_place, remove_place);
    tcase_add_test(tests, run_appears_when_it_is_complete);
    tcase_add_test(tests, earlier_run_is_replaced_as_a_whole);
    tcase_add_test(tests, abandoned_run_leaves_nothing);
    tcase_add_test(tests, empty_directory_is_taken);
    tcase_add_test(tests, link_to_an_earlier_run_stays_a_link);
    tcase_add_test(tests, what_no_run_wrote_is_kept);
    tcase_add_test(tests, what_is_named_much_like_a_file_of_a_run_is_kept);
    tcase_add_test(tests, what_a_run_wrote_is_replaced_whatever_its_name);
    tcase_add_test(tests, half_a_run_is_not_an_earlier_run);
    tcase_add_test(tests, places_that_cannot_be_are_refused);
    tcase_add_test(tests, subdirectory_is_something_other);
    tcase_add_loop_test(tests, hidden_names_that_are_links_are_not_followed, 0, 2);
    tcase_add_test(tests, lock_that_is_a_link_is_not_followed);
    tcase_add_test(tests, link_that_leads_nowhere_is_refused);
    tcase_add_test(tests, what_another_user_owns_is_refused);
    tcase_add_test(tests, run_of_another_user_is_not_replaced);
    tcase_add_test(tests, what_was_put_into_the_earlier_run_meanwhile_is_kept);
    tcase_add_test(tests, directory_that_was_made_meanwhile_is_kept);
    tcase_add_test(tests, finished_files_that_were_moved_are_left_where_they_are);
    tcase_add_test(tests, earlier_run_that_went_away_is_no_hindrance);
    tcase_add_test(tests, killed_run_leaves_the_earlier_one_and_is_cleared_away);
    tcase_add_test(tests, two_at_once_are_kept_apart);
    tcase_add_test(tests, run_that_was_set_aside_comes_back);
    tcase_add_test(tests, journal_that_cannot_be_removed_is_said_to_be_the_only_thing_wrong);
    suite_add_tcase(suite, tests);
    return suite_end(suite);
}
