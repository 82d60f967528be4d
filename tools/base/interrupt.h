/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/interrupt.h - signals that ask a long command to stop, noticed between two steps of
 * its work. */
#pragma once

/* From now on the first SIGINT, SIGTERM or SIGHUP is only noted, a second one ends the program at
 * once; a reader that went away and a file that may not grow are errors of a write, not signals. */
void interrupt_watch(void);
/* From now on they end the program at once again: for work that leaves nothing half done. */
void interrupt_leave(void);
/* The signal that was noted; 0: none. */
int interrupt_signal(void);
