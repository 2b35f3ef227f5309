#include <fcntl.h>
#include <signal.h>
#include <spawn.h>
#include <sys/wait.h>
#include <unistd.h>

#include "platform/internal.h"
#include "platform/posix/again.h"

int process_start(struct process *process, const char *const *arguments, int *out)
{
    extern char **environ;
    posix_spawn_file_actions_t actions;
    int ends[2];
    pid_t child = -1;
    if (pipe(ends))
        return errno;
    fcntl(ends[0], F_SETFD, FD_CLOEXEC);
    fcntl(ends[1], F_SETFD, FD_CLOEXEC);
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_addopen(&actions, 0, "/dev/null", O_RDONLY, 0);
    posix_spawn_file_actions_adddup2(&actions, ends[1], 1);
    int error =
        posix_spawnp(&child, arguments[0], &actions, NULL, (char *const *)arguments, environ);
    posix_spawn_file_actions_destroy(&actions);
    close(ends[1]);
    if (error)
        close(ends[0]);
    *out = ends[0];
    process->id = child;
    return error;
}

bool process_end(struct process *process)
{
    int status = 0;
    pid_t ended, child = (pid_t)process->id;
    AGAIN(ended, waitpid(child, &status, 0));
    return ended == child && status == 0;
}

bool process_is_there(long id)
{
    return kill((pid_t)id, 0) == 0 || errno != ESRCH;
}
