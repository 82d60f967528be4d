/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/unit/test_text_stream.c - a text printed in pieces is the text printed in one piece. */
#include <check.h>
#include <stdlib.h>
#include <string.h>

#include "sim/text_stream.h"
#include "tests/common/suite.h"

START_TEST(nothing_printed_is_an_empty_text) {
    struct text_stream stream;
    ck_assert_ptr_nonnull(text_stream_begin(&stream));
    char *text = text_stream_end(&stream);
    ck_assert_str_eq(text, "");
    free(text);
}
END_TEST

/* Far more than any buffer, in pieces of several lengths. */
START_TEST(pieces_follow_each_other) {
    enum { PIECES = 30000, PIECE_BYTES = 32 };
    char *expected = calloc(PIECES, PIECE_BYTES);
    size_t length = 0;
    struct text_stream stream;
    FILE *out = text_stream_begin(&stream);
    for (int i = 0; i < PIECES; i++) {
        length += (size_t)sprintf(expected + length, "%d %.*s\n", i, i % 13, "abcdefghijklm");
        fprintf(out, "%d %.*s", i, i % 13, "abcdefghijklm");
        fputc('\n', out);
    }
    char *text = text_stream_end(&stream);
    ck_assert_uint_eq(strlen(text), length);
    ck_assert_str_eq(text, expected);
    free(text);
    free(expected);
}
END_TEST

static void add_tests(TCase *tests) {
    tcase_add_test(tests, nothing_printed_is_an_empty_text);
    tcase_add_test(tests, pieces_follow_each_other);
}

int main(void) { return suite_main("text_stream", add_tests); }
