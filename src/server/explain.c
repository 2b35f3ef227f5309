/* The one command: what a rule or a field is about, shown by the editor and given back. */
#include "server/internal.h"

bool answer_command(struct call *call)
{
    struct server *server = call->server;
    const char *command = json_text_in(call->params, "command");
    const json_t *argument = json_array_get(json_list_in(call->params, "arguments"), 0);
    if (!command || strcmp(command, "proveout.explain") != 0)
        return call_refuse(call, ERROR_BAD_PARAMS, "no such command is known here");
    if (!json_is_string(argument))
        return call_refuse(call, ERROR_BAD_PARAMS, "it wants the name of a rule or field");
    struct proveout_options options = server_options(server);
    struct proveout_text *text = proveout_explain(json_string_value(argument), &options);
    bool good = proveout_text_ends(text);
    if (good) {
        const char *told =
            arena_copy(call->arena, proveout_text_data(text), proveout_text_length(text));
        say_show(server, TYPE_INFO, told);
        json_text(call->json, told);
    } else {
        const char *why = proveout_text_trouble(text);
        call_refuse(call, ERROR_FAILED, "%s",
                    why ? shown(call->arena, why) : "there is not enough memory");
    }
    proveout_text_free(text);
    return good;
}
