/* Writes server/pages/bay/needs.js: what each measure reads of the pictures, found by taking marks away one after the
 * other from a posed swing and looking what becomes of the measures; and which measures each fault of the shipped
 * standard is judged by. test_needs.mjs holds the file against what this prints. */
#include <math.h>
#include <stdio.h>

#include "base/arena.h"
#include "core/measure/measure.h"
#include "core/standard.h"
#include "demo/player.h"
#include "wire/rules/standard_read.h"

#define WIDTH 1600.0
#define HEIGHT 1600.0
#define HFOV_DEG 62.0
#define AWAY_M 4.0
#define LENS_M 1.0
#define WIDER                                                                                                          \
    1.1 /* a mark is read where without it the error grows so many times, or the value moves by so many errors */
#define MOVED 0.25

enum scene { SCENE_BEHIND, SCENE_FRONT, SCENE_BOTH, SCENE_COUNT };

static void pose_view(struct swing_view *view, enum view_kind kind, const struct demo_pose *poses)
{
    const double f = 0.5 * WIDTH / tan(0.5 * HFOV_DEG * VEC_RAD);
    const struct vec3 hands = poses[CHECKPOINT_ADDRESS].points[POINT_GRIP];
    *view = (struct swing_view){.kind = kind,
                                .fps = {true, 240.0},
                                .width_px = WIDTH,
                                .height_px = HEIGHT,
                                .hfov_deg = HFOV_DEG,
                                .distance_m = {true, AWAY_M},
                                .frame_count = CHECKPOINT_COUNT};
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        struct frame *frame = &view->frames[c];
        frame->checkpoint = (enum checkpoint)c;
        frame->time_s = (struct maybe){true, 0.1 * c};
        for (int p = 0; p < POINT_COUNT; p++) {
            struct vec3 at = poses[c].points[p];
            bool behind = kind == VIEW_DOWN_THE_LINE;
            double depth = AWAY_M + (behind ? at.x - hands.x : hands.z - at.z);
            double across = behind ? at.z - hands.z : at.x - hands.x;
            frame->points[p] = (struct swing_mark){.seen = true,
                                                   .u = 0.5 * WIDTH + f * across / depth,
                                                   .v = 0.5 * HEIGHT - f * (at.y - LENS_M) / depth,
                                                   .sd = SWING_MARK_SD_PX};
        }
    }
    if (kind == VIEW_DOWN_THE_LINE) {
        view->has_target = true;
        view->target[0] = 0.5 * WIDTH;
        view->target[1] = 0.5 * HEIGHT;
        view->pitch_deg = (struct maybe){true, 0}; /* the flag is to tell the direction, not the tilt */
    }
}

static void measures(const struct swing *swing, struct measure_set *out)
{
    struct camera_findings findings = {.count = 0};
    measure_swing(swing, out, &findings);
}

static bool differs(const struct measure *with, const struct measure *without)
{
    return !without->observed || measure_sd(without) > WIDER * measure_sd(with) ||
           fabs(without->value - with->value) > MOVED * measure_sd(with);
}

/* reads[item][view][checkpoint]: bits of points; bit POINT_COUNT: the moment itself. line[item]: the target line. */
struct reads {
    struct measure_set whole;
    unsigned long of[MEASURE_COUNT][VIEW_KIND_COUNT][CHECKPOINT_COUNT];
    bool line[MEASURE_COUNT];
};

static void note(struct reads *reads, const struct swing *without, enum view_kind kind, int checkpoint, int bit)
{
    struct measure_set set;
    measures(without, &set);
    for (int m = 0; m < MEASURE_COUNT; m++) {
        if (reads->whole.items[m].observed && differs(&reads->whole.items[m], &set.items[m])) {
            reads->of[m][kind][checkpoint] |= 1UL << bit;
        }
    }
}

static void look(struct swing *swing, struct reads *reads)
{
    struct measure_set set;
    measures(swing, &reads->whole);
    for (int v = 0; v < swing->view_count; v++) {
        struct swing_view *view = &swing->views[v];
        for (int c = 0; c < CHECKPOINT_COUNT; c++) {
            for (int p = 0; p < POINT_COUNT; p++) {
                /* Where the grip is not marked the middle of the wrists stands for it: it goes with one of them. */
                struct swing_mark *wrist = &view->frames[c].points[POINT_TRAIL_WRIST];
                view->frames[c].points[p].seen = false;
                wrist->seen = p != POINT_GRIP && p != POINT_TRAIL_WRIST;
                note(reads, swing, view->kind, c, p);
                view->frames[c].points[p].seen = wrist->seen = true;
            }
            view->frames[c].time_s.given = false;
            note(reads, swing, view->kind, c, POINT_COUNT);
            view->frames[c].time_s.given = true;
        }
        if (view->has_target) {
            view->has_target = false;
            measures(swing, &set);
            for (int m = 0; m < MEASURE_COUNT; m++) {
                reads->line[m] = reads->whole.items[m].observed && differs(&reads->whole.items[m], &set.items[m]);
            }
            view->has_target = true;
        }
    }
}

static void print_view(const unsigned long of[CHECKPOINT_COUNT], enum view_kind kind, const char **before)
{
    const char *comma = "";
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        if (of[c]) {
            if (*comma == '\0') {
                printf("%s%s: { ", *before, view_kind_name(kind));
            }
            printf("%s%s: [", comma, checkpoint_name((enum checkpoint)c));
            const char *next = "";
            for (int p = 0; p < POINT_COUNT; p++) {
                bool wrist =
                    (p == POINT_GRIP) && (of[c] & 1UL << POINT_TRAIL_WRIST); /* it was the wrist that was missed */
                if ((of[c] & 1UL << p) && !wrist) {
                    printf("%s\"%s\"", next, point_name((enum point)p));
                    next = ", ";
                }
            }
            printf("]");
            comma = ", ";
        }
    }
    if (*comma != '\0') {
        printf(" }");
        *before = ", ";
    }
}

static void print_measure(enum measure_item item, const struct reads *scenes)
{
    static const char *const names[SCENE_COUNT] = {"down_the_line", "face_on", "both"};
    const struct measure_info *info = measure_info(item);
    const char *checkpoint = info->checkpoint == CHECKPOINT_NONE ? NULL : checkpoint_name(info->checkpoint);
    printf("  { measure: \"%s\", ", info->name);
    if (checkpoint != NULL) {
        printf("checkpoint: \"%s\", ", checkpoint);
    }
    printf("%s", info->nature & IS_SHOWN_ONLY ? "shownOnly: true, " : "");
    printf("from: {");
    const char *comma = " ";
    for (int s = 0; s < SCENE_COUNT; s++) {
        bool alone = scenes[SCENE_BEHIND].whole.items[item].observed || scenes[SCENE_FRONT].whole.items[item].observed;
        if (!scenes[s].whole.items[item].observed || (s == SCENE_BOTH && alone)) {
            continue;
        }
        printf("%s%s: { line: %s, ", comma, names[s], scenes[s].line[item] ? "true" : "false");
        const char *before = "reads: { ";
        print_view(scenes[s].of[item][VIEW_DOWN_THE_LINE], VIEW_DOWN_THE_LINE, &before);
        print_view(scenes[s].of[item][VIEW_FACE_ON], VIEW_FACE_ON, &before);
        printf(" } }");
        comma = ", ";
    }
    printf(" } },\n");
}

static void print_faults(const struct standard *standard)
{
    printf(
        "];\n\n/** The measures that each fault is judged by, in the shipped standard. */\nexport const SIGNS = {\n");
    for (int f = 0; f < FAULT_COUNT; f++) {
        const struct fault_rule *rule = &standard->faults[f];
        printf("  %s: [", fault_name((enum fault_id)f));
        for (int s = 0; s < rule->sign_count; s++) {
            const struct measure_info *info = measure_info(rule->signs[s].item);
            printf("%s\"%s%s%s\"", s ? ", " : "", info->name, info->checkpoint == CHECKPOINT_NONE ? "" : "@",
                   info->checkpoint == CHECKPOINT_NONE ? "" : checkpoint_name(info->checkpoint));
        }
        printf("],\n");
    }
    printf("};\n");
}

int main(void)
{
    static struct demo_pose poses[CHECKPOINT_COUNT];
    static struct reads scenes[SCENE_COUNT];
    struct demo_player player;
    demo_player_sound(&player, 1.78, HAND_RIGHT, CLUB_IRON);
    demo_player_pose(&player, poses);
    for (int s = 0; s < SCENE_COUNT; s++) {
        struct swing swing = {.hand = HAND_RIGHT, .club = CLUB_IRON, .club_length_m = {true, player.club_length_m}};
        if (s != SCENE_FRONT) {
            pose_view(&swing.views[swing.view_count++], VIEW_DOWN_THE_LINE, poses);
        }
        if (s != SCENE_BEHIND) {
            pose_view(&swing.views[swing.view_count++], VIEW_FACE_ON, poses);
        }
        look(&swing, &scenes[s]);
    }
    struct arena *arena = arena_new(1 << 22);
    const struct standard *standard = standard_default(arena);
    if (standard == NULL) {
        return 1;
    }
    printf("// Made by tests/pages/needs.c out of the measures' own formulas and the shipped standard; not written by "
           "hand.\n\n"
           "/** What each measure reads, by what it can be seen from. line: where the target line is marked it is "
           "surer. */\n"
           "export const NEEDS = [\n");
    for (int m = 0; m < MEASURE_COUNT; m++) {
        print_measure((enum measure_item)m, scenes);
    }
    print_faults(standard);
    arena_free(arena);
    return 0;
}
