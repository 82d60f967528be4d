/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/story/test_examples.c - the first example of README.md and of each page of docs/, and the
 * demo, work: they make something, run without a jam, and hold through the soak that README.md
 * proposes (a hundred nights of twelve hours). A reader builds on what is shown first. */
#include <check.h>
#include <glob.h>
#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "tests/common/suite.h"
#include "tests/story/errand.h"
#include "tests/story/story.h"

/* The first example of a page, NULL where it has none; freed by the caller. */
static char *example_of(const char *path) {
    static const char begin_mark[] = "```yaml\n", end_mark[] = "\n```";
    char *page = story_text(path), *example = NULL;
    const char *begin = strstr(page, begin_mark);
    if (begin != NULL) {
        begin += strlen(begin_mark);
        const char *end = strstr(begin, end_mark);
        ck_assert_msg(end != NULL, "%s: an example without an end", path);
        example = strndup(begin, (size_t)(end + 1 - begin));
        ck_assert_ptr_nonnull(example);
    }
    free(page);
    return example;
}

/* Items made in all by the run whose summary is in `out`; products and what they are made of. */
static double made_in_all(void) {
    json_t *summary = errand_json("out"), *item;
    const char *name;
    double made = 0;
    json_object_foreach(json_object_get(summary, "items"), name, item) made +=
        json_number_value(json_object_get(item, "made"));
    json_decref(summary);
    return made;
}

/* Not one jam, and no night that counts idle hours as good ones. */
static void assert_nights(const char *scenario, const char *options) {
    int status = errand_run("soak %s --for 12h --runs 100 --json %s", scenario, options);
    ck_assert_msg(status == 0, "%s: the soak does not hold", scenario);
    ck_assert_msg(!errand_says("err", "idle hours"), "%s: idle hours", scenario);
    json_t *soak = errand_json("out");
    ck_assert(errand_number(soak, "jam_probability", "estimate", NULL) == 0);
    const char *product;
    json_t *rate;
    ck_assert(json_object_size(json_object_get(soak, "throughput")) > 0);
    json_object_foreach(json_object_get(soak, "throughput"), product, rate)
        ck_assert_msg(json_number_value(json_object_get(rate, "low")) > 1,
                      "%s: hardly any %s is made", scenario, product);
    json_decref(soak);
}

/* A brief is designed first: what is made of it works. */
static void assert_works(const char *example) {
    bool brief = strstr(example, "\nmay:\n") != NULL;
    errand_write(brief ? "brief.yaml" : "example.yaml", example);
    if (brief)
        ck_assert_int_eq(
            errand_run("design brief.yaml --no-tolerances --force --out example.yaml --quiet"), 0);
    ck_assert_int_eq(errand_run("run example.yaml --json"), 0);
    ck_assert(made_in_all() > 0);
    json_t *summary = errand_json("out");
    ck_assert(errand_number(summary, "verdict", "holds", NULL) == 1);
    ck_assert(errand_number(summary, "events", "jam", NULL) == 0);
    ck_assert(errand_number(summary, "events", "clogged", NULL) == 0);
    json_decref(summary);
    assert_nights("example.yaml", "");
}

START_TEST(first_example_of_a_page_works) {
    glob_t pages;
    ck_assert_int_eq(glob("README.md", 0, NULL, &pages), 0);
    ck_assert_int_eq(glob("docs/*.md", GLOB_APPEND, NULL, &pages), 0);
    char **example = calloc(pages.gl_pathc, sizeof *example);
    ck_assert_ptr_nonnull(example);
    /* The tutorial leads through a jam first: a check of its own follows it. */
    for (size_t i = 0; i < pages.gl_pathc; i++)
        if (strcmp(pages.gl_pathv[i], "docs/tutorial.md") != 0)
            example[i] = example_of(pages.gl_pathv[i]);
    int tried = 0;
    errand_begin();
    for (size_t i = 0; i < pages.gl_pathc; i++) {
        if (example[i] != NULL) {
            assert_works(example[i]);
            tried++;
        }
        free(example[i]);
    }
    errand_end();
    ck_assert_int_ge(tried, 2); /* README.md and docs/scenario.md */
    free(example);
    globfree(&pages);
}
END_TEST

/* Its orders end after 25 minutes: here they go on, with the rest as it is. What it expects of an
 * end at rest is replaced by nearly all orders met. */
START_TEST(demo_goes_on_all_night) {
    char *demo = story_text("scenarios/demo.yaml");
    errand_begin();
    errand_write("demo.yaml", demo);
    assert_nights("demo.yaml",
                  "--set demands.movement-orders.until=null --set demands.winder-orders.until=null "
                  "--set demands.mount-orders.until=null "
                  "--set 'expect={jam: false, demand_met: {movement: {at_least: 0.98}, "
                  "winder: {at_least: 0.98}, mount: {at_least: 0.98}}}'");
    errand_end();
    free(demo);
}
END_TEST

static void add_tests(struct TCase *tests) {
    tcase_add_test(tests, first_example_of_a_page_works);
    tcase_add_test(tests, demo_goes_on_all_night);
}

int main(void) { return suite_main("examples", add_tests); }
