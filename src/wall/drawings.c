/* The drawings, and beside each a table that says the same to whoever does not see it. */
#include "wall/internal.h"

#include "draw/svg.h"
#include "text/escape.h"

static const struct paper_table words = {"the same in words",
                                         4,
                                         {{"what is drawn", 5500},
                                          {"how far, how large", 5000},
                                          {"field", 3500},
                                          {"what fails", 4000}}};

static const char *text_of(const struct poster *poster, const struct scene_item *item,
                           void (*add)(struct buffer *out, const struct scene_item *item))
{
    struct buffer text;
    buffer_init(&text, poster->arena);
    add(&text, item);
    return buffer_string(&text);
}

static void add_item(struct poster *poster, const struct scene_item *item)
{
    const char *value = item->value ? item->value : item->unknown ? "not known" : "";
    const struct paper_cell cells[] = {{.text = item->what},
                                       {.text = value},
                                       {.text = text_of(poster, item, scene_place)},
                                       {.text = text_of(poster, item, scene_failure)}};
    paper_row(&poster->paper, &words, cells, NULL);
}

static void add_words(struct poster *poster, const struct scene *scene)
{
    paper_screen(&poster->paper);
    paper_text(&poster->paper,
               arena_format(poster->arena, "In words: %s. %s", scene->subject, SCENE_CAUTION),
               false);
    for (uint32_t v = 0; v < scene->view_count; v++) {
        paper_text(&poster->paper, scene->views[v].title, true);
        for (size_t i = 0; i < scene->views[v].items.count; i++)
            add_item(poster, scene->views[v].items.items[i]);
    }
    for (size_t i = 0; i < scene->notes.count; i++)
        paper_item(&poster->paper, scene->notes.items[i], false);
    paper_again(&poster->paper);
}

/* On a screen that is narrower than paper it keeps its size, and is scrolled by itself. */
static void add_drawing(struct poster *poster, const struct scene *scene)
{
    struct buffer markup;
    buffer_init(&markup, poster->arena);
    buffer_text(&markup, "<div class=\"drawing\" role=\"region\" tabindex=\"0\" aria-label=\"");
    escape_xml(&markup, view_of(scene->view_count ? scene->views[0].title : scene->subject));
    buffer_text(&markup, "\">");
    svg_write_scene(&markup, poster->arena, scene);
    buffer_text(&markup, "</div>\n");
    paper_break(&poster->paper);
    paper_markup(&poster->paper, buffer_string(&markup), WALL_DRAWING);
    add_words(poster, scene);
}

void wall_add_drawings(struct poster *poster)
{
    add_drawing(poster, poster->wall->plan);
    add_drawing(poster, poster->wall->side);
    paper_break(&poster->paper);
}
