/* Messages out of bytes, however they arrive. */
#include <criterion/criterion.h>
#include <stdio.h>

#include "server/frame.h"

struct stream {
    const char *bytes;
    size_t bodies;
    enum frame_status last;
};

static const struct stream streams[] = {
    {"", 0, FRAME_MORE},
    {"\r\n\n", 0, FRAME_MORE},
    {"Content-Length: 2\r\n\r\n{}", 1, FRAME_MORE},
    {"content-length:2\n\n{}Content-Length: 0\r\n\r\n", 2, FRAME_MORE},
    {"Content-Length: 2\r\nContent-Length: 2\r\n\r\n{}", 1, FRAME_MORE},
    {"\r\n\r\nContent-Length: 3\r\n\r\n\r\n{", 1, FRAME_MORE},
    {"Content-Length: 2\r\n\r\n{", 0, FRAME_MORE},
    {"Content-Length: 2\r\n", 0, FRAME_MORE},
    {"Content-Type: a/b; charset=\"UTF-8\"; c=d\r\nContent-Length: 1\r\n\r\nx", 1, FRAME_MORE},
    {"Content-Type: a/b; charset=utf-16\r\nContent-Length: 1\r\n\r\nx", 0, FRAME_BROKEN},
    {"Content-Length: 2\r\nContent-Length: 3\r\n\r\n{}", 0, FRAME_BROKEN},
    {"Content-Length: +2\r\n\r\n{}", 0, FRAME_BROKEN},
    {"Content-Length: 0x2\r\n\r\n{}", 0, FRAME_BROKEN},
    {"Content-Length: 340282366920938463463374607431768211456\r\n\r\n", 0, FRAME_BROKEN},
    {"X: y\r\n\r\n", 0, FRAME_BROKEN},
    {": 2\r\n\r\n", 0, FRAME_BROKEN},
    {"{}\r\n", 0, FRAME_BROKEN},
    {"Content-Length: 2\r\n\r\n{}nonsense\r\nContent-Length: 2\r\n\r\n{}", 1, FRAME_BROKEN},
};

/* Whole, and byte by byte. */
Test(frame, streams)
{
    for (size_t i = 0; i < sizeof streams / sizeof *streams; i++)
        for (size_t piece = 1; piece < 200; piece += 198) {
            struct frames frames;
            struct view rest = view_of(streams[i].bytes), body;
            enum frame_status status = FRAME_MORE;
            size_t bodies = 0;
            frames_init(&frames, NULL);
            while (rest.size) {
                size_t size = rest.size < piece ? rest.size : piece;
                frames_add(&frames, (struct view){rest.data, size});
                rest = view_skip(rest, size);
                while ((status = frames_take(&frames, &body)) == FRAME_BODY)
                    bodies++;
            }
            cr_expect(bodies == streams[i].bodies && status == streams[i].last,
                      "%s by %zu: %zu bodies, status %d", streams[i].bytes, piece, bodies, status);
            frames_free(&frames);
        }
}

Test(frame, body)
{
    struct frames frames;
    struct view body;
    frames_init(&frames, NULL);
    frames_add(&frames, view_of("Content-Length: 5\r\n\r\na\0b"));
    frames_add(&frames, (struct view){"\0\r\n\r\nContent-Length: 1", 22});
    cr_assert(frames_take(&frames, &body) == FRAME_BODY);
    cr_expect(body.size == 5 && memcmp(body.data, "a\0\r\n\r", 5) == 0);
    cr_expect(frames_take(&frames, &body) == FRAME_MORE);
    frames_add(&frames, view_of("\n\r\nx"));
    cr_assert(frames_take(&frames, &body) == FRAME_BODY);
    cr_expect(view_is(body, "x"));
    frames_free(&frames);
}

/* What is too large is passed over without being kept, and the next message is found. */
Test(frame, too_large)
{
    static char many[1 << 20];
    struct frames frames;
    struct view body;
    frames_init(&frames, NULL);
    for (size_t beyond = 1; beyond < 3; beyond++) {
        size_t size = (size_t)FRAME_BODY_MAX + beyond, left = size;
        char head[64];
        snprintf(head, sizeof head, "Content-Length: %zu\r\n\r\n", size);
        frames_add(&frames, view_of(head));
        cr_assert(frames_take(&frames, &body) == FRAME_TOO_LARGE);
        while (left) {
            size_t piece = left < sizeof many ? left : sizeof many;
            cr_assert(frames_take(&frames, &body) == FRAME_MORE);
            frames_add(&frames, (struct view){many, piece});
            left -= piece;
        }
        cr_expect(frames.room < sizeof many);
        frames_add(&frames, view_of("Content-Length: 1\r\n\r\nx"));
        cr_assert(frames_take(&frames, &body) == FRAME_BODY);
        cr_expect(view_is(body, "x"));
    }
    frames_free(&frames);
}

/* Once it is not known where a message begins it never is. */
Test(frame, broken)
{
    struct frames frames;
    struct view body;
    frames_init(&frames, NULL);
    frames_add(&frames, view_of("no header\n"));
    cr_expect(frames_take(&frames, &body) == FRAME_BROKEN);
    frames_add(&frames, view_of("Content-Length: 1\r\n\r\nx"));
    cr_expect(frames_take(&frames, &body) == FRAME_BROKEN);
    frames_free(&frames);
}
