/* The workers and their order.  With one worker no thread is made and nothing is copied. */
#include "cli/batch.h"

#include <pthread.h>
#include <stdlib.h>
#include <string.h>

#include "cli/output.h"

enum {
    AHEAD = 512,                 /* pieces that may wait for one that is late */
    HELD_MAX = 16 * 1024 * 1024, /* bytes of theirs at which no more are begun */
    WORKERS_MAX = 64,
};

/* A piece handed over, waiting for its turn. */
struct slot {
    bool is_there;
    struct piece piece; /* its texts are this piece's own */
};

struct queue {
    const struct batch *batch;
    pthread_mutex_t lock;
    pthread_cond_t moved; /* `due` has grown, or the end has come */
    size_t next;          /* to be taken */
    size_t due;           /* to be delivered */
    size_t held;          /* bytes of what waits */
    bool delivering;      /* somebody is */
    bool stopped;
    struct slot slots[AHEAD]; /* by index modulo AHEAD */
};

/* The place of a piece among the others. */
struct turn {
    const struct batch *batch;
    struct queue *queue; /* NULL: one worker, whose turn it always is */
    size_t index;
    bool stopped; /* with one worker */
};

static struct view keep(struct view text)
{
    if (!text.size)
        return (struct view){0};
    char *copy = malloc(text.size);
    if (!copy)
        trouble_no_memory();
    memcpy(copy, text.data, text.size);
    return (struct view){copy, text.size};
}

static void drop(struct piece *piece)
{
    free((void *)piece->text.data);
    free((void *)piece->trouble.data);
    free((void *)piece->known.data);
    free((void *)piece->row.data);
}

/* Takes the next piece; false at the end.  Waits where one far behind is not delivered yet. */
static bool take(struct queue *queue, size_t *index)
{
    pthread_mutex_lock(&queue->lock);
    while (!queue->stopped && queue->next < queue->batch->count &&
           (queue->next - queue->due >= AHEAD || queue->held >= HELD_MAX))
        pthread_cond_wait(&queue->moved, &queue->lock);
    bool is_there = !queue->stopped && queue->next < queue->batch->count;
    if (is_there)
        *index = queue->next++;
    pthread_mutex_unlock(&queue->lock);
    return is_there;
}

/* Delivers all that is due.  The lock is held on entry and exit, not meanwhile. */
static void deliver_due(struct queue *queue)
{
    while (!queue->delivering && queue->slots[queue->due % AHEAD].is_there) {
        struct slot *slot = &queue->slots[queue->due % AHEAD];
        struct piece piece = slot->piece;
        slot->is_there = false;
        queue->delivering = true;
        bool stopped = queue->stopped;
        pthread_mutex_unlock(&queue->lock);
        if (!stopped && !queue->batch->deliver(queue->batch->user, &piece))
            stopped = true;
        drop(&piece);
        pthread_mutex_lock(&queue->lock);
        queue->stopped = stopped;
        queue->delivering = false;
        queue->held -= piece.text.size;
        queue->due++;
        pthread_cond_broadcast(&queue->moved);
    }
}

/* Nobody else delivers while a piece is due that is not handed over. */
static bool wait_for_turn(struct queue *queue, size_t index)
{
    pthread_mutex_lock(&queue->lock);
    while (!queue->stopped && queue->due != index)
        pthread_cond_wait(&queue->moved, &queue->lock);
    bool stopped = queue->stopped;
    pthread_mutex_unlock(&queue->lock);
    return !stopped;
}

static void stop_all(struct queue *queue)
{
    pthread_mutex_lock(&queue->lock);
    queue->stopped = true;
    pthread_cond_broadcast(&queue->moved);
    pthread_mutex_unlock(&queue->lock);
}

void batch_part(struct piece *piece)
{
    struct turn *turn = piece->turn;
    bool goes_on = turn->queue ? wait_for_turn(turn->queue, turn->index) : !turn->stopped;
    if (goes_on && !turn->batch->deliver(turn->batch->user, piece)) {
        turn->stopped = true;
        if (turn->queue)
            stop_all(turn->queue);
    }
    *piece = (struct piece){.turn = turn};
}

static void *work(void *argument)
{
    struct queue *queue = argument;
    const struct batch *batch = queue->batch;
    void *worker = batch->start(batch->user);
    size_t index;
    while (take(queue, &index)) {
        struct turn turn = {.batch = batch, .queue = queue, .index = index};
        struct piece piece = {.turn = &turn};
        batch->work(worker, index, &piece);
        piece.text = keep(piece.text);
        piece.trouble = keep(piece.trouble);
        piece.known = keep(piece.known);
        piece.row = keep(piece.row);
        pthread_mutex_lock(&queue->lock);
        queue->held += piece.text.size;
        queue->slots[index % AHEAD] = (struct slot){true, piece};
        deliver_due(queue);
        pthread_mutex_unlock(&queue->lock);
    }
    batch->stop(worker);
    return NULL;
}

static void work_alone(const struct batch *batch)
{
    void *worker = batch->start(batch->user);
    for (size_t i = 0; i < batch->count; i++) {
        struct turn turn = {.batch = batch, .index = i};
        struct piece piece = {.turn = &turn};
        batch->work(worker, i, &piece);
        if (turn.stopped || !batch->deliver(batch->user, &piece))
            break;
    }
    batch->stop(worker);
}

void batch_run(const struct batch *batch)
{
    size_t workers = batch->workers < batch->count ? batch->workers : batch->count;
    if (workers > WORKERS_MAX)
        workers = WORKERS_MAX;
    if (workers <= 1) {
        work_alone(batch);
        return;
    }
    struct queue *queue = calloc(1, sizeof *queue);
    if (!queue)
        trouble_no_memory();
    queue->batch = batch;
    pthread_mutex_init(&queue->lock, NULL);
    pthread_cond_init(&queue->moved, NULL);
    pthread_t threads[WORKERS_MAX];
    size_t count = 0;
    /* This thread works too; with fewer helpers than wished for it only takes longer. */
    while (count < workers - 1 && pthread_create(&threads[count], NULL, work, queue) == 0)
        count++;
    work(queue);
    for (size_t i = 0; i < count; i++)
        pthread_join(threads[i], NULL);
    pthread_cond_destroy(&queue->moved);
    pthread_mutex_destroy(&queue->lock);
    free(queue);
}
