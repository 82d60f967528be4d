/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tests/common/processor.h - processor time, the only time by which a test may judge or be ended:
 * on a busy machine the clock on the wall says nothing about a program. */
#pragma once

/* The signal SIGXCPU ends this process, and each that it starts from now on, once it has used so
 * many seconds of processor time more (a process that it starts: that many and what this one has
 * used so far). */
void processor_limit(unsigned seconds);

/* Seconds of processor time that this process has used, or all that it started and waited for. */
double processor_own_s(void);
double processor_children_s(void);
