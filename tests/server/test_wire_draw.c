/* The drawings as a reader of XML sees them (a small strict reader of its own), and where their marks lie. Summaries
 * are filled in by hand. LEADSIDE_KEEP names a directory to leave the drawings in for looking at. */
#include <criterion/criterion.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "wire/report/draw_motion.h"
#include "wire/report/draw_svg.h"

static struct arena *arena;

/* ---- a strict reader of the little XML that is used ---- */

#define DEPTH_MAX 8

static const char *bad_at;

static bool entity_ok(const char *at)
{
    static const char *const known[] = {"&amp;", "&lt;", "&gt;", "&quot;", "&#39;"};
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        if (strncmp(at, known[i], strlen(known[i])) == 0) {
            return true;
        }
    }
    return false;
}

static size_t name_length(const char *at)
{
    return strspn(at, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-");
}

/* Past the attributes of a tag, or NULL: each name once, ="...", no bare < or & in it. */
static const char *attributes_skip(const char *at)
{
    while (*at == ' ') {
        at++;
        size_t name = name_length(at);
        if (name == 0 || at[name] != '=' || at[name + 1] != '"') {
            return NULL;
        }
        for (at += name + 2; *at != '"'; at++) {
            if (*at == '\0' || *at == '<' || (*at == '&' && !entity_ok(at))) {
                return NULL;
            }
        }
        at++;
    }
    return at;
}

static bool well_formed(const char *text)
{
    const char *names[DEPTH_MAX];
    size_t lengths[DEPTH_MAX];
    int depth = 0;
    int roots = 0;
    for (bad_at = text; *bad_at != '\0';) {
        if (*bad_at != '<') {
            if ((*bad_at == '&' && !entity_ok(bad_at)) || *bad_at == '>' || (depth == 0 && *bad_at != '\n')) {
                return false;
            }
            bad_at++;
        } else if (bad_at[1] == '/') {
            size_t length = name_length(bad_at + 2);
            if (depth == 0 || length != lengths[depth - 1] || strncmp(names[depth - 1], bad_at + 2, length) != 0 ||
                bad_at[2 + length] != '>') {
                return false;
            }
            depth--;
            bad_at += length + 3;
        } else {
            size_t length = name_length(bad_at + 1);
            const char *end = length == 0 ? NULL : attributes_skip(bad_at + 1 + length);
            if (end == NULL || depth == DEPTH_MAX || (*end != '>' && strncmp(end, "/>", 2) != 0)) {
                return false;
            }
            roots += depth == 0;
            if (*end == '>') {
                names[depth] = bad_at + 1;
                lengths[depth++] = length;
                bad_at = end + 1;
            } else {
                bad_at = end + 2;
            }
        }
    }
    return depth == 0 && roots == 1;
}

static void keep(const char *name, const char *text)
{
    char path[512];
    const char *directory = getenv("LEADSIDE_KEEP");
    if (directory != NULL) {
        snprintf(path, sizeof path, "%s/%s.svg", directory, name);
        FILE *file = fopen(path, "wb");
        cr_assert_not_null(file);
        fputs(text, file);
        fclose(file);
    }
}

/* What every drawing keeps to. */
static void check_drawing(const char *name, const char *text, size_t length)
{
    cr_assert_not_null(text, "%s", name);
    keep(name, text);
    cr_assert_eq(strlen(text), length);
    cr_assert(well_formed(text), "%s: at %.60s", name, bad_at);
    cr_assert_eq(strncmp(text, "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 ", 52), 0);
    static const char *const needed[] = {"role=\"img\"", "<title id=\"title\">", "<desc id=\"description\">",
                                         "prefers-color-scheme:dark"};
    static const char *const banned[] = {"<script", "href",   "url(", "@import", "<image", "<foreign",
                                         "onload",  "(null)", "nan",  "inf ",    "_"};
    for (size_t i = 0; i < sizeof needed / sizeof *needed; i++) {
        cr_assert_not_null(strstr(text, needed[i]), "%s lacks %s", name, needed[i]);
    }
    for (size_t i = 0; i < sizeof banned / sizeof *banned; i++) {
        cr_assert_null(strstr(text, banned[i]), "%s has %s", name, banned[i]);
    }
    cr_assert_null(strstr(strstr(text, "xmlns=") + 40, "http"), "nothing from elsewhere");
}

static int count_of(const char *text, const char *what)
{
    int count = 0;
    for (const char *at = strstr(text, what); at != NULL; at = strstr(at + 1, what)) {
        count++;
    }
    return count;
}

/* ---- invented motion ---- */

#define IMPACT_S 1.5

/* Bells about the peaks: pelvis 92 ms before impact, chest 64, lead arm 41, club 3. */
static struct motion_summary invented(void)
{
    static const double before[] = {0.092, 0.064, 0.041, 0.003};
    static const double speed[] = {480, 650, 980, 2150};
    static const double width[] = {0.11, 0.10, 0.09, 0.07};
    static const double times[CHECKPOINT_COUNT] = {0.42, 0.75, 0.92, 1.23, 1.36, 1.44, 1.5, 1.55, 1.64, 1.98};
    struct motion_summary motion = {.rate_hz = 240, .duration_s = 3, .has_club = true, .swing_count = 1};
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        motion.events[c] = (struct motion_time){true, times[c], 0.005};
    }
    motion.hands_low = (struct motion_time){true, 1.49, 0.005};
    motion.curve_count = 200;
    motion.curve_start_s = 0.27;
    motion.curve_step_s = (2.0 - 0.27) / 199;
    for (int s = 0; s < MOTION_SEGMENT_COUNT; s++) {
        double at = IMPACT_S - before[s];
        motion.peaks[s] = (struct motion_peak){.found = true, .time_s = at, .sd_s = 0.004, .speed_deg_s = speed[s]};
        motion.curve_known[s] = true;
        for (int i = 0; i < motion.curve_count; i++) {
            double t = motion.curve_start_s + i * motion.curve_step_s;
            double back = exp(-pow((t - 0.85) / 0.22, 2)) * (s < 2 ? -90 - 30 * s : 150 + 60 * s);
            motion.curves[s][i] = back + speed[s] * exp(-pow((t - at) / width[s], 2));
        }
    }
    return motion;
}

/* Hands 0.5 m about the shoulders: turned first by `lead` of the way, then lifted. */
static void invent_path(struct motion_path *path, bool back, double bulge)
{
    path->count = MOTION_PATH_MAX;
    for (int i = 0; i < path->count; i++) {
        double q = (double)i / (path->count - 1);
        double first = pow(q, 1 / bulge);
        double then = pow(q, bulge);
        double turn = (back ? first : 1 - then) * 2.1;
        double lift = back ? then : 1 - first;
        path->hands[i] = vec_make(-0.5 * sin(turn), 0.8 + 0.9 * lift, 0.5 * cos(turn));
    }
}

Test(draw_speeds, marks_every_peak_and_checkpoint_by_name)
{
    arena = arena_new(0);
    struct motion_summary motion = invented();
    size_t length;
    char *text = draw_speeds(&motion, "sunday", &(struct speaker){arena, NULL}, &length);
    check_drawing("speeds", text, length);
    cr_assert_not_null(strstr(text, ">How fast each part turns: sunday<"));
    static const char *const said[] = {">pelvis<",
                                       ">chest<",
                                       ">lead arm<",
                                       ">club<",
                                       ">480°/s, 92 ms before<",
                                       ">2150°/s, 3 ms before<",
                                       ">address<",
                                       ">shaft level, down<",
                                       ">impact<",
                                       ">finish<",
                                       ">Time from impact (s)<",
                                       ">Turning speed (° per second)<",
                                       "in the usual order.</desc>"};
    for (size_t i = 0; i < sizeof said / sizeof *said; i++) {
        cr_assert_not_null(strstr(text, said[i]), "%s", said[i]);
    }
    cr_assert_eq(count_of(text, "<circle"), 4);
    cr_assert_eq(count_of(text, "class=\"mark\""), CHECKPOINT_COUNT);
    arena_free(arena);
}

/* The second pair of numbers of the n-th element of a class. */
static void place_of(const char *text, const char *what, const char *format, double *x, double *y)
{
    const char *at = strstr(text, what);
    cr_assert_not_null(at, "%s", what);
    cr_assert_eq(sscanf(at, format, x, y), 2, "%.80s", at);
}

Test(draw_speeds, sets_a_ring_on_its_curve_at_the_peaks_time)
{
    arena = arena_new(0);
    struct motion_summary motion = invented();
    size_t length;
    char *text = draw_speeds(&motion, "x", &(struct speaker){arena, NULL}, &length);
    static const char *const rings[] = {"<circle class=\"dot purple\"", "<circle class=\"dot sky\"",
                                        "<circle class=\"dot orange\"", "<circle class=\"dot ink\""};
    static const char *const formats[] = {
        "<circle class=\"dot purple\" cx=\"%lf\" cy=\"%lf\"", "<circle class=\"dot sky\" cx=\"%lf\" cy=\"%lf\"",
        "<circle class=\"dot orange\" cx=\"%lf\" cy=\"%lf\"", "<circle class=\"dot ink\" cx=\"%lf\" cy=\"%lf\""};
    double x[4];
    double y[4];
    for (int s = 0; s < 4; s++) {
        place_of(text, rings[s], formats[s], &x[s], &y[s]);
    }
    /* equal steps of time and speed are equal steps on the paper */
    double per_second = (x[3] - x[0]) / (0.092 - 0.003);
    double per_degree = (y[3] - y[0]) / (2150 - 480);
    cr_assert_gt(per_second, 100);
    cr_assert_lt(per_degree, 0);
    cr_assert_float_eq(x[1] - x[0], per_second * 0.028, 0.15);
    cr_assert_float_eq(x[2] - x[0], per_second * 0.051, 0.15);
    cr_assert_float_eq(y[1] - y[0], per_degree * 170, 0.15);
    cr_assert_float_eq(y[2] - y[0], per_degree * 500, 0.15);
    arena_free(arena);
}

Test(draw_speeds, leaves_out_what_is_not_known_and_says_so)
{
    arena = arena_new(0);
    struct motion_summary motion = invented();
    size_t length;
    motion.curve_known[MOTION_CLUB] = motion.peaks[MOTION_CLUB].found = false;
    motion.has_club = motion.events[CHECKPOINT_IMPACT].found = false;
    motion.peaks[MOTION_CHEST].found = false;
    char *text = draw_speeds(&motion, "x", &(struct speaker){arena, NULL}, &length);
    check_drawing("speeds-without-club", text, length);
    cr_assert_null(strstr(text, ">club<"));
    cr_assert_not_null(strstr(text, ">no clear peak<"));
    cr_assert_not_null(strstr(text, ">hands lowest<"));
    cr_assert_not_null(strstr(text, ">Time from the hands&#39; low point (s)<"));
    cr_assert_eq(count_of(text, "<circle"), 2);
    motion = (struct motion_summary){.rate_hz = 240};
    text = draw_speeds(&motion, "x", &(struct speaker){arena, NULL}, &length);
    check_drawing("speeds-empty", text, length);
    cr_assert_not_null(strstr(text, "Nothing to draw"));
    arena_free(arena);
}

Test(draw_hands, shows_both_ways_with_their_index_in_words)
{
    arena = arena_new(0);
    struct motion_summary motion = invented();
    size_t length;
    invent_path(&motion.paths[MOTION_BACK], true, 2.0);
    invent_path(&motion.paths[MOTION_DOWN], false, 1.3);
    struct measure back = {.observed = true, .value = 0.6, .sd_random = 0.03, .sd_systematic = 0.04};
    struct measure down = {.observed = true, .value = 0.09, .sd_random = 0.05};
    char *text = draw_hands(&motion, &back, &down, "sunday", &(struct speaker){arena, NULL}, &length);
    check_drawing("hands", text, length);
    static const char *const said[] = {">going back<",
                                       ">coming down<",
                                       ">Going back: order index +0.60 ± 0.10. Turn came before lift.<",
                                       ">Coming down: order index +0.09 ± 0.10. Too close to tell which came first.<",
                                       ">turn and lift together<",
                                       "100 %"};
    for (size_t i = 0; i < sizeof said / sizeof *said; i++) {
        cr_assert_not_null(strstr(text, said[i]), "%s", said[i]);
    }
    down.observed = false;
    motion.paths[MOTION_DOWN].count = 0;
    back.value = -0.6;
    invent_path(&motion.paths[MOTION_BACK], true, 0.5);
    text = draw_hands(&motion, &back, &down, "x", &(struct speaker){arena, NULL}, &length);
    check_drawing("hands-lift-first", text, length);
    cr_assert_not_null(strstr(text, "-0.60 ± 0.10. Lift came before turn."));
    cr_assert_not_null(strstr(text, "Coming down: the order index could not be measured."));
    cr_assert_null(strstr(text, ">coming down<"));
    motion.paths[MOTION_BACK].count = 0;
    text = draw_hands(&motion, &back, &down, "x", &(struct speaker){arena, NULL}, &length);
    check_drawing("hands-empty", text, length);
    cr_assert_not_null(strstr(text, "Nothing to draw"));
    arena_free(arena);
}

Test(draw, speaks_german_with_the_same_lines)
{
    static const char *const speeds[] = {">Wie schnell sich jeder Teil dreht: sonntag<",
                                         ">Becken<",
                                         ">480°/s, 92 ms davor<",
                                         ">Schaft waagr. ab<",
                                         ">Zeit ab dem Treffmoment (s)<",
                                         ">0,4<",
                                         "in der üblichen Reihenfolge.</desc>"};
    static const char *const hands[] = {">Rückschwung: Folgemaß +0,60 ± 0,10. Das Drehen kam vor dem Heben.<",
                                        ">Abschwung: Das Folgemaß ließ sich nicht messen.<", ">zurück<"};
    arena = arena_new(0);
    struct motion_summary motion = invented();
    const struct measure back = {.observed = true, .value = 0.6, .sd_random = 0.03, .sd_systematic = 0.04};
    const struct measure none = {.observed = false};
    const struct speaker english = {arena, NULL};
    const struct speaker german = {arena, words_language("de")};
    size_t length;
    invent_path(&motion.paths[MOTION_BACK], true, 2.0);
    char *plain = draw_speeds(&motion, "sonntag", &english, &length);
    char *text = draw_speeds(&motion, "sonntag", &german, &length);
    check_drawing("speeds-german", text, length);
    for (size_t i = 0; i < sizeof speeds / sizeof *speeds; i++) {
        cr_assert_not_null(strstr(text, speeds[i]), "%s", speeds[i]);
    }
    cr_assert_eq(count_of(text, "<path"), count_of(plain, "<path"));
    cr_assert_null(strstr(text, "level"));
    text = draw_hands(&motion, &back, &none, "sonntag", &german, &length);
    check_drawing("hands-german", text, length);
    for (size_t i = 0; i < sizeof hands / sizeof *hands; i++) {
        cr_assert_not_null(strstr(text, hands[i]), "%s", hands[i]);
    }
    arena_free(arena);
}

/* Ends of a curve, drawn through the same address and top, whatever comes between. */
Test(draw_hands, draws_the_way_down_back_to_where_the_way_back_began)
{
    arena = arena_new(0);
    struct motion_summary motion = invented();
    struct measure none = {.observed = false};
    size_t length;
    invent_path(&motion.paths[MOTION_BACK], true, 2.0);
    invent_path(&motion.paths[MOTION_DOWN], false, 1.5);
    char *text = draw_hands(&motion, &none, &none, "x", &(struct speaker){arena, NULL}, &length);
    double from[2];
    place_of(text, "<path class=\"line ink\"", "<path class=\"line ink\" stroke-dasharray=\"none\" d=\"M%lf %lf",
             &from[0], &from[1]);
    const char *down = strstr(text, "<path class=\"line orange\"");
    cr_assert_not_null(down);
    const char *end = strstr(down, "\"/>");
    while (*end != 'L') {
        end--;
    }
    double to[2];
    cr_assert_eq(sscanf(end, "L%lf %lf", &to[0], &to[1]), 2);
    cr_assert_float_eq(from[0], to[0], 0.11);
    cr_assert_float_eq(from[1], to[1], 0.11);
    arena_free(arena);
}

Test(draw, escapes_any_name)
{
    static const struct {
        const char *name, *shown;
    } rows[] = {{"a<b>&\"c'", ": a&lt;b&gt;&amp;&quot;c&#39;<"},
                {"]]></title><script>", ": ]]&gt;&lt;/title&gt;&lt;script&gt;<"},
                {"tab\tand\x01", ": tab?and?"
                                 "<"},
                {"bad \xff\xfe \xc3", ": bad ?? ?"
                                      "<"},
                {"\xed\xa0\x80", ": ???"
                                 "<"},
                {"\xef\xbf\xbf", ": ???"
                                 "<"},
                {"\xc0\xaf \xe0\x80\xaf", ": ?? ???"
                                          "<"},
                {"\xf4\x90\x80\x80", ": ????"
                                     "<"},
                {"Größe \xf0\x9f\x8c\xb3", ": Größe \xf0\x9f\x8c\xb3<"}};
    arena = arena_new(0);
    struct motion_summary motion = invented();
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        size_t length;
        char *text = draw_speeds(&motion, rows[i].name, &(struct speaker){arena, NULL}, &length);
        cr_assert(well_formed(text), "%s", rows[i].name);
        cr_assert_not_null(strstr(text, rows[i].shown), "%zu: %.200s", i, strstr(text, "How fast"));
        cr_assert_null(strstr(text, "<script"));
    }
    cr_assert(!well_formed("<a><b></a></b>") && !well_formed("<a x=y></a>") && !well_formed("<a>&b</a>") &&
                  !well_formed("<a></a><b></b>") && !well_formed("<a>"),
              "the reader is strict");
    arena_free(arena);
}

Test(draw, is_whole_or_nothing_when_memory_is_short)
{
    arena = arena_new(0);
    struct motion_summary motion = invented();
    struct measure none = {.observed = false};
    size_t length;
    invent_path(&motion.paths[MOTION_BACK], true, 2.0);
    char *whole = draw_speeds(&motion, "x", &(struct speaker){arena, NULL}, &length);
    char *hands = draw_hands(&motion, &none, &none, "x", &(struct speaker){arena, NULL}, &length);
    int refused = 0;
    int made = 0;
    for (size_t limit = 64; limit < 400000; limit += limit / 20 + 16) {
        struct arena *small = arena_new(limit);
        char *again = draw_speeds(&motion, "x", &(struct speaker){small, NULL}, &length);
        cr_assert(again == NULL || strcmp(again, whole) == 0, "limit %zu", limit);
        refused += again == NULL;
        made += again != NULL;
        arena_free(small);
        small = arena_new(limit);
        again = draw_hands(&motion, &none, &none, "x", &(struct speaker){small, NULL}, &length);
        cr_assert(again == NULL || strcmp(again, hands) == 0, "limit %zu", limit);
        arena_free(small);
    }
    cr_assert(refused > 10 && made > 10, "%d refused, %d made", refused, made);
    arena_free(arena);
}
