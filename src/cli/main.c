#include "cli/program.h"

int main(int argc, char **argv)
{
    return program_run(argc, argv);
}
