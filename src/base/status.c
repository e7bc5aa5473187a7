#include <tallystone/base/status.h>

/* The order in which statuses outweigh each other, and the exit codes of sysexits.h
 * (the header itself is no part of POSIX, so the numbers stand here: 65 EX_DATAERR,
 * 66 EX_NOINPUT, 69 EX_UNAVAILABLE, 70 EX_SOFTWARE, 73 EX_CANTCREAT, 74 EX_IOERR,
 * 75 EX_TEMPFAIL, 77 EX_NOPERM). What the program itself lacks comes first, then a missing input,
 * because all that follows from it would be guesswork; an output that cannot be made comes before
 * faults because mending the faults would not help. */

static int weight(ts_status status)
{
    switch (status) {
    case TS_OK:
        return 0;
    case TS_ATTENTION:
        return 1;
    case TS_FAULTY:
        return 2;
    case TS_OVERFLOW:
        return 3;
    case TS_REFUSED:
        return 4;
    case TS_BUSY:
        return 5;
    case TS_IO:
        return 6;
    case TS_CANNOT_CREATE:
        return 7;
    case TS_MISSING:
        return 8;
    case TS_UNAVAILABLE:
        return 9;
    case TS_STATUS_COUNT:
        break;
    }
    return 10;
}

ts_status ts_status_worse(ts_status one, ts_status other)
{
    return weight(other) > weight(one) ? other : one;
}

int ts_status_exit(ts_status status)
{
    switch (status) {
    case TS_OK:
        return 0;
    case TS_ATTENTION:
        return 1;
    case TS_FAULTY:
    case TS_OVERFLOW:
        return 65;
    case TS_MISSING:
        return 66;
    case TS_CANNOT_CREATE:
        return 73;
    case TS_IO:
        return 74;
    case TS_BUSY:
        return 75;
    case TS_REFUSED:
        return 77;
    case TS_UNAVAILABLE:
        return 69;
    case TS_STATUS_COUNT:
        break;
    }
    return 70;
}
