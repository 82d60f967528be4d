/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/page/file_text.c - reads until nothing comes any more. */
#include "tools/page/file_text.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "sim/require.h"
#include "sim/utf8.h"
#include "tools/base/file.h"

static char *read_all(FILE *file, size_t *length) {
    size_t room = 1 << 16;
    char *text = require_memory(room, 1);
    for (*length = 0;;) {
        size_t count = fread(text + *length, 1, room - *length - 1, file);
        *length += count;
        if (count == 0)
            break;
        if (*length + 1 == room)
            text = require_more_memory(text, room *= 2, 1);
    }
    text[*length] = '\0';
    return text;
}

/* Text is UTF-8 without a NUL. */
static bool is_text(const char *text, size_t length) {
    const unsigned char *at = (const unsigned char *)text, *end = at + length;
    while (at < end && *at != '\0') {
        size_t bytes = *at < 0x80 ? 1 : utf8_bytes(at, end);
        if (bytes == 0)
            return false;
        at += bytes;
    }
    return at == end;
}

char *file_text(const char *path, struct faults *faults) {
    FILE *file = file_open_regular(path);
    if (file == NULL) {
        faults_add(faults, FAULT_ERROR, "%s: %s", path, strerror(errno));
        return NULL;
    }
    size_t length;
    errno = 0;
    char *text = read_all(file, &length);
    bool failed = ferror(file) != 0, binary = !is_text(text, length);
    if (failed)
        faults_add(faults, FAULT_ERROR, "%s: %s", path, strerror(errno != 0 ? errno : EIO));
    else if (binary)
        faults_add(faults, FAULT_ERROR, "%s: is no text", path);
    fclose(file);
    if (!failed && !binary)
        return text;
    free(text);
    return NULL;
}
