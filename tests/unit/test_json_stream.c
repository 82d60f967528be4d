/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_json_stream.c - what is written piece by piece is, byte for byte, what jansson
 * writes of the same object when it has the whole. */
#include <stdlib.h>

#include "tests/common/suite.h"
#include "tools/base/json_stream.h"
#include "tools/base/json_text.h"

static void write_parts(struct json_stream *stream) {
    json_stream_open_array(stream, "parts");
    for (int i = 0; i < 3; i++) {
        json_stream_open_object(stream, NULL);
        json_stream_put(stream, "share", json_real(i / 3.0));
        json_stream_put(stream, "names", json_pack("[s, {s: i, s: []}]", "cog", "at", i, "empty"));
        json_stream_close_object(stream);
    }
    json_stream_put(stream, NULL, json_null());
    json_stream_close_array(stream);
}

/* What the stream wrote; freed with free(). */
static char *written(void (*write)(struct json_stream *stream)) {
    char *text = NULL;
    size_t length = 0;
    FILE *out = open_memstream(&text, &length);
    struct json_stream stream = json_stream_begin(out, JSON_TEXT_DIGITS);
    write(&stream);
    json_stream_end(&stream);
    ck_assert_int_eq(fclose(out), 0);
    return text;
}

static void write_all(struct json_stream *stream) {
    json_stream_put(stream, "title", json_string("two\nlines and a \"quote\""));
    json_stream_open_object(stream, "nothing");
    json_stream_close_object(stream);
    json_stream_open_array(stream, "none");
    json_stream_close_array(stream);
    write_parts(stream);
    json_stream_put(stream, "a \"key\", \xc3\xbc", json_true());
}

static void write_nothing(struct json_stream *stream) { (void)stream; }

static void check_same_as_whole(void (*write)(struct json_stream *stream)) {
    char *text = written(write);
    json_t *object = json_loads(text, 0, NULL);
    ck_assert_ptr_nonnull(object);
    char *whole = json_text_of(object, JSON_TEXT_DIGITS);
    ck_assert_str_eq(text, whole);
    free(whole);
    free(text);
}

START_TEST(parts_are_laid_out_like_the_whole) {
    check_same_as_whole(write_all);
    check_same_as_whole(write_nothing);
}
END_TEST

static void add_tests(TCase *tests) { tcase_add_test(tests, parts_are_laid_out_like_the_whole); }

int main(void) { return suite_main("json_stream", add_tests); }
