/* An issued quote worked out anew from what the register kept of it. */
#ifndef TS_DESK_AGAIN_H
#define TS_DESK_AGAIN_H

#include "desk/commission.h"

/* Runs the sheet that was issued on the books of then, with the meshes of then. Everything into
 * `arena`; `run` borrows the files. TS_FAULTY where the register kept no sheet. */
ts_status ts_commission_again(ts_commission_run *run, ts_arena *arena, const ts_quote *quote,
                              const ts_kept_file *files, size_t count, ts_diag *diag) TS_MUST_USE;

#endif
