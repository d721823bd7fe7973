/* A model of a run, for the model checker SPIN.
 *
 * "belief" is what the program takes for the state of the work, "truth" what it is. A person does
 * as called, says so, and knows the truth; where nobody can know it, both are possible (EITHER).
 */

/* Of a condition; EITHER is of the truth, UNSURE of the belief. */
#define CLEAR   0
#define SET     1
#define UNSURE  2
#define EITHER  2

/* Why a step is blocked: the first reason only. */
#define FREE     0
#define CERTAIN  1    /* by a condition that is known, by an open step, or by a resource */
#define WAIT     2    /* by a wait that runs */
#define DOUBT(c) (3 + c)

/* Of a wait. */
#define NOT_BEGUN 0
#define RUNS      1
#define OVER      2

/* In the order in which the reasons are looked for. */
#define FORBIDDEN_WHILE(c, next) (here.belief[c] == CLEAR -> next : (here.belief[c] == UNSURE -> DOUBT(c) : CERTAIN))
#define NEEDS(c, next)           (here.belief[c] == SET -> next : (here.belief[c] == UNSURE -> DOUBT(c) : CERTAIN))
#define AFTER(s, next)           (here.open[s] -> CERTAIN : next)
#define AFTER_WAIT(s, next)      (here.wait[s] == RUNS -> WAIT : next)
#define SHARES_WITH(s, next)     (here.wait[s] == RUNS -> CERTAIN : next)

#define NOT_TRULY_CLEAR(c) (truth[c] != CLEAR)
#define NOT_TRULY_SET(c)   (truth[c] != SET)

