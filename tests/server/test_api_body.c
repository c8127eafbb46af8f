/* Reading bodies and pages strictly: what is taken, and where each refusal points. No listener: the exchange is made
 * by hand, and the replies are looked at before they would be sent. */
#include <criterion/criterion.h>

/* The listener's own stages, and the swing's, share a name. */
#define stage http_stage
#include "http/connection.h"
#undef stage

#include "api/frame/answer.h"
#include "api/frame/body.h"
#include "api/lessons/scoring.h"
#include "api/people/student_json.h"
#include "wire/report/player.h"

static struct http_server server;

struct bench {
    struct exchange exchange;
    struct api_row row;
    struct call call;
    struct body body;
};

static void bench_set(struct bench *bench, const char *text)
{
    memset(bench, 0, sizeof *bench);
    bench->exchange.server = &server;
    bench->exchange.arena = arena_new(0);
    bench->exchange.body = (char *)text;
    bench->exchange.body_size = strlen(text);
    bench->call = (struct call){
        .exchange = &bench->exchange, .row = &bench->row, .arena = bench->exchange.arena, .now = 1780000000000LL};
}

static void bench_end(struct bench *bench)
{
    if (bench->exchange.response != NULL) {
        MHD_destroy_response(bench->exchange.response);
    }
    arena_free(bench->exchange.arena);
}

static const char *const keys[] = {"text", "flag", "count", "number", "at", "id", NULL};

struct values {
    const char *text;
    bool flag, has;
    int count;
    double number;
    int64_t at;
    char id[UUID_TEXT];
};

static bool values_read(struct bench *bench, const char *text, struct values *values)
{
    bench_set(bench, text);
    *values = (struct values){.count = 7, .at = 5};
    if (!body_begin(&bench->body, &bench->call, keys, false)) {
        return false;
    }
    tree_text(&bench->body.in, "text", true, 10, &values->text);
    tree_boolean(&bench->body.in, "flag", false, &values->flag);
    tree_integer(&bench->body.in, "count", false, 1, 9, &values->count);
    tree_number_clear(&bench->body.in, "number", -1, 1, &values->number, &values->has);
    tree_time(&bench->body.in, "at", false, &values->at);
    tree_uuid(&bench->body.in, "id", false, values->id);
    return body_end(&bench->body);
}

Test(body, takes_what_it_knows)
{
    struct bench bench;
    struct values values;
    cr_assert(values_read(&bench,
                          "{\"text\":\"grip\",\"flag\":true,\"count\":9,\"number\":-0.5,"
                          "\"at\":\"2026-05-02T09:14:05Z\",\"id\":\"0198f0c2-7b1e-7a55-9a54-0242ac120002\"}",
                          &values));
    cr_assert_str_eq(values.text, "grip");
    cr_assert(values.flag && values.has);
    cr_assert_eq(values.count, 9);
    cr_assert_float_eq(values.number, -0.5, 1e-12);
    cr_assert_eq(values.at, 1777713245000LL);
    cr_assert_str_eq(values.id, "0198f0c2-7b1e-7a55-9a54-0242ac120002");
    cr_assert_not(bench.exchange.replied, "nothing is answered yet");
    bench_end(&bench);

    cr_assert(values_read(&bench, "{\"text\":\"grip\"}", &values), "what is optional may be absent");
    cr_assert_eq(values.count, 7, "and then stays as it was");
    cr_assert_not(values.has);
    bench_end(&bench);
}

Test(body, refuses_a_nul_wherever_it_stands)
{
    static const char text[] = "{\"count\":1\0}";
    struct wire_error error;
    json_t *behind = tree_parse(text, sizeof text - 1, &error);
    cr_assert_null(behind, "behind a number");
    cr_assert_str_eq(error.what, "not JSON: it holds a NUL");
}

Test(body, refuses_with_status_and_path)
{
    static const struct {
        const char *text;
        int status;
        const char *path;
    } rows[] = {
        {"", 400, ""},
        {"{", 400, ""},
        {"{\"text\":\"a\"} x", 400, ""},
        {"{\"text\":\"a\",\"text\":\"b\"}", 400, ""},
        {"[]", 422, ""},
        {"{\"text\":\"a\",\"txet\":1}", 422, "txet"},
        {"{}", 422, "text"},
        {"{\"text\":1}", 422, "text"},
        {"{\"text\":null}", 422, "text"},
        {"{\"text\":\"eleven byte\"}", 422, "text"},
        {"{\"text\":\"a\",\"flag\":1}", 422, "flag"},
        {"{\"text\":\"a\",\"flag\":\"true\"}", 422, "flag"},
        {"{\"text\":\"a\",\"count\":0}", 422, "count"},
        {"{\"text\":\"a\",\"count\":10}", 422, "count"},
        {"{\"text\":\"a\",\"count\":2.5}", 422, "count"},
        {"{\"text\":\"a\",\"count\":\"2\"}", 422, "count"},
        {"{\"text\":\"a\",\"number\":1.01}", 422, "number"},
        {"{\"text\":\"a\",\"at\":\"2026-05-02\"}", 422, "at"},
        {"{\"text\":\"a\",\"at\":\"2026-02-30T00:00:00Z\"}", 422, "at"},
        {"{\"text\":\"a\",\"id\":\"me\"}", 422, "id"},
        {"{\"text\":1,\"id\":\"me\"}", 422, "text"}, /* the first fault is the one that is told */
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct bench bench;
        struct values values;
        cr_expect_not(values_read(&bench, rows[i].text, &values), "%s", rows[i].text);
        cr_expect(bench.exchange.replied, "%s", rows[i].text);
        cr_expect_eq(bench.exchange.status, rows[i].status, "%s: %d", rows[i].text, bench.exchange.status);
        if (rows[i].status == 422) {
            cr_expect_str_eq(bench.body.error.path, rows[i].path, "%s: %s", rows[i].text, bench.body.error.path);
        }
        bench_end(&bench);
    }
}

Test(body, null_and_empty_clear)
{
    static const char *const texts[] = {"{\"text\":null}", "{\"text\":\"\"}"};
    for (size_t i = 0; i < 2; i++) {
        struct bench bench;
        const char *kept = "kept";
        bool given = false;
        bench_set(&bench, texts[i]);
        cr_assert(body_begin(&bench.body, &bench.call, keys, false));
        cr_assert(tree_text_clear(&bench.body.in, "text", 10, &kept, &given));
        cr_assert_null(kept);
        cr_assert(given);
        cr_assert(body_end(&bench.body));
        bench_end(&bench);
    }
}

static bool student_taken(struct bench *bench, struct store_student *student, const char *text, bool fresh)
{
    bench_set(bench, text);
    cr_assert(body_begin(&bench->body, &bench->call, student_keys, false));
    student_read(&bench->body, student, fresh);
    return body_end(&bench->body);
}

Test(student, a_junior_has_a_year_of_birth)
{
    struct bench bench;
    struct store_student student = {0};
    cr_assert_not(student_taken(&bench, &student, "{\"name\":\"Pip Larch\",\"hand\":\"left\",\"junior\":true}", true));
    cr_assert_eq(bench.exchange.status, 422);
    cr_assert_str_eq(bench.body.error.path, "birth_year");
    bench_end(&bench);
    student = (struct store_student){0};
    cr_assert(student_taken(&bench, &student,
                            "{\"name\":\"Pip Larch\",\"hand\":\"left\",\"junior\":true,\"birth_year\":2015}", true));
    cr_assert(student.junior);
    cr_assert_eq(student.birth_year, 2015);
    bench_end(&bench);
    /* nor may it be taken away again */
    student = (struct store_student){.name = "Pip Larch", .hand = "left", .junior = true, .birth_year = 2015};
    cr_assert_not(student_taken(&bench, &student, "{\"birth_year\":null}", false));
    cr_assert_str_eq(bench.body.error.path, "birth_year");
    bench_end(&bench);
    student = (struct store_student){0};
    cr_assert(student_taken(&bench, &student, "{\"name\":\"Ann Alder\",\"hand\":\"right\"}", true), "others need none");
    bench_end(&bench);
}

/* Ages are to the day, by UTC; with the year alone the lower one, as long as that is a junior's. */
Test(student, the_age_goes_by_the_day)
{
    static const struct {
        const char *date, *now;
        int year, age;
    } rows[] = {
        {"2012-05-28", "2026-05-27T23:59:59Z", 0, 13}, {"2012-05-28", "2026-05-28T00:00:00Z", 0, 14},
        {"2008-02-29", "2026-02-28T23:59:59Z", 0, 17}, {"2008-02-29", "2026-03-01T00:00:00Z", 0, 18},
        {"2008-02-29", "2028-02-29T00:00:00Z", 0, 20}, {NULL, "2026-05-28T00:00:00Z", 2012, 13},
        {NULL, "2026-12-31T23:59:59Z", 2008, 17},      {NULL, "2027-01-01T00:00:00Z", 2008, 19},
        {NULL, "2026-05-28T00:00:00Z", 1961, 65},      {NULL, "2026-05-28T00:00:00Z", 2026, 0},
        {NULL, "2026-05-28T00:00:00Z", 0, -1},         {"2026-05-29", "2026-05-28T00:00:00Z", 0, 0},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const struct store_student student = {.birth_date = rows[i].date, .birth_year = rows[i].year};
        int64_t now = 0;
        cr_assert(time_parse(rows[i].now, &now));
        cr_expect_eq(player_age(student.birth_date, student.birth_year, now), rows[i].age, "row %zu: %d", i,
                     player_age(student.birth_date, student.birth_year, now));
    }
}

Test(student, the_date_says_who_is_a_junior)
{
    static const struct {
        const char *text, *path; /* path NULL = taken */
        bool junior;
    } rows[] = {
        {"{\"name\":\"A\",\"hand\":\"left\",\"birth_date\":\"2008-05-29\"}", NULL, true},
        {"{\"name\":\"A\",\"hand\":\"left\",\"birth_date\":\"2008-05-28\"}", NULL, false},
        {"{\"name\":\"A\",\"hand\":\"left\",\"birth_date\":\"2008-05-28\",\"junior\":true}", "junior", false},
        {"{\"name\":\"A\",\"hand\":\"left\",\"birth_date\":\"2008-05-29\",\"junior\":false}", "junior", false},
        {"{\"name\":\"A\",\"hand\":\"left\",\"birth_date\":\"2026-05-29\"}", "birth_date", false},
        {"{\"name\":\"A\",\"hand\":\"left\",\"birth_date\":\"2012-02-30\"}", "birth_date", false},
        {"{\"name\":\"A\",\"hand\":\"left\",\"birth_date\":\"2012-02-01\",\"birth_year\":2013}", "birth_year", false},
        {"{\"name\":\"A\",\"hand\":\"left\",\"birth_year\":2027}", "birth_year", false},
        {"{\"name\":\"A\",\"hand\":\"left\",\"birth_year\":2008}", NULL, true},
        {"{\"name\":\"A\",\"hand\":\"left\",\"birth_year\":2007}", NULL, false},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct bench bench;
        struct store_student student = {0};
        const bool taken = student_taken(&bench, &student, rows[i].text, true);
        cr_expect_eq(taken, rows[i].path == NULL, "%s", rows[i].text);
        if (rows[i].path == NULL) {
            cr_expect_eq(student.junior, rows[i].junior, "%s", rows[i].text);
        } else {
            cr_expect_str_eq(bench.body.error.path, rows[i].path, "%s: %s", rows[i].text, bench.body.error.path);
        }
        bench_end(&bench);
    }
}

#define SOME_ID "01900000-0000-7000-8000-000000000000"

static bool page_read(struct bench *bench, const char *path, const char *limit, const char *after,
                      struct store_page *page)
{
    bench_set(bench, "");
    bench->row.path = path;
    bench->row.subject = strcmp(path, "/v1/drills") == 0 ? SUBJECT_DRILL : SUBJECT_NONE;
    if (limit != NULL) {
        bench->exchange.queries[bench->exchange.query_count].name = "limit";
        bench->exchange.queries[bench->exchange.query_count++].value = limit;
    }
    if (after != NULL) {
        bench->exchange.queries[bench->exchange.query_count].name = "after";
        bench->exchange.queries[bench->exchange.query_count++].value = after;
    }
    return call_page(&bench->call, page);
}

Test(page, limits_and_cursors)
{
    static const struct {
        const char *limit, *after;
        int expected; /* 0 = refused */
    } rows[] = {{NULL, NULL, 50},   {"1", NULL, 1},     {"200", NULL, 200}, {"0", NULL, 0},  {"201", NULL, 0},
                {"-1", NULL, 0},    {"+5", NULL, 0},    {" 5", NULL, 0},    {"5x", NULL, 0}, {"", NULL, 0},
                {"99999", NULL, 0}, {"2", SOME_ID, 2},  {NULL, "", 0},      {NULL, "A", 0},  {NULL, "a b", 0},
                {NULL, "a'--", 0},  {NULL, "a-slug", 0}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct bench bench;
        struct store_page page;
        const bool taken = page_read(&bench, "/v1/students", rows[i].limit, rows[i].after, &page);
        cr_expect_eq(taken, rows[i].expected != 0, "row %zu", i);
        if (taken) {
            cr_expect_eq(page.limit, rows[i].expected, "row %zu", i);
        } else {
            cr_expect_eq(bench.exchange.status, 422, "row %zu", i);
        }
        bench_end(&bench);
    }
}

Test(page, a_place_among_drills_may_be_a_word)
{
    static const char *const places[] = {"a-slug", SOME_ID, "A", "a b", ""};
    for (size_t i = 0; i < sizeof places / sizeof *places; i++) {
        struct bench bench;
        struct store_page page;
        cr_expect_eq(page_read(&bench, "/v1/drills", NULL, places[i], &page), i < 2, "%s", places[i]);
        bench_end(&bench);
    }
}

Test(page, the_link_keeps_other_queries)
{
    struct bench bench;
    struct store_page page;
    cr_assert(page_read(&bench, "/v1/students/{id}/swings", "2", SOME_ID, &page));
    bench.row.queries = "limit after";
    bench.exchange.capture_text[0] = "abc";
    bench.exchange.capture_count = 1;
    call_link_next(&bench.call, "new");
    cr_assert_eq(bench.exchange.header_count, 1);
    cr_assert_str_eq(bench.exchange.headers[0].name, "Link");
    cr_assert_str_eq(bench.exchange.headers[0].value, "</v1/students/abc/swings?limit=2&after=new>; rel=\"next\"");
    bench_end(&bench);
}
