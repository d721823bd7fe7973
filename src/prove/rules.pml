/* The rules. Each option of the loop at the end is one command, or one wait that ends, and is one step
 * of the search: the number of steps is the number of commands.
 */

/* No step: all of the job are left. */
#define NONE STEPS

/* Where the work stands, as the program sees it. */
typedef Place {
    NUMBER job;                /* the called job */
    NUMBER at[JOBS];           /* the called step of each job */
    bit asking;                /* a reason for a skip is asked for */
    bit open[STEPS_AND_NONE];
    byte wait[STEPS_AND_NONE];
    NUMBER left[STEPS];        /* the steps that were left, in their order, from FIRST(job) on */
    NUMBER many[JOBS];         /* how many of them */
    byte belief[CONDITIONS]
}

Place here;
Place earlier;                 /* what "disregard" goes back to */
bit takes_back;                /* whether there is such a place */
byte truth[CONDITIONS];
bit misheard;                  /* whether a word was misheard already */

/* Follows from the rest and is worked out after each command. */
NUMBER why[STEPS_AND_NONE];    /* why each step is blocked */
NUMBER other;                  /* what else can be done: the first such step */

NUMBER asked;                  /* the wait that was asked about last, counted from 1; none after any other command */

/* For the work of a command only: nothing is in them between two. */
NUMBER i, j, s, last, waited;

#define CALLED   here.at[here.job]
#define READY(s) (here.open[s] && why[s] == FREE)
#define BEGUN    (CALLED != NONE && !here.asking)
#define DANGER   (BEGUN && why[CALLED] == FREE && UNSAFE(CALLED) && (misheard || !MISHEAR))

inline copy(to, from) {
    to.job = from.job;
    to.asking = from.asking;
    for (i : 0 .. JOBS - 1) { to.at[i] = from.at[i]; to.many[i] = from.many[i] }
    for (i : 0 .. STEPS - 1) {
        to.open[i] = from.open[i];
        to.wait[i] = from.wait[i];
        to.left[i] = from.left[i]
    }
    for (i : 0 .. CONDITIONS - 1) { to.belief[i] = from.belief[i] }
}

inline tidy() {
    asked = 0;
    clean()
}

inline clean() {
    i = 0; j = 0; s = 0; last = 0; waited = 0
}

inline forget() {
    earlier.job = 0;
    earlier.asking = 0;
    for (i : 0 .. JOBS - 1) { earlier.at[i] = 0; earlier.many[i] = 0 }
    for (i : 0 .. STEPS - 1) { earlier.open[i] = 0; earlier.wait[i] = 0; earlier.left[i] = 0 }
    for (i : 0 .. CONDITIONS - 1) { earlier.belief[i] = 0 }
    takes_back = 0
}

inline remember() {
    copy(earlier, here);
    takes_back = 1
}

/* Calls a step in job k: the called one stays while it can be done; else the first that can; else the
 * first that is open. */
inline call(k) {
    if
    :: here.at[k] != NONE && READY(here.at[k]) -> skip
    :: else ->
        s = FIRST(k);
        do
        :: s < END(k) && !READY(s) -> s++
        :: else -> break
        od;
        if
        :: s < END(k) -> skip
        :: else ->
            s = FIRST(k);
            do
            :: s < END(k) && !here.open[s] -> s++
            :: else -> break
            od
        fi;
        here.at[k] = (s < END(k) -> s : NONE)
    fi
}

inline call_others() {
    for (j : 0 .. JOBS - 1) {
        if
        :: j != here.job -> call(j)
        :: else -> skip
        fi
    }
}

/* Looks for what else can be done: in the called job, while it has a called step, round from that
 * one; then the called steps of the other jobs, round from this one. A run with a plan may take another
 * of these first: saying it again, or the job's name, leads to the same. */
inline look_round() {
    other = NONE;
    if
    :: CALLED != NONE ->
        s = (CALLED + 1 < END(here.job) -> CALLED + 1 : FIRST(here.job));
        do
        :: s != CALLED ->
            if
            :: other == NONE && READY(s) -> other = s
            :: else -> skip
            fi;
            s = (s + 1 < END(here.job) -> s + 1 : FIRST(here.job))
        :: else -> break
        od
    :: else -> skip
    fi;
    j = (here.job + 1 < JOBS -> here.job + 1 : 0);
    do
    :: j != here.job ->
        if
        :: other == NONE && here.at[j] != NONE && READY(here.at[j]) -> other = here.at[j]
        :: else -> skip
        fi;
        j = (j + 1 < JOBS -> j + 1 : 0)
    :: else -> break
    od
}

inline move_to(step) {
    here.job = JOB(step);
    here.at[here.job] = step;
    call_others();
    look_round()
}

/* Where the called job has no step left, the run itself moves on; what led to it is taken back with
 * it. */
inline what_follows() {
    look_round();
    if
    :: CALLED == NONE && other != NONE -> last = other; move_to(last)
    :: else -> skip
    fi
}

/* The called step, in "last", is done or skipped. */
inline leave() {
    here.open[last] = 0;
    here.left[FIRST(here.job) + here.many[here.job]] = last;
    here.many[here.job]++;
    judge();
    call(here.job);
    call_others();
    what_follows()
}

inline claim() {
    remember();
    last = CALLED;
    believe(last, SET, CLEAR);
    here.wait[last] = (MEANWHILE(last) -> RUNS : here.wait[last])
}

/* Back to the step of the called job that was left last. */
inline go_back() {
    here.many[here.job]--;
    last = here.left[FIRST(here.job) + here.many[here.job]];
    here.left[FIRST(here.job) + here.many[here.job]] = 0;
    believe(last, UNSURE, UNSURE);
    here.open[last] = 1;
    here.wait[last] = NOT_BEGUN;
    judge();
    here.at[here.job] = last;
    call_others();
    look_round()
}

/* The name of a job; one that is done is gone back into. */
#define MOVE(k) \
    :: d_step { !here.asking && here.job != k && here.at[k] != NONE -> \
        last = here.at[k]; remember(); move_to(last); tidy() } \
    :: d_step { !here.asking && here.job != k && here.at[k] == NONE && here.many[k] > 0 -> \
        remember(); here.job = k; go_back(); tidy() }

#define SETTLE(c) \
    :: d_step { BEGUN && why[CALLED] == DOUBT(c) && truth[c] != CLEAR -> settle(c, SET); tidy() } \
    :: d_step { BEGUN && why[CALLED] == DOUBT(c) && truth[c] != SET -> settle(c, CLEAR); tidy() }

inline settle(c, which) {
    remember();
    here.belief[c] = which;
    truth[c] = which;
    judge();
    call_others();
    look_round()
}

#define WAIT_ENDS(w) \
    :: d_step { here.wait[w] == RUNS -> wait_ends(w); tidy() }

/* The person hears that it is over and says so at once: that is what "disregard" takes back next, and it
 * leads to the same place. */
inline wait_ends(w) {
    waited = (CALLED != NONE && why[CALLED] == WAIT && !here.asking);
    here.wait[w] = OVER;
    judge();
    if
    :: waited -> call(here.job)
    :: else -> skip
    fi;
    call_others();
    remember();
    what_follows()
}

/* "Cancel countdown": stops the wait that was asked for by its name, or the only one. */
#define ASK_WAIT(w) \
    :: d_step { !here.asking && here.wait[w] == RUNS && RUNNING > 1 && asked != w + 1 -> \
        asked = w + 1; clean() }

#define STOP_WAIT(w) \
    :: d_step { !here.asking && here.wait[w] == RUNS && (RUNNING == 1 || asked == w + 1) -> \
        remember(); stop_wait(w, JOB(w)); tidy() }

/* It is not over: its step is open again, and what that had set is not certain. */
inline stop_wait(w, k) {
    here.wait[w] = NOT_BEGUN;
    here.open[w] = 1;
    believe(w, UNSURE, UNSURE);
    last = FIRST(k);
    for (i : FIRST(k) .. FIRST(k) + here.many[k] - 1) {
        if
        :: here.left[i] != w -> here.left[last] = here.left[i]; last++
        :: else -> skip
        fi
    }
    here.left[last] = 0;
    here.many[k]--;
    judge();
    call(k);
    call_others();
    look_round()
}

active proctype work() {
    d_step {
        here.open[NONE] = 0;
        for (i : 0 .. STEPS - 1) { here.open[i] = 1 }
        judge();
        for (j : 0 .. JOBS - 1) { here.at[j] = NONE; call(j) }
        look_round();
        tidy()
    }
end:
    do
    /* Done as called, and said so. */
    :: d_step { BEGUN && why[CALLED] == FREE ->
        claim();
        become(last, SET, CLEAR);
        leave();
        tidy() }

    /* Taken for said, though nobody said it and nothing was done. A hold's answer is not so taken. */
    :: d_step { MISHEAR && !misheard && BEGUN && why[CALLED] == FREE && !HOLD(CALLED) ->
        misheard = 1;
        claim();
        leave();
        tidy() }

    /* "Override skip", and its reason. */
    :: d_step { BEGUN && !HOLD(CALLED) ->
        remember();
        here.asking = 1;
        tidy() }
    :: d_step { here.asking ->
        remember();
        here.asking = 0;
        last = CALLED;
        believe(last, UNSURE, UNSURE);
        become(last, EITHER, EITHER);
        leave();
        tidy() }

    /* "Previous instruction". */
    :: d_step { !here.asking && here.many[here.job] > 0 ->
        remember();
        go_back();
        tidy() }

    /* "Disregard": back to the place before, but what differs is not certain, and clocks go on. */
    :: d_step { takes_back ->
        for (i : 0 .. CONDITIONS - 1) {
            earlier.belief[i] = (earlier.belief[i] == here.belief[i] -> here.belief[i] : UNSURE)
        }
        for (i : 0 .. STEPS - 1) {
            earlier.wait[i] = (earlier.wait[i] == RUNS && here.wait[i] == OVER -> OVER : earlier.wait[i])
        }
        copy(here, earlier);
        forget();
        judge();
        call_others();
        look_round();
        tidy() }

    /* "Other work". */
    :: d_step { !here.asking && other != NONE -> last = other; remember(); move_to(last); tidy() }

    MOVES
    SETTLES
    WAITS_END
    WAITS_ASKED
    WAITS_STOP

    :: d_step { DANGER -> assert(false) }

    /* Where this is never reached, the work cannot be finished. */
    :: FINISHED -> assert(true)
    od
}
