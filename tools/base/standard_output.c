/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/standard_output.c - asks the pipe itself whether its reader has gone, because an errno
 * is long overwritten by then. */
#include "tools/base/standard_output.h"

#include <errno.h>
#include <poll.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "tools/base/status.h"

bool standard_output_failed(void) { return ferror(stdout) != 0; }

bool standard_output_is_unread(void) {
    struct pollfd asked = {.fd = STDOUT_FILENO, .events = POLLOUT};
    return poll(&asked, 1, 0) == 1 && (asked.revents & POLLERR) != 0;
}

int standard_output_finish(int status) {
    bool flushed = fflush(stdout) == 0;
    int error = flushed ? EIO : errno; /* of an earlier write nobody has kept it */
    if ((flushed && !standard_output_failed()) || standard_output_is_unread())
        return status;
    fprintf(stderr, "loopwright: standard output: %s\n", strerror(error));
    return STATUS_FILE;
}
