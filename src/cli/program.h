/* The whole program, from the command line to the exit status. */
#ifndef PROVEOUT_CLI_PROGRAM_H
#define PROVEOUT_CLI_PROGRAM_H

int program_run(int argc, char *const *argv);

#endif
