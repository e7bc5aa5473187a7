/* Files: read within limits, written whole or not at all. Each test works in a new
 * folder of its own, which is the working folder while it runs. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <dirent.h>
#include <fcntl.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

#include <tallystone/base/file.h>

typedef struct fixture {
    ts_arena *arena;
    ts_diag *diag;
    char *printed;
    char folder[64];
    int home;
    mode_t umask;
} fixture;

static int begin(void **state)
{
    fixture *f = calloc(1, sizeof *f);
    f->arena = ts_arena_new(NULL, NULL);
    f->diag = ts_diag_new(f->arena);
    f->home = open(".", O_RDONLY | O_DIRECTORY);
    strcpy(f->folder, access("build", W_OK) == 0 ? "build/unit-XXXXXX" : "unit-XXXXXX");
    f->umask = umask(022);
    *state = f;
    return mkdtemp(f->folder) == NULL || chmod(f->folder, 0777) != 0 || chdir(f->folder) != 0;
}

static void remove_all(const char *folder)
{
    char path[512];
    DIR *names = opendir(folder);
    for (struct dirent *entry; names != NULL && (entry = readdir(names)) != NULL;) {
        if (strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0) {
            snprintf(path, sizeof path, "%s/%s", folder, entry->d_name);
            if (unlink(path) != 0) {
                remove_all(path);
                rmdir(path);
            }
        }
    }
    if (names != NULL) {
        closedir(names);
    }
}

static int end(void **state)
{
    fixture *f = *state;
    remove_all(".");
    const int failed = fchdir(f->home) != 0 || rmdir(f->folder) != 0;
    close(f->home);
    umask(f->umask);
    free(f->printed);
    ts_arena_free(f->arena);
    free(f);
    return failed;
}

static const char *faults(fixture *f)
{
    size_t length = 0;
    free(f->printed);
    f->printed = NULL;
    FILE *to = open_memstream(&f->printed, &length);
    ts_diag_print(f->diag, to, false, true);
    fclose(to);
    f->diag = ts_diag_new(f->arena);
    return f->printed;
}

static void put(const char *path, const char *text)
{
    FILE *to = fopen(path, "w");
    assert_non_null(to);
    fputs(text, to);
    assert_int_equal(fclose(to), 0);
}

static const char *get(fixture *f, const char *path)
{
    char *text = NULL;
    size_t length = 0;
    if (ts_file_read(&text, &length, f->arena, path, 1000, f->diag) != TS_OK) {
        return "(none)";
    }
    return text;
}

/* Number of names in a folder, dot files too; -1 where it is none. */
static int names_in(const char *folder)
{
    DIR *names = opendir(folder);
    int count = -2;
    while (names != NULL && readdir(names) != NULL) {
        count++;
    }
    if (names != NULL) {
        closedir(names);
    }
    return names == NULL ? -1 : count;
}

static unsigned mode_of(const char *path)
{
    struct stat about;
    assert_int_equal(lstat(path, &about), 0);
    return about.st_mode & 07777;
}

/* --- reading -------------------------------------------------------------------------- */

static ts_status read_file(fixture *f, const char *path, size_t most)
{
    char *text = NULL;
    size_t length = 0;
    const ts_status status = ts_file_read(&text, &length, f->arena, path, most, f->diag);
    if (status == TS_OK) {
        assert_int_equal(strlen(text), length);
    }
    return status;
}

static void a_file_is_read_up_to_its_limit(void **state)
{
    fixture *f = *state;
    put("a.csv", "part,value\n");
    put("none.csv", "");
    assert_string_equal(get(f, "a.csv"), "part,value\n");
    assert_string_equal(get(f, "none.csv"), "");
    assert_int_equal(read_file(f, "a.csv", 11), TS_OK);
    assert_int_equal(read_file(f, "a.csv", 10), TS_FAULTY);
    assert_string_equal(faults(f),
                        "a.csv: the file is larger than the 10 bytes that are read [too-large]\n");
    put("link.csv", "x");
    assert_int_equal(unlink("link.csv"), 0);
    assert_int_equal(symlink("a.csv", "link.csv"), 0);
    assert_int_equal(read_file(f, "link.csv", 100), TS_OK); /* the owner named it */
}

/* A sparse file claims a terabyte: it must be refused by its size alone. */
static void a_file_that_claims_too_much_is_refused_before_memory_is_taken(void **state)
{
    fixture *f = *state;
    put("big.csv", "x");
    assert_int_equal(truncate("big.csv", (off_t)1 << 40), 0);
    assert_int_equal(read_file(f, "big.csv", 16u << 20), TS_FAULTY);
    assert_string_equal(faults(f),
                        "big.csv: the file is larger than the 16 MiB that are read [too-large]\n");
}

static void what_is_no_file_is_missing(void **state)
{
    fixture *f = *state;
    assert_int_equal(read_file(f, "gone.csv", 100), TS_MISSING);
    assert_string_equal(faults(f), "gone.csv: the file is not there [not-found]\n");
    assert_int_equal(read_file(f, ".", 100), TS_MISSING);
    assert_string_equal(faults(f), ".: this is a folder; a file is read [not-a-file]\n");
    assert_int_equal(mkfifo("pipe", 0600), 0);
    assert_int_equal(read_file(f, "pipe", 100), TS_MISSING); /* and nobody waits */
    assert_string_equal(faults(f),
                        "pipe: this is no regular file; only such are read [not-a-file]\n");
    assert_int_equal(symlink("loop", "loop"), 0);
    assert_int_equal(read_file(f, "loop", 100), TS_MISSING);
    assert_non_null(strstr(faults(f), "loop: the file cannot be read: "));
    assert_int_equal(read_file(f, "/dev/zero", 100), TS_MISSING);
}

/* Runs a reading of standard input that holds `count` bytes; true where it went as expected. */
static void check_input(fixture *f, size_t count, size_t most, ts_status expect)
{
    int ends[2];
    assert_int_equal(pipe(ends), 0);
    const pid_t writer = fork();
    assert_true(writer >= 0);
    if (writer == 0) {
        close(ends[0]);
        for (size_t i = 0; i < count && write(ends[1], "x", 1) == 1; i++) {
        }
        _exit(0);
    }
    const int kept = dup(STDIN_FILENO);
    dup2(ends[0], STDIN_FILENO);
    close(ends[0]);
    close(ends[1]);
    char *text = NULL;
    size_t length = 0;
    const ts_status status = ts_file_read(&text, &length, f->arena, "-", most, f->diag);
    dup2(kept, STDIN_FILENO);
    close(kept);
    waitpid(writer, NULL, 0);
    assert_int_equal(status, expect);
    assert_int_equal(length, expect == TS_OK ? count : 0);
}

static void standard_input_is_read_up_to_the_limit(void **state)
{
    fixture *f = *state;
    check_input(f, 0, 100, TS_OK);
    check_input(f, 100, 100, TS_OK);
    check_input(f, 101, 100, TS_FAULTY);
    assert_string_equal(faults(f), "(standard input): the file is larger than the 100 bytes that "
                                   "are read [too-large]\n");
    check_input(f, 50000, 50000, TS_OK);
    check_input(f, 50001, 50000, TS_FAULTY);
}

static void a_file_named_by_a_file_lies_beside_it_and_is_no_link(void **state)
{
    fixture *f = *state;
    static const char *const bad[] = {"", ".", "..", "../a", "sub/a", "/a", "-a"};
    const ts_place at = {.file = "ring.csv", .line = 4, .column = 3};
    char *text = NULL;
    size_t length = 0;
    assert_int_equal(mkdir("sheets", 0777), 0);
    put("sheets/ring.stl", "solid");
    assert_int_equal(symlink("ring.stl", "sheets/link.stl"), 0);
    assert_int_equal(
        ts_file_read_beside(&text, &length, f->arena, "sheets", "ring.stl", 5, &at, f->diag),
        TS_OK);
    assert_string_equal(text, "solid");
    assert_int_equal(
        ts_file_read_beside(&text, &length, f->arena, "sheets", "link.stl", 5, &at, f->diag),
        TS_MISSING);
    assert_string_equal(faults(f), "ring.csv:4:3: \"link.stl\" is a link; the file itself must lie "
                                   "in the same folder [not-a-file]\n");
    assert_int_equal(
        ts_file_read_beside(&text, &length, f->arena, "sheets", "no\n.stl", 5, &at, f->diag),
        TS_MISSING);
    assert_string_equal(faults(f), "ring.csv:4:3: \"no\\x0A.stl\" is not there [not-found]\n");
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        assert_false(ts_file_plain_name(bad[i]));
        assert_int_equal(
            ts_file_read_beside(&text, &length, f->arena, "sheets", bad[i], 5, &at, f->diag),
            TS_FAULTY);
    }
    assert_true(ts_file_plain_name("ring-2.stl"));
}

/* --- writing -------------------------------------------------------------------------- */

static ts_outbox *open_box(fixture *f, const char *folder)
{
    ts_outbox *box = NULL;
    if (ts_outbox_open(&box, f->arena, folder, f->diag) != TS_OK) {
        fail_msg("%s", faults(f));
    }
    return box;
}

static const char *stage(fixture *f, ts_outbox *box, const char *name, bool shared,
                         const char *text)
{
    const char *path = NULL;
    if (ts_outbox_file(&path, box, name, shared, f->diag) != TS_OK) {
        fail_msg("%s", faults(f));
    }
    put(path, text);
    return path;
}

static void papers_appear_together_with_their_modes(void **state)
{
    fixture *f = *state;
    umask(027);
    ts_outbox *box = open_box(f, "out/spring//");
    stage(f, box, "quote.csv", true, "quote");
    stage(f, box, "studio/margin.csv", false, "margin");
    stage(f, box, "studio/order.csv", true, "order");
    assert_int_equal(names_in("out/spring"), 1); /* the staging folder alone */
    assert_int_equal(ts_outbox_commit(box, f->diag), TS_OK);
    ts_outbox_drop(box);
    assert_int_equal(names_in("out/spring"), 2);
    assert_int_equal(names_in("out/spring/studio"), 2);
    assert_string_equal(get(f, "out/spring/quote.csv"), "quote");
    assert_string_equal(get(f, "out/spring/studio/margin.csv"), "margin");
    assert_int_equal(mode_of("out"), 0750);
    assert_int_equal(mode_of("out/spring"), 0750);
    assert_int_equal(mode_of("out/spring/studio"), 0700);
    assert_int_equal(mode_of("out/spring/quote.csv"), 0640);
    assert_int_equal(mode_of("out/spring/studio/margin.csv"), 0600);
    assert_int_equal(mode_of("out/spring/studio/order.csv"), 0640);
    assert_int_equal(umask(027), 027); /* nobody has changed it */
}

static void nothing_can_be_read_by_others_before_it_is_whole(void **state)
{
    fixture *f = *state;
    ts_outbox *box = open_box(f, "out");
    const char *path = stage(f, box, "quote.csv", true, "half");
    char *folder = ts_arena_copy(f->arena, path, (size_t)(strrchr(path, '/') - path));
    assert_int_equal(mode_of(folder), 0700);
    assert_int_equal(mode_of(path), 0600);
    ts_outbox_drop(box);
}

static void an_older_file_is_replaced_and_its_other_names_keep_it(void **state)
{
    fixture *f = *state;
    assert_int_equal(mkdir("out", 0777), 0);
    put("out/quote.csv", "old");
    assert_int_equal(link("out/quote.csv", "other"), 0);
    ts_outbox *box = open_box(f, "out");
    stage(f, box, "quote.csv", true, "new");
    assert_int_equal(ts_outbox_commit(box, f->diag), TS_OK);
    assert_string_equal(get(f, "out/quote.csv"), "new");
    assert_string_equal(get(f, "other"), "old");
    assert_int_equal(names_in("out"), 1);
}

static void what_is_dropped_leaves_nothing(void **state)
{
    fixture *f = *state;
    ts_outbox *box = open_box(f, "new/folder");
    stage(f, box, "quote.csv", true, "x");
    stage(f, box, "studio/margin.csv", false, "x");
    ts_outbox_drop(box);
    ts_outbox_drop(box);
    ts_outbox_drop(NULL);
    assert_int_equal(names_in("."), 0);
}

static void what_a_dead_run_left_is_swept_and_a_live_ones_is_not(void **state)
{
    fixture *f = *state;
    ts_outbox *live = open_box(f, "out");
    const char *path = stage(f, live, "quote.csv", true, "in the making");
    assert_int_equal(mkdir("out/.tallystone-dead00", 0700), 0);
    assert_int_equal(mkdir("out/.tallystone-dead00/whole", 0700), 0);
    assert_int_equal(mkdir("out/.tallystone-dead00/whole/quotes", 0700), 0);
    assert_int_equal(close(creat("out/.tallystone-dead00/whole/quotes/a.xml", 0600)), 0);
    assert_int_equal(close(creat("out/.tallystone-dead00/0-quote.csv", 0600)), 0);
    assert_int_equal(close(creat("out/.tallystone-a-file", 0600)), 0);
    ts_outbox *other = open_box(f, "out");
    assert_int_not_equal(access("out/.tallystone-dead00", F_OK), 0);
    assert_int_equal(access("out/.tallystone-a-file", F_OK), 0);
    assert_int_equal(access(path, F_OK), 0);
    ts_outbox_drop(other);
    assert_int_equal(ts_outbox_commit(live, f->diag), TS_OK);
    assert_int_equal(access("out/quote.csv", F_OK), 0);
}

static void links_and_folders_are_never_written_over(void **state)
{
    fixture *f = *state;
    const char *path = NULL;
    assert_int_equal(mkdir("out", 0777), 0);
    assert_int_equal(mkdir("out/folder.csv", 0777), 0);
    assert_int_equal(mkfifo("out/pipe.csv", 0600), 0);
    put("aim", "untouched");
    assert_int_equal(symlink("../aim", "out/link.csv"), 0);
    assert_int_equal(symlink("nowhere", "out/dangling.csv"), 0);
    assert_int_equal(symlink("..", "out/studio"), 0);
    ts_outbox *box = open_box(f, "out");
    static const char *const refused[][2] = {
        {"link.csv", "out/link.csv\" cannot be written: a link stands there [output]"},
        {"dangling.csv", "out/dangling.csv\" cannot be written: a link stands there [output]"},
        {"folder.csv", "out/folder.csv\" cannot be written: a folder stands there [output]"},
        {"pipe.csv", "cannot be written: something other than a file stands there [output]"},
        {"studio/x.csv", "a file or a link stands where its folder should be [output]"},
        {"../x.csv", "its name is no plain file name"},
        {"a/b/c.csv", "its name is no plain file name"},
        {"", "its name is no plain file name"},
        {"/x", "its name is no plain file name"},
        {"a/..", "its name is no plain file name"}};
    for (size_t i = 0; i < sizeof refused / sizeof refused[0]; i++) {
        assert_int_equal(ts_outbox_file(&path, box, refused[i][0], true, f->diag),
                         TS_CANNOT_CREATE);
        assert_non_null(strstr(faults(f), refused[i][1]));
    }
    stage(f, box, "quote.csv", true, "x");
    assert_int_equal(ts_outbox_file(&path, box, "quote.csv", true, f->diag), TS_CANNOT_CREATE);
    assert_non_null(strstr(faults(f), "two papers have this name"));
    ts_outbox_drop(box);
    assert_string_equal(get(f, "aim"), "untouched");
    assert_int_equal(names_in("out"), 5);
}

static void a_link_put_in_the_way_later_stops_all_papers(void **state)
{
    fixture *f = *state;
    put("aim", "untouched");
    ts_outbox *box = open_box(f, "out");
    stage(f, box, "a.csv", true, "x");
    stage(f, box, "b.csv", true, "x");
    assert_int_equal(symlink("../aim", "out/b.csv"), 0);
    assert_int_equal(ts_outbox_commit(box, f->diag), TS_CANNOT_CREATE);
    assert_string_equal(get(f, "aim"), "untouched");
    assert_int_equal(names_in("out"), 1); /* the link */
}

static void a_folder_that_cannot_be_made_is_said(void **state)
{
    fixture *f = *state;
    ts_outbox *box = NULL;
    put("file", "x");
    assert_int_equal(symlink("nowhere", "dangling"), 0);
    static const char *const refused[] = {"file", "file/out", "dangling", "dangling/out"};
    for (size_t i = 0; i < sizeof refused / sizeof refused[0]; i++) {
        assert_int_equal(ts_outbox_open(&box, f->arena, refused[i], f->diag), TS_CANNOT_CREATE);
        const char *expect = ts_arena_format(f->arena, "\"%s\" cannot be written: ", refused[i]);
        assert_non_null(strstr(faults(f), expect));
        ts_outbox_drop(box);
    }
    assert_int_equal(names_in("."), 2);
}

/* The folder of the second paper takes no new file, which shows only at its rename: the
 * first paper must then be as it was before. Run without the rights of root. */
static void a_rename_that_fails_takes_the_others_back(void **state)
{
    fixture *f = *state;
    const bool as_root = geteuid() == 0;
    if (as_root) {
        assert_int_equal(seteuid(65534), 0);
    }
    ts_outbox *box = open_box(f, "out");
    stage(f, box, "fresh.csv", true, "new");
    stage(f, box, "quote.csv", true, "new");
    stage(f, box, "studio/margin.csv", false, "new");
    put("out/quote.csv", "old");
    assert_int_equal(mkdir("out/studio", 0500), 0);
    const ts_status status = ts_outbox_commit(box, f->diag);
    const int names = names_in("out");
    const char *quote = get(f, "out/quote.csv");
    if (as_root) {
        assert_int_equal(seteuid(0), 0);
    }
    assert_int_equal(status, TS_CANNOT_CREATE);
    assert_string_equal(quote, "old");
    assert_int_equal(names, 2); /* quote.csv and studio */
    assert_string_equal(faults(f), "tallystone: \"out/studio/margin.csv\" cannot be written: "
                                   "Permission denied [output]\n");
}

typedef struct starving {
    jmp_buf back;
    ts_outbox *box;
} starving;

static void drop_and_leave(void *ctx)
{
    starving *from = ctx;
    ts_outbox_drop(from->box);
    longjmp(from->back, 1);
}

static void a_box_can_be_dropped_when_memory_has_run_out(void **state)
{
    fixture *f = *state;
    starving out_of;
    ts_arena *arena = ts_arena_new(drop_and_leave, &out_of);
    ts_diag *diag = ts_diag_new(arena);
    const char *path = NULL;
    assert_int_equal(ts_outbox_open(&out_of.box, arena, "out", diag), TS_OK);
    assert_int_equal(ts_outbox_file(&path, out_of.box, "quote.csv", true, diag), TS_OK);
    if (setjmp(out_of.back) == 0) {
        ts_arena_alloc(arena, SIZE_MAX, 2);
        fail_msg("the arena gave out more than there is");
    }
    ts_arena_free(arena);
    assert_int_equal(names_in("."), 0);
    (void)f;
}

#define FILE_TEST(name) cmocka_unit_test_setup_teardown(name, begin, end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        FILE_TEST(a_file_is_read_up_to_its_limit),
        FILE_TEST(a_file_that_claims_too_much_is_refused_before_memory_is_taken),
        FILE_TEST(what_is_no_file_is_missing),
        FILE_TEST(standard_input_is_read_up_to_the_limit),
        FILE_TEST(a_file_named_by_a_file_lies_beside_it_and_is_no_link),
        FILE_TEST(papers_appear_together_with_their_modes),
        FILE_TEST(nothing_can_be_read_by_others_before_it_is_whole),
        FILE_TEST(an_older_file_is_replaced_and_its_other_names_keep_it),
        FILE_TEST(what_is_dropped_leaves_nothing),
        FILE_TEST(what_a_dead_run_left_is_swept_and_a_live_ones_is_not),
        FILE_TEST(links_and_folders_are_never_written_over),
        FILE_TEST(a_link_put_in_the_way_later_stops_all_papers),
        FILE_TEST(a_folder_that_cannot_be_made_is_said),
        FILE_TEST(a_rename_that_fails_takes_the_others_back),
        FILE_TEST(a_box_can_be_dropped_when_memory_has_run_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
