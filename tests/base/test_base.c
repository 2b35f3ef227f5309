/* base: arenas, buffers, vectors, views. */
#include <criterion/criterion.h>

#include <setjmp.h>
#include <stdint.h>

#include "base/buffer.h"
#include "base/hash.h"
#include "base/vector.h"

Test(arena, gives_aligned_memory_that_does_not_overlap)
{
    struct arena arena;
    arena_init(&arena, NULL);
    char *before = NULL;
    for (size_t size = 0; size < 3000; size += 7) {
        char *room = arena_alloc(&arena, size);
        cr_assert_eq((uintptr_t)room % _Alignof(max_align_t), 0);
        memset(room, 0x5a, size);
        if (before && size)
            cr_assert(room != before);
        before = size ? room : NULL; /* no room may lie anywhere */
    }
    char *large = arena_alloc(&arena, 10 * 1000 * 1000);
    memset(large, 1, 10 * 1000 * 1000);
    arena_free(&arena);
    cr_assert_null(arena.blocks);
}

Test(arena, clears_what_it_is_asked_to_clear)
{
    struct arena arena;
    arena_init(&arena, NULL);
    memset(arena_alloc(&arena, 1000), 0xff, 1000);
    arena_reset(&arena);
    const unsigned char *zero = arena_zero(&arena, 10, 100);
    for (size_t i = 0; i < 1000; i++)
        cr_assert_eq(zero[i], 0);
    arena_free(&arena);
}

/* A large one has a block of its own, and the room of the newest is used on. */
Test(arena, clears_large_ones_too)
{
    enum { LARGE = 300 * 1000 };
    struct arena arena;
    arena_init(&arena, NULL);
    for (int round = 0; round < 3; round++) {
        unsigned char *first = arena_zero(&arena, LARGE, 1);
        char *before = arena_alloc(&arena, 16);
        unsigned char *second = arena_zero(&arena, 1, LARGE + 1);
        char *after = arena_alloc(&arena, 16);
        cr_expect_eq((uintptr_t)second % _Alignof(max_align_t), 0);
        cr_expect_eq(after, before + 16);
        for (size_t i = 0; i < LARGE; i++)
            cr_assert(first[i] == 0 && second[i] == 0 && second[i + 1] == 0);
        memset(first, 0xff, LARGE);
        memset(second, 0xff, LARGE + 1);
        memset(before, 0xff, 32);
        arena_reset(&arena);
    }
    arena_free(&arena);
    cr_assert_null(arena.blocks);
}

Test(arena, keeps_its_largest_block_over_a_reset)
{
    struct arena arena;
    arena_init(&arena, NULL);
    arena_alloc(&arena, 100);
    char *large = arena_alloc(&arena, 1 << 20);
    arena_alloc(&arena, 1 << 18);
    arena_reset(&arena);
    cr_assert_eq((char *)arena_alloc(&arena, 1 << 20), large);
    arena_free(&arena);
    arena_reset(&arena); /* nothing there: nothing happens */
}

/* Small or large, alone in its block or not: what was there stays, and what lies beside too. */
Test(arena, grows_what_it_gave)
{
    struct arena arena;
    arena_init(&arena, NULL);
    char *beside = arena_copy(&arena, "beside", 6), *room = NULL;
    for (size_t size = 0, more = 16; size < 5 * 1000 * 1000; size = more, more += more / 2) {
        room = arena_grow(&arena, room, size, size, more);
        memset(room + size, (int)(size % 251), more - size);
        for (size_t at = 0, part = 0, next = 16; at < more; at++) {
            if (at == next)
                part = next, next += next / 2;
            cr_assert_eq((unsigned char)room[at], part % 251);
        }
        if (size % 3 == 0) {
            memset(arena_alloc(&arena, 100), 0x5a, 100);
            cr_assert_str_eq(beside, "beside");
        }
    }
    arena_free(&arena);
}

Test(arena, copies_end_with_a_terminator)
{
    struct arena arena;
    arena_init(&arena, NULL);
    cr_assert_str_eq(arena_copy(&arena, "setter", 3), "set");
    cr_assert_str_eq(arena_copy(&arena, NULL, 0), "");
    arena_free(&arena);
}

static void jump(void *user)
{
    longjmp(*(jmp_buf *)user, 1);
}

Test(arena, tells_its_host_when_memory_runs_out)
{
    static jmp_buf exhausted;
    const struct arena_host host = {jump, &exhausted};
    static struct arena arena;
    arena_init(&arena, &host);
    static volatile int told;
    if (setjmp(exhausted))
        told++;
    if (told == 0)
        arena_alloc(&arena, SIZE_MAX);
    if (told == 1)
        arena_zero(&arena, SIZE_MAX / 2, 3);
    if (told == 2)
        arena_copy(&arena, "", SIZE_MAX);
    cr_assert_eq(told, 3);
    arena_free(&arena);
}

Test(buffer, grows_and_stays_terminated)
{
    struct arena arena;
    arena_init(&arena, NULL);
    struct buffer buffer;
    buffer_init(&buffer, &arena);
    cr_assert_str_eq(buffer_string(&buffer), "");
    for (int i = 0; i < 1000; i++)
        buffer_format(&buffer, "%d,", i % 10);
    cr_assert_eq(buffer.size, 2000);
    cr_assert_eq(strlen(buffer_string(&buffer)), 2000);
    buffer_fill(&buffer, '-', 5);
    buffer_byte(&buffer, '!');
    buffer_add(&buffer, (struct view){"\0x", 2});
    cr_assert_eq(buffer_view(&buffer).size, 2008);
    cr_assert_eq(memcmp(buffer.data + 2000, "-----!\0x", 9), 0);
    arena_free(&arena);
}

Test(arena, formats_texts_of_any_length)
{
    struct arena arena;
    arena_init(&arena, NULL);
    cr_assert_str_eq(arena_format(&arena, "%s %d", "cutter", 3), "cutter 3");
    for (int size = 250; size < 260; size++) {
        const char *text = arena_format(&arena, "%*d", size, 7);
        cr_expect_eq(strlen(text), (size_t)size);
        cr_expect_eq(text[size - 1], '7');
    }
    arena_free(&arena);
}

/* A text that twice the room would not hold gets as much as it needs. */
Test(buffer, takes_a_long_text_at_once)
{
    struct arena arena;
    arena_init(&arena, NULL);
    struct buffer buffer;
    char text[1000];
    memset(text, 'x', sizeof text);
    buffer_init(&buffer, &arena);
    buffer_byte(&buffer, '-');
    buffer_add(&buffer, (struct view){text, sizeof text});
    cr_assert(buffer.size < buffer.capacity);
    memset(arena_alloc(&arena, 2000), 'y', 2000);
    cr_assert_eq(buffer.size, 1001);
    cr_assert_eq(memcmp(buffer.data + 1, text, sizeof text), 0);
    cr_assert_eq(buffer.data[1001], '\0');
    arena_free(&arena);
}

Test(vector, keeps_what_was_added)
{
    struct arena arena;
    arena_init(&arena, NULL);
    VECTOR(int) numbers = {0};
    for (int i = 0; i < 10000; i++)
        VECTOR_ADD(&arena, &numbers, i * 3);
    cr_assert_eq(numbers.count, 10000);
    for (int i = 0; i < 10000; i++)
        cr_assert_eq(numbers.items[i], i * 3);
    arena_free(&arena);
}

Test(view, compares_and_cuts)
{
    struct view abc = view_of("abc"), ab = view_of("ab"), none = view_of(NULL);
    cr_assert(view_equal(abc, view_of("abc")));
    cr_assert_not(view_equal(abc, ab));
    cr_assert(view_equal(none, view_of("")));
    cr_assert(view_is(abc, "abc"));
    cr_assert_not(view_is(abc, "abcd"));
    cr_assert(view_starts(abc, "ab"));
    cr_assert_not(view_starts(ab, "abc"));
    cr_assert(view_is(view_skip(abc, 1), "bc"));
    cr_assert(view_is(view_skip(abc, 9), ""));
    cr_assert(view_is(view_trim(view_of(" \t a b \t")), "a b"));
    cr_assert_lt(view_compare(ab, abc), 0);
    cr_assert_gt(view_compare(view_of("b"), abc), 0);
    cr_assert_eq(view_compare(none, view_of("")), 0);
    cr_assert_neq(hash_bytes(abc), hash_bytes(ab));
}

static char ended[8];

static void end_one(void *guest)
{
    strncat(ended, guest, 1);
}

Test(arena, guests_end_with_it_or_before)
{
    struct arena arena;
    arena_init(&arena, NULL);
    char a[] = "a", b[] = "b", c[] = "c";
    ended[0] = '\0';
    arena_guest_add(&arena, end_one, a);
    arena_guest_add(&arena, end_one, b);
    arena_guest_add(&arena, end_one, c);
    arena_guest_end(&arena, b);
    cr_expect_str_eq(ended, "b");
    arena_reset(&arena);
    cr_expect_str_eq(ended, "bca", "each once, the newest first");
    arena_guest_add(&arena, end_one, b);
    struct arena *within = arena_new_within(&arena);
    arena_guest_add(within, end_one, c);
    arena_free(&arena);
    cr_expect_str_eq(ended, "bcacb");
}
