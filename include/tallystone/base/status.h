/* How a call ended: the second of the two channels of failure.
 *
 * Faults in what the user wrote go into a ts_diag (diag.h) with their place; the call
 * then answers TS_FAULTY. Trouble of the machine is a status of its own. */
#ifndef TS_BASE_STATUS_H
#define TS_BASE_STATUS_H

#define TS_MUST_USE __attribute__((warn_unused_result))
#define TS_PRINTF(text, first) __attribute__((format(printf, text, first)))

typedef enum ts_status {
    TS_OK,
    TS_ATTENTION,     /* done, and something needs a person; 1 */
    TS_FAULTY,        /* sentences stand in the ts_diag; sysexits 65 */
    TS_MISSING,       /* an input is not there or cannot be read; 66 */
    TS_CANNOT_CREATE, /* an output cannot be made; 73 */
    TS_IO,            /* reading or writing broke off; 74 */
    TS_OVERFLOW,      /* a figure left the range of exact arithmetic; 65 */
    TS_BUSY,          /* another program holds the register; try again; 75 */
    TS_REFUSED,       /* a rule or the quote's state does not let it happen; 77 */
    TS_UNAVAILABLE,   /* a part of the program itself is not there; 69 */
    TS_STATUS_COUNT
} ts_status;

/* Returns the status that an errand should report when two parts of it ended
 * differently: a missing input before an output, an output before a fault. */
ts_status ts_status_worse(ts_status one, ts_status other);

/* Exit code of sysexits.h for a status. */
int ts_status_exit(ts_status status);

#endif
