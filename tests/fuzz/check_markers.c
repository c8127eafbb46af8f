/* A marker file from bytes to both reports: read by itself, then as a swing with what a coach would say beside it. */
#include <jansson.h>
#include <math.h>
#include <string.h>

#include "fuzz.h"
#include "wire/markers/map.h"

static void check_names(const struct marker_file *file)
{
    for (int m = 0; m < file->markers; m++) {
        fuzz_require(file->names[m] != NULL, "a marker has a name");
        fuzz_require(strlen(file->names[m]) < MARKER_NAME_TEXT, "a marker's name fits");
        json_t *as_string = json_string(file->names[m]);
        fuzz_require(as_string != NULL, "a marker's name is UTF-8");
        json_decref(as_string);
        for (int k = 0; k < m; k++) {
            fuzz_require(strcmp(file->names[m], file->names[k]) != 0, "markers' names are distinct");
        }
    }
}

static void check_file(const struct marker_file *file)
{
    const double far = 1e6; /* m */
    fuzz_require(file->rate_hz >= 20 && file->rate_hz <= 2000, "a file's rate");
    fuzz_require(file->frames >= 1 && file->frames <= MOTION_SAMPLES_MAX, "a file's frames");
    fuzz_require(file->markers >= 1 && file->markers <= MARKERS_MAX, "a file's markers");
    fuzz_require(!file->up_given || file->up < LAB_AXIS_COUNT, "a file's upright axis");
    check_names(file);
    for (int i = 0; i < file->markers * file->frames; i++) {
        const struct vec3 at = file->at[i];
        fuzz_require(!file->seen[i] || (fabs(at.x) < far && fabs(at.y) < far && fabs(at.z) < far),
                     "a marker that is seen is within a thousand kilometres");
    }
}

/* Half of the inputs get what fits the seeds (lines to the target along +x, up along +z or as the file says). */
static struct swing_reading reading_of(enum swing_media media, uint32_t pick)
{
    struct swing_reading reading = {.hand_given = true, .hand = HAND_RIGHT, .club = CLUB_IRON, .target_given = true};
    reading.axes = (struct motion_axes){LAB_PLUS_Z, LAB_PLUS_X};
    reading.up_given = media == SWING_TRC;
    memcpy(reading.recorded_at, "2026-05-02T09:14:05.000Z", sizeof "2026-05-02T09:14:05.000Z");
    if ((pick & 1U) == 0) {
        return reading;
    }
    reading.hand_given = (pick >> 1U & 7U) != 0;
    reading.hand = (pick >> 4U & 1U) != 0 ? HAND_LEFT : HAND_RIGHT;
    reading.club = (enum club_kind)(pick >> 5U & 3U);
    reading.club_length_m = (struct maybe){(pick >> 7U & 1U) != 0, 0.9};
    reading.target_given = (pick >> 8U & 7U) != 0;
    reading.axes.target = (enum lab_axis)((pick >> 11U) % LAB_AXIS_COUNT);
    reading.axes.up = (enum lab_axis)((pick >> 17U) % LAB_AXIS_COUNT);
    reading.up_given = (pick >> 23U & 1U) != 0 && motion_axes_valid(reading.axes);
    return reading;
}

/* The reading is kept beside the file and must come back the same. */
static void check_reading(const struct swing_reading *reading, struct arena *arena)
{
    struct swing_reading again;
    struct wire_error error;
    size_t length = 0;
    char *text = swing_reading_write(reading, arena, &length);
    fuzz_require(text != NULL, "a reading is written");
    fuzz_require(swing_reading_read(text, length, arena, &again, &error), error.what);
    fuzz_require(again.hand_given == reading->hand_given && again.target_given == reading->target_given &&
                     again.up_given == reading->up_given && again.club == reading->club,
                 "a reading comes back as it was");
}

bool fuzz_markers(enum swing_media media, const uint8_t *data, size_t size, struct arena *arena)
{
    static struct swing_document document;
    struct marker_file file;
    struct wire_error error = {"", ""};
    const uint32_t pick = fuzz_hash(data, size);
    const struct swing_reading reading = reading_of(media, pick);
    const bool was_read = media == SWING_C3D ? marker_file_read_c3d(data, size, arena, &file, &error)
                                             : marker_file_read_trc(data, size, arena, &file, &error);
    if (was_read) {
        check_file(&file);
    } else {
        fuzz_check_error(&error);
    }
    memset(&document, (int)(pick >> 24U), sizeof document);
    if (!swing_file_read(media, data, size, &reading, arena, &document, &error)) {
        fuzz_check_error(&error);
        return was_read;
    }
    fuzz_require(was_read, "a swing is made only of a file that is read");
    fuzz_require(document.has_motion && document.swing.motion != NULL && document.markers != NULL,
                 "a marker file gives motion data");
    fuzz_check_swing(&document.swing);
    fuzz_score(&document, 1 + (int)(pick >> 3U & 1U) * 3, fuzz_book(), pick, arena);
    check_reading(&reading, arena);
    return true;
}
