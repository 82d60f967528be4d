/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/base/pool.c - threads that fetch the next number, and a caller who waits for them. */
#include "tools/base/pool.h"

#include <pthread.h>
#include <stdlib.h>
#include <time.h>
#include <unistd.h>

#include "sim/require.h"
#include "tools/base/interrupt.h"

enum { LOOK_NS = 100000000 };

struct pool {
    const struct pool_task *task;
    pthread_mutex_t lock;
    pthread_cond_t ended; /* a thread has ended */
    uint64_t next, done;
    uint32_t working; /* threads */
    bool stopped;
};

/* The next piece; false when there is none to begin. */
static bool fetch(struct pool *pool, uint64_t *piece) {
    pthread_mutex_lock(&pool->lock);
    bool fetched = !pool->stopped && pool->next < pool->task->count && interrupt_signal() == 0;
    if (fetched)
        *piece = pool->next++;
    pthread_mutex_unlock(&pool->lock);
    return fetched;
}

static void deliver(struct pool *pool, bool done) {
    pthread_mutex_lock(&pool->lock);
    pool->done += done;
    pool->stopped = pool->stopped || !done;
    pthread_mutex_unlock(&pool->lock);
}

static void *do_pieces(void *self) {
    struct pool *pool = self;
    uint64_t piece;
    while (fetch(pool, &piece))
        deliver(pool, pool->task->work(pool->task->self, piece));
    pthread_mutex_lock(&pool->lock);
    pool->working--;
    pthread_cond_signal(&pool->ended);
    pthread_mutex_unlock(&pool->lock);
    return NULL;
}

static void wait_a_moment(struct pool *pool) {
    struct timespec until;
    clock_gettime(CLOCK_REALTIME, &until);
    until.tv_nsec += LOOK_NS;
    if (until.tv_nsec >= 1000000000) {
        until.tv_nsec -= 1000000000;
        until.tv_sec++;
    }
    pthread_cond_timedwait(&pool->ended, &pool->lock, &until);
}

static void wait_for_all(struct pool *pool) {
    pthread_mutex_lock(&pool->lock);
    while (pool->working > 0) {
        wait_a_moment(pool);
        if (pool->task->look == NULL)
            continue;
        pthread_mutex_unlock(&pool->lock);
        pool->task->look(pool->task->self);
        pthread_mutex_lock(&pool->lock);
    }
    pthread_mutex_unlock(&pool->lock);
}

bool pool_run(const struct pool_task *task) {
    struct pool pool = {.task = task};
    uint32_t jobs = task->jobs < task->count ? task->jobs : (uint32_t)task->count, begun = 0;
    pthread_t *thread = require_memory(jobs, sizeof *thread);
    pthread_mutex_init(&pool.lock, NULL);
    pthread_cond_init(&pool.ended, NULL);
    pool.working = jobs;
    while (begun < jobs && pthread_create(&thread[begun], NULL, do_pieces, &pool) == 0)
        begun++;
    pthread_mutex_lock(&pool.lock);
    pool.working -= jobs - begun; /* those that the system would not give */
    pthread_mutex_unlock(&pool.lock);
    if (begun == 0) {
        pool.working = 1;
        do_pieces(&pool);
    }
    wait_for_all(&pool);
    for (uint32_t i = 0; i < begun; i++)
        pthread_join(thread[i], NULL);
    pthread_cond_destroy(&pool.ended);
    pthread_mutex_destroy(&pool.lock);
    free(thread);
    return pool.done == task->count;
}

uint32_t pool_processors(void) {
    long count = sysconf(_SC_NPROCESSORS_ONLN);
    return count > 0 ? (uint32_t)count : 1;
}
