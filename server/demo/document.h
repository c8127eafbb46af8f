/* The invented golfer in front of invented cameras: poses projected with marking noise into a swing document.
 * The camera model is written here anew, not taken from core, so that the demo also checks core. */
#ifndef LEADSIDE_DEMO_DOCUMENT_H
#define LEADSIDE_DEMO_DOCUMENT_H

#include <stddef.h>

#include "base/arena.h"
#include "demo/player.h"
#include "demo/random.h"

/* One camera as it stood. Metres, degrees: lateral + to its right of the hands' line, yaw + to its right, pitch + down,
 * roll + clockwise as seen from behind it. */
struct demo_camera {
    double distance, height, lateral, yaw, pitch, roll;
};

struct demo_setup {
    bool down_the_line, face_on;
    struct demo_camera cameras[VIEW_KIND_COUNT];
    int sticks;      /* 0...2, down the line */
    bool target;     /* a distant flag is marked, down the line */
    double fps;      /* pictures a second */
    double noise_px; /* sd of a mark, per axis */
    bool scale;      /* a scale reads the lead share at arm_back and arm_through */
    struct swing_flight flight;
    bool has_flight;
};

/* A tablet on a tripod, both views, two sticks, 60 pictures a second, 3 px. */
void demo_setup_usual(struct demo_setup *setup);

/* Small swing-to-swing differences: every dial moves by its own sd times amount. */
void demo_player_vary(struct demo_player *player, double amount, struct demo_random *random);

/* The document's JSON in the arena; NULL when memory is short. recorded_at: RFC 3339. */
char *demo_document(const struct demo_player *player, const struct demo_setup *setup, const char *recorded_at,
                    struct demo_random *random, struct arena *arena, size_t *length);

#endif
