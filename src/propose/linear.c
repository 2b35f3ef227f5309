#include "propose/linear.h"

#include <lpsolve/lp_lib.h>
#include <math.h>
#include <stdbool.h>
#include <string.h>

/* No programme of ours takes a hundredth of it: only one that goes round in circles. */
enum { SECONDS_MAX = 5 };

/* lp_solve counts columns from 1, and takes a column 0 for the objective. */
struct columns {
    int *numbers;
    double *values;
};

void linear_begin(struct linear *out, struct arena *arena, size_t variables)
{
    *out = (struct linear){.variables = variables};
    out->objective = ARENA_ARRAY(arena, double, variables + 1);
    out->low = ARENA_ARRAY(arena, double, variables + 1);
    out->high = ARENA_ARRAY(arena, double, variables + 1);
}

double *linear_add(struct linear *problem, struct arena *arena, double least)
{
    struct linear_row row = {ARENA_ARRAY(arena, double, problem->variables + 1), least};
    VECTOR_ADD(arena, &problem->rows, row);
    return row.coefficients;
}

static bool add_rows(lprec *lp, const struct linear *problem, const struct columns *columns)
{
    set_add_rowmode(lp, TRUE);
    for (size_t i = 0; i < problem->rows.count; i++) {
        const struct linear_row *row = &problem->rows.items[i];
        int count = 0;
        for (size_t j = 0; j < problem->variables; j++) {
            if (row->coefficients[j] == 0)
                continue;
            columns->values[count] = row->coefficients[j];
            columns->numbers[count++] = (int)j + 1;
        }
        if (!add_constraintex(lp, count, columns->values, columns->numbers, GE, row->least))
            return false;
    }
    set_add_rowmode(lp, FALSE);
    return true;
}

static bool fill(lprec *lp, const struct linear *problem, const struct columns *columns)
{
    double infinite = get_infinite(lp);
    for (size_t j = 0; j < problem->variables; j++) {
        int column = (int)j + 1;
        columns->numbers[j] = column;
        columns->values[j] = problem->objective[j];
        double low = isinf(problem->low[j]) ? -infinite : problem->low[j];
        double high = isinf(problem->high[j]) ? infinite : problem->high[j];
        if (!set_bounds(lp, column, low, high))
            return false;
    }
    set_maxim(lp);
    return set_obj_fnex(lp, (int)problem->variables, columns->values, columns->numbers) &&
           add_rows(lp, problem, columns);
}

/* lp_solve takes what has no bound for one that it has reached. */
static enum linear_result take(lprec *lp, size_t variables, double *x)
{
    double *values, infinite = get_infinite(lp);
    if (!get_ptr_variables(lp, &values))
        return LINEAR_NOT_SO;
    for (size_t j = 0; j < variables; j++)
        if (!(fabs(values[j]) < infinite))
            return LINEAR_NOT_SO;
    memcpy(x, values, variables * sizeof *x);
    return LINEAR_FOUND;
}

enum linear_result linear_solve(struct arena *arena, const struct linear *problem, double *x)
{
    for (size_t j = 0; j < problem->variables; j++)
        if (problem->low[j] > problem->high[j])
            return LINEAR_NONE;
    struct columns columns = {ARENA_ARRAY(arena, int, problem->variables + 1),
                              ARENA_ARRAY(arena, double, problem->variables + 1)};
    lprec *lp = make_lp(0, (int)problem->variables);
    if (!lp)
        arena_exhausted(arena);
    set_verbose(lp, NEUTRAL);
    /* else it would draw, by the time of day, how to get on where many corners are alike */
    set_anti_degen(lp, ANTIDEGEN_NONE);
    set_timeout(lp, SECONDS_MAX);
    int solution = fill(lp, problem, &columns) ? solve(lp) : NOMEMORY;
    enum linear_result result = solution == OPTIMAL      ? take(lp, problem->variables, x)
                                : solution == INFEASIBLE ? LINEAR_NONE
                                                         : LINEAR_NOT_SO;
    delete_lp(lp);
    if (solution == NOMEMORY)
        arena_exhausted(arena);
    return result;
}
