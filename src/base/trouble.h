/* What the system said, as text. */
#ifndef TS_BASE_TROUBLE_PRIVATE_H
#define TS_BASE_TROUBLE_PRIVATE_H

#define TS_TROUBLE_TEXT 128

/* The system's sentence for an errno, into `buffer` (TS_TROUBLE_TEXT bytes), returned. */
const char *ts_trouble_text(char *buffer, int error);

#endif
