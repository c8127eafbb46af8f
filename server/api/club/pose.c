/* Serving the pose library to the bay page: a fixed list of files, read at the start. */
#include "api/club/pose.h"

#include <errno.h>
#include <fcntl.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "api/frame/call.h"
#include "api/frame/handlers.h"

#define SCRIPT "text/javascript; charset=utf-8"
#define BYTES "application/octet-stream"
#define WASM "application/wasm"

/* The full model, with and without SIMD. The heavy and the lite model are not offered. */
static const struct {
    const char *path, *type;
} list[] = {
    {"/pose/pose.js", SCRIPT},
    {"/pose/pose_landmark_full.tflite", BYTES},
    {"/pose/pose_solution_packed_assets.data", BYTES},
    {"/pose/pose_solution_packed_assets_loader.js", SCRIPT},
    {"/pose/pose_solution_simd_wasm_bin.data", BYTES},
    {"/pose/pose_solution_simd_wasm_bin.js", SCRIPT},
    {"/pose/pose_solution_simd_wasm_bin.wasm", WASM},
    {"/pose/pose_solution_wasm_bin.js", SCRIPT},
    {"/pose/pose_solution_wasm_bin.wasm", WASM},
    {"/pose/pose_web.binarypb", BYTES},
};

enum { LIST = sizeof list / sizeof *list };

size_t pose_files_count(void)
{
    return LIST;
}

static bool read_whole(int fd, struct pose_file *file)
{
    struct stat is;
    if (fstat(fd, &is) != 0 || !S_ISREG(is.st_mode) || is.st_size < 0 || (size_t)is.st_size > POSE_FILE_MAX) {
        return false;
    }
    file->size = (size_t)is.st_size;
    file->data = malloc(file->size + 1);
    for (size_t got = 0; file->data != NULL && got < file->size;) {
        ssize_t n = read(fd, (char *)file->data + got, file->size - got);
        if (n < 0 && errno == EINTR) {
            continue;
        }
        if (n <= 0) {
            return false;
        }
        got += (size_t)n;
    }
    return file->data != NULL;
}

static void tag(struct pose_file *file)
{
    unsigned char hash[16];
    crypto_generichash(hash, sizeof hash, file->data, file->size, NULL, 0);
    char hex[2 * sizeof hash + 1];
    sodium_bin2hex(hex, sizeof hex, hash, sizeof hash);
    (void)snprintf(file->etag, sizeof file->etag, "\"%s\"", hex);
}

struct pose_file *pose_files_read(const char *directory, char *error, size_t error_size)
{
    struct pose_file *files = calloc(LIST, sizeof *files);
    int folder = open(directory, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    bool good = files != NULL && folder >= 0;
    (void)snprintf(error, error_size, "can't open the pose library's folder %s", directory);
    for (size_t i = 0; good && i < LIST; i++) {
        const char *name = strrchr(list[i].path, '/') + 1;
        int fd = openat(folder, name, O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC);
        files[i].path = list[i].path;
        files[i].type = list[i].type;
        good = fd >= 0 && read_whole(fd, &files[i]);
        if (fd >= 0) {
            (void)close(fd);
        }
        if (good) {
            tag(&files[i]);
        } else {
            (void)snprintf(error, error_size, "can't use %s of the pose library in %s", name, directory);
        }
    }
    if (folder >= 0) {
        (void)close(folder);
    }
    if (good) {
        error[0] = '\0';
        return files;
    }
    pose_files_free(files);
    return NULL;
}

void pose_files_free(struct pose_file *files)
{
    for (size_t i = 0; files != NULL && i < LIST; i++) {
        free(files[i].data);
    }
    free(files);
}

/* ---- handlers ---- */

void pose_ready(struct call *call)
{
    exchange_reply_empty(call->exchange, 204);
}

void pose_file(struct call *call)
{
    const struct pose_file *file = NULL;
    for (size_t i = 0; i < LIST && file == NULL; i++) {
        if (strcmp(call->api->pose[i].path, call->row->path) == 0) {
            file = &call->api->pose[i];
        }
    }
    if (file == NULL) {
        exchange_problem(call->exchange, 404, "not-found", NULL, "There is nothing at this address.");
        return;
    }
    exchange_add_header(call->exchange, "ETag", file->etag);
    exchange_add_header(call->exchange, "Cache-Control", "public, max-age=2592000");
    const char *known = exchange_header(call->exchange, "If-None-Match");
    if (known != NULL && strcmp(known, file->etag) == 0) {
        exchange_reply_empty(call->exchange, 304);
        return;
    }
    exchange_reply(call->exchange, 200, file->type, file->data, file->size);
}
