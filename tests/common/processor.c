/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "tests/common/processor.h"

#include <sys/resource.h>

#include "sim/require.h"

static double used_s(int who) {
    struct rusage usage;
    require(getrusage(who, &usage) == 0);
    return (double)(usage.ru_utime.tv_sec + usage.ru_stime.tv_sec) +
           1e-6 * (double)(usage.ru_utime.tv_usec + usage.ru_stime.tv_usec);
}

double processor_own_s(void) { return used_s(RUSAGE_SELF); }

double processor_children_s(void) { return used_s(RUSAGE_CHILDREN); }

/* The hard limit stays as it is, so that the next call can raise the soft one again. */
void processor_limit(unsigned seconds) {
    struct rlimit limit;
    require(getrlimit(RLIMIT_CPU, &limit) == 0);
    rlim_t wanted = (rlim_t)processor_own_s() + seconds + 1;
    limit.rlim_cur = wanted < limit.rlim_max ? wanted : limit.rlim_max;
    require(setrlimit(RLIMIT_CPU, &limit) == 0);
}
