/* Projects the invented golfer and writes the swing document. */
#include "demo/document.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define WIDTH 1920.0
#define HEIGHT 1080.0
#define HFOV_DEG 62.0
#define BIT(point) (1UL << (point))

#define SHOULDERS (BIT(POINT_LEAD_SHOULDER) | BIT(POINT_TRAIL_SHOULDER))
#define HIPS (BIT(POINT_LEAD_HIP) | BIT(POINT_TRAIL_HIP))
#define CLUB (BIT(POINT_GRIP) | BIT(POINT_CLUBHEAD))
#define TRUNK (BIT(POINT_NECK) | SHOULDERS | HIPS)
#define ARMS (BIT(POINT_LEAD_ELBOW) | BIT(POINT_TRAIL_ELBOW) | BIT(POINT_LEAD_WRIST) | BIT(POINT_TRAIL_WRIST))
#define LEGS (BIT(POINT_LEAD_KNEE) | BIT(POINT_TRAIL_KNEE) | BIT(POINT_LEAD_ANKLE) | BIT(POINT_TRAIL_ANKLE))
#define BODY (BIT(POINT_HEAD) | TRUNK | ARMS | LEGS | BIT(POINT_LEAD_TOE) | BIT(POINT_TRAIL_TOE))

/* The points a coach would mark in each picture. */
static const unsigned long marked[VIEW_KIND_COUNT][CHECKPOINT_COUNT] = {
    [VIEW_DOWN_THE_LINE] = {TRUNK | CLUB | BIT(POINT_HEAD) | BIT(POINT_BUTT) | BIT(POINT_BALL) | BIT(POINT_TRAIL_KNEE) |
                                BIT(POINT_TRAIL_ANKLE),
                            SHOULDERS | CLUB, SHOULDERS | CLUB, TRUNK | CLUB, SHOULDERS | CLUB, SHOULDERS | CLUB,
                            TRUNK | CLUB, SHOULDERS | CLUB, TRUNK | CLUB, 0},
    [VIEW_FACE_ON] = {BODY | CLUB | BIT(POINT_BUTT) | BIT(POINT_BALL), SHOULDERS | CLUB, BODY | CLUB, BODY | CLUB,
                      SHOULDERS | CLUB, SHOULDERS | CLUB, BODY | CLUB, BODY | CLUB, BODY | CLUB, BODY},
};

struct lens {
    struct vec3 position, right, up, forward;
    double f;
};

void demo_setup_usual(struct demo_setup *setup)
{
    *setup = (struct demo_setup){
        .down_the_line = true,
        .face_on = true,
        .cameras = {{4.0, 1.0, 0.0, 0.0, 2.0, 0.0}, {4.0, 1.0, 0.0, 0.0, 2.0, 0.0}},
        .sticks = 2,
        .fps = 60.0,
        .noise_px = 3.0,
    };
}

void demo_player_vary(struct demo_player *player, double amount, struct demo_random *random)
{
    struct {
        double *dial;
        double sd;
    } dials[] = {
        {&player->spine_tilt, 1.0},    {&player->knee_flex, 1.5},       {&player->hands_gap, 0.01},
        {&player->plan_back, 2.0},     {&player->shift_back, 0.02},     {&player->lean_back, 1.0},
        {&player->cross_top, 2.0},     {&player->elevation_top, 3.0},   {&player->shoulders_top, 1.5},
        {&player->lean_top, 1.0},      {&player->head_top, 0.04},       {&player->steepness, 2.0},
        {&player->plan_down, 2.0},     {&player->thrust, 0.01},         {&player->spine_change, 1.0},
        {&player->shift_impact, 0.02}, {&player->bend_impact, 2.0},     {&player->bend_through, 2.5},
        {&player->plan_through, 3.0},  {&player->height_through, 0.04}, {&player->shift_through, 0.02},
        {&player->backswing_s, 0.02},  {&player->downswing_s, 0.006},
    };
    for (size_t i = 0; i < sizeof dials / sizeof *dials; i++) {
        *dials[i].dial += amount * dials[i].sd * demo_random_normal(random);
    }
}

static struct lens lens_at(enum view_kind kind, const struct demo_camera *camera, struct vec3 hands)
{
    bool behind = kind == VIEW_DOWN_THE_LINE;
    struct vec3 f = behind ? vec_make(1, 0, 0) : vec_make(0, 0, -1);
    struct vec3 r = behind ? vec_make(0, 0, 1) : vec_make(1, 0, 0);
    struct vec3 u = vec_make(0, 1, 0);
    struct lens lens = {.f = 0.5 * WIDTH / tan(0.5 * HFOV_DEG * VEC_RAD)};
    lens.position = vec_add(vec_sub(hands, vec_scale(f, camera->distance)), vec_scale(r, camera->lateral));
    lens.position.y = camera->height;
    double a = camera->yaw * VEC_RAD;
    struct vec3 f1 = vec_add(vec_scale(f, cos(a)), vec_scale(r, sin(a)));
    struct vec3 r1 = vec_sub(vec_scale(r, cos(a)), vec_scale(f, sin(a)));
    a = camera->pitch * VEC_RAD;
    lens.forward = vec_sub(vec_scale(f1, cos(a)), vec_scale(u, sin(a)));
    struct vec3 u1 = vec_add(vec_scale(u, cos(a)), vec_scale(f1, sin(a)));
    a = camera->roll * VEC_RAD;
    lens.right = vec_sub(vec_scale(r1, cos(a)), vec_scale(u1, sin(a)));
    lens.up = vec_add(vec_scale(u1, cos(a)), vec_scale(r1, sin(a)));
    return lens;
}

/* Pixels of a direction from the lens; false behind it. */
static bool project_direction(const struct lens *lens, struct vec3 d, double pixel[2])
{
    double depth = vec_dot(d, lens->forward);
    if (depth < 0.05) {
        return false;
    }
    pixel[0] = 0.5 * WIDTH + lens->f * vec_dot(d, lens->right) / depth;
    pixel[1] = 0.5 * HEIGHT - lens->f * vec_dot(d, lens->up) / depth;
    return true;
}

struct writing {
    FILE *out;
    const struct demo_setup *setup;
    struct demo_random *random;
    bool mirror;
};

/* A marked pixel pair; false outside the picture. */
static bool noisy(const struct writing *w, const struct lens *lens, struct vec3 direction, double pixel[2])
{
    if (!project_direction(lens, direction, pixel)) {
        return false;
    }
    pixel[0] += w->setup->noise_px * demo_random_normal(w->random);
    pixel[1] += w->setup->noise_px * demo_random_normal(w->random);
    if (w->mirror) {
        pixel[0] = WIDTH - pixel[0];
    }
    return pixel[0] >= 0.0 && pixel[0] <= WIDTH && pixel[1] >= 0.0 && pixel[1] <= HEIGHT;
}

static void write_references(const struct writing *w, const struct lens *lens, const struct demo_pose *address)
{
    double ball = address->points[POINT_BALL].z;
    double toes = address->points[POINT_LEAD_TOE].z;
    const double z[2] = {ball + 0.12, 0.5 * (ball + toes)};
    int written = 0;
    for (int i = 0; i < w->setup->sticks && i < 2; i++) {
        double near[2] = {0.0, 0.0};
        double far[2] = {0.0, 0.0};
        if (noisy(w, lens, vec_sub(vec_make(-0.8, 0.0, z[i]), lens->position), near) &&
            noisy(w, lens, vec_sub(vec_make(0.4, 0.0, z[i]), lens->position), far)) {
            fprintf(w->out, "%s[[%.1f, %.1f], [%.1f, %.1f]]", written++ ? ", " : ",\n   \"sticks\": [", near[0],
                    near[1], far[0], far[1]);
        }
    }
    fputs(written ? "]" : "", w->out);
    double flag[2] = {0.0, 0.0};
    if (w->setup->target && noisy(w, lens, vec_make(1.0, 0.0, 0.0), flag)) {
        fprintf(w->out, ", \"target\": [%.1f, %.1f]", flag[0], flag[1]);
    }
}

static void write_frame(const struct writing *w, const struct lens *lens, enum checkpoint checkpoint, double time_s,
                        unsigned long points, const struct demo_pose *pose)
{
    fprintf(w->out, "{\"checkpoint\": \"%s\", \"time_s\": %.4f, \"points\": {", checkpoint_name(checkpoint), time_s);
    const char *before = "";
    for (int p = 0; p < POINT_COUNT; p++) {
        double pixel[2];
        if ((points & BIT(p)) && noisy(w, lens, vec_sub(pose->points[p], lens->position), pixel)) {
            fprintf(w->out, "%s\"%s\": [%.1f, %.1f]", before, point_name((enum point)p), pixel[0], pixel[1]);
            before = ", ";
        }
    }
    fputs("}}", w->out);
}

/* The frame nearest to an instant, as a time. */
static double frame_time(double time_s, double fps, double phase)
{
    return (floor(time_s * fps + phase) + 1.0) / fps;
}

static void write_view(const struct writing *w, enum view_kind kind, const struct demo_player *player,
                       const struct demo_pose *poses)
{
    const double back = player->backswing_s;
    const double down = player->downswing_s;
    const double times[CHECKPOINT_COUNT] = {0.0,
                                            0.35 * back,
                                            0.62 * back,
                                            back,
                                            back + 0.45 * down,
                                            back + 0.75 * down,
                                            back + down,
                                            back + down + 0.06,
                                            back + down + 0.14,
                                            back + down + 0.55};
    const struct demo_camera *camera = &w->setup->cameras[kind];
    struct lens lens = lens_at(kind, camera, poses[CHECKPOINT_ADDRESS].points[POINT_GRIP]);
    fprintf(
        w->out,
        "{\"view\": \"%s\", \"fps\": %g, \"image\": {\"width\": %g, \"height\": %g},\n   \"camera\": {\"hfov_deg\": "
        "%g, \"distance_m\": %.2f, \"height_m\": %.2f}",
        view_kind_name(kind), w->setup->fps, WIDTH, HEIGHT, HFOV_DEG, camera->distance, camera->height);
    if (kind == VIEW_DOWN_THE_LINE) {
        write_references(w, &lens, &poses[CHECKPOINT_ADDRESS]);
    }
    fputs(",\n   \"frames\": [", w->out);
    const char *before = "\n    ";
    double phase = demo_random_unit(w->random);
    for (int c = 0; c < CHECKPOINT_COUNT; c++) {
        if (marked[kind][c]) {
            fputs(before, w->out);
            write_frame(w, &lens, (enum checkpoint)c, frame_time(times[c], w->setup->fps, phase), marked[kind][c],
                        &poses[c]);
            before = ",\n    ";
        }
    }
    fputs("]}", w->out);
}

/* What a scale would read: near the share that the dials imply. */
static void write_weight(const struct writing *w, const struct demo_player *player)
{
    double back = 0.42 + 1.2 * player->shift_back - 0.012 * (player->lean_back - 4.0);
    double through = 0.50 + player->shift_through;
    const double shares[2] = {back, through};
    const char *const names[2] = {"arm_back", "arm_through"};
    fputs(",\n \"weight\": [", w->out);
    for (int i = 0; i < 2; i++) {
        double share = shares[i] + 0.03 * demo_random_normal(w->random);
        share = share < 0.0 ? 0.0 : share > 1.0 ? 1.0 : share;
        fprintf(w->out, "%s{\"checkpoint\": \"%s\", \"lead_share\": %.3f, \"source\": \"scale\"}", i ? ", " : "",
                names[i], share);
    }
    fputs("]", w->out);
}

static void write_flight(const struct writing *w)
{
    static const struct {
        enum flight_side from, to;
    } mirrored[] = {{FLIGHT_LEFT, FLIGHT_RIGHT}, {FLIGHT_RIGHT, FLIGHT_LEFT}};
    enum flight_side sides[2] = {w->setup->flight.start, w->setup->flight.curve};
    const char *const keys[2] = {"start", "curve"};
    const char *before = "";
    fputs(",\n \"flight\": {", w->out);
    for (int i = 0; i < 2; i++) {
        for (size_t k = 0; w->mirror && k < 2; k++) {
            if (sides[i] == mirrored[k].from) {
                sides[i] = mirrored[k].to;
                break;
            }
        }
        if (sides[i] != FLIGHT_UNKNOWN) {
            fprintf(w->out, "%s\"%s\": \"%s\"", before, keys[i], flight_side_name(sides[i]));
            before = ", ";
        }
    }
    if (w->setup->flight.strike != STRIKE_UNKNOWN) {
        fprintf(w->out, "%s\"strike\": \"%s\"", before, strike_name(w->setup->flight.strike));
    }
    fputs("}", w->out);
}

char *demo_document(const struct demo_player *player, const struct demo_setup *setup, const char *recorded_at,
                    struct demo_random *random, struct arena *arena, size_t *length)
{
    struct demo_pose poses[CHECKPOINT_COUNT];
    demo_player_pose(player, poses);
    char *text = NULL;
    size_t size = 0;
    struct writing w = {open_memstream(&text, &size), setup, random, player->hand == HAND_LEFT};
    if (w.out == NULL) {
        return NULL;
    }
    fprintf(w.out,
            "{\"schema\": \"leadside.swing/1\", \"recorded_at\": \"%s\", \"shot\": \"full\", \"hand\": \"%s\",\n",
            recorded_at, player->hand == HAND_LEFT ? "left" : "right");
    fprintf(w.out, " \"club\": {\"kind\": \"%s\", ", club_kind_name(player->club));
    if (player->club_number > 0) {
        fprintf(w.out, "\"number\": %d, ", player->club_number);
    }
    fprintf(w.out, "\"length_m\": %.3f},\n \"views\": [", player->club_length_m);
    const char *before = "\n  ";
    for (int kind = 0; kind < VIEW_KIND_COUNT; kind++) {
        if (kind == VIEW_DOWN_THE_LINE ? setup->down_the_line : setup->face_on) {
            fputs(before, w.out);
            write_view(&w, (enum view_kind)kind, player, poses);
            before = ",\n  ";
        }
    }
    fputs("]", w.out);
    if (setup->scale) {
        write_weight(&w, player);
    }
    if (setup->has_flight) {
        write_flight(&w);
    }
    fputs("}\n", w.out);
    bool sound = fclose(w.out) == 0;
    char *copy = sound ? arena_strndup(arena, text, size) : NULL;
    *length = size;
    free(text);
    return copy;
}
