/* Serving files: each with an ETag of its content, packed for whoever takes it. */
#include "api/club/files.h"

#include <errno.h>
#include <fcntl.h>
#include <sodium.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "api/club/handlers.h"
#include "api/frame/call.h"
#include "api/frame/precondition.h"
#include "base/embed.h"

#define KEEP_ASKING "no-cache" /* may be shown again once the server said that it is still so */
#define KEEP_LONG "public, max-age=2592000"
#define SCRIPT "text/javascript; charset=utf-8"
#define BYTES "application/octet-stream"
#define WASM "application/wasm"

/* The full model, with and without SIMD. The heavy and the lite model are not offered. */
static const struct {
    const char *path, *type;
} library[] = {
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

enum { LIBRARY = sizeof library / sizeof *library };

static const char *type_of(const char *name)
{
    static const struct {
        const char *ending, *type;
    } types[] = {{".html", "text/html; charset=utf-8"},
                 {".css", "text/css; charset=utf-8"},
                 {".js", SCRIPT},
                 {".svg", "image/svg+xml"},
                 {".json", "application/json"},
                 {".wasm", WASM},
                 {".webmanifest", "application/manifest+json"}};
    const char *dot = strrchr(name, '.');
    for (size_t i = 0; dot != NULL && i < sizeof types / sizeof *types; i++) {
        if (strcmp(dot, types[i].ending) == 0) {
            return types[i].type;
        }
    }
    return BYTES;
}

static void add_built_in(struct served_files *files, const char *folder, const struct embedded_file *file)
{
    struct served_file *served = &files->list[files->count++];
    *served = (struct served_file){.type = type_of(file->name),
                                   .keep = KEEP_ASKING,
                                   .data = file->data,
                                   .packed = file->packed,
                                   .size = file->size,
                                   .packed_size = file->packed_size};
    (void)snprintf(served->path, sizeof served->path, "%s%s", folder, file->name);
    (void)snprintf(served->hash, sizeof served->hash, "%s", file->hash);
}

/* ---- the pose library ---- */

static bool read_whole(int fd, struct served_file *file)
{
    struct stat is;
    if (fstat(fd, &is) != 0 || !S_ISREG(is.st_mode) || is.st_size < 0 || (size_t)is.st_size > FILES_POSE_MAX) {
        return false;
    }
    file->size = (size_t)is.st_size;
    file->data = file->owned = malloc(file->size + 1);
    for (size_t got = 0; file->owned != NULL && got < file->size;) {
        ssize_t n = read(fd, (char *)file->owned + got, file->size - got);
        if (n < 0 && errno == EINTR) {
            continue;
        }
        if (n <= 0) {
            return false;
        }
        got += (size_t)n;
    }
    return file->owned != NULL;
}

static bool add_library(struct served_files *files, const char *directory, char *error, size_t error_size)
{
    int folder = open(directory, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    bool good = folder >= 0;
    if (!good) {
        (void)snprintf(error, error_size, "can't open the pose library's folder %s", directory);
    }
    for (size_t i = 0; good && i < LIBRARY; i++) {
        struct served_file *file = &files->list[files->count++];
        const char *name = strrchr(library[i].path, '/') + 1;
        int fd = openat(folder, name, O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC);
        *file = (struct served_file){.type = library[i].type, .keep = KEEP_LONG};
        (void)snprintf(file->path, sizeof file->path, "%s", library[i].path);
        good = fd >= 0 && read_whole(fd, file);
        if (fd >= 0) {
            (void)close(fd);
        }
        if (!good) {
            (void)snprintf(error, error_size, "can't use %s of the pose library in %s", name, directory);
            break;
        }
        unsigned char hash[FILES_HASH / 2];
        crypto_generichash(hash, sizeof hash, file->data, file->size, NULL, 0);
        sodium_bin2hex(file->hash, sizeof file->hash, hash, sizeof hash);
    }
    if (folder >= 0) {
        (void)close(folder);
    }
    return good;
}

/* ---- all of them ---- */

struct served_files *files_new(const char *pose, char *error, size_t error_size)
{
    const struct {
        const char *place;
        const struct embedded_file *files;
        size_t count;
    } built_in[] = {{"/", embedded_pages, embedded_pages_count},
                    {"/", embedded_built, embedded_built_count},
                    {"/", embedded_words, embedded_words_count},
                    {"/v1/", embedded_openapi, embedded_openapi_count}};
    const size_t most =
        embedded_pages_count + embedded_built_count + embedded_words_count + embedded_openapi_count + LIBRARY;
    struct served_files *files = calloc(1, sizeof *files + most * sizeof *files->list);
    if (files == NULL) {
        return NULL;
    }
    for (size_t k = 0; k < sizeof built_in / sizeof *built_in; k++) {
        for (size_t i = 0; i < built_in[k].count; i++) {
            add_built_in(files, built_in[k].place, &built_in[k].files[i]);
        }
    }
    if (pose != NULL && !add_library(files, pose, error, error_size)) {
        files_free(files);
        return NULL;
    }
    return files;
}

void files_free(struct served_files *files)
{
    for (size_t i = 0; files != NULL && i < files->count; i++) {
        free(files->list[i].owned);
    }
    free(files);
}

/* ---- handlers ---- */

void pose_ready(struct call *call)
{
    exchange_reply_empty(call->exchange, 204);
}

/* Packed and plain are two representations, each with a strong tag of its own. */
static void reply_file(struct call *call, const char *path)
{
    const struct served_files *files = call->api->files;
    const struct served_file *file = NULL;
    for (size_t i = 0; i < files->count && file == NULL; i++) {
        file = strcmp(files->list[i].path, path) == 0 ? &files->list[i] : NULL;
    }
    if (file == NULL) {
        exchange_problem(call->exchange, 404, "not-found", NULL, "There is nothing at this address.");
        return;
    }
    struct exchange *exchange = call->exchange;
    const bool packed = file->packed != NULL && exchange_takes_gzip(exchange);
    char tag[FILES_HASH + 8];
    (void)snprintf(tag, sizeof tag, packed ? "\"%s-gzip\"" : "\"%s\"", file->hash);
    exchange_add_header(exchange, "ETag", tag);
    exchange_add_header(exchange, "Cache-Control", file->keep);
    if (file->packed != NULL) {
        exchange_add_header(exchange, "Vary", "Accept-Encoding");
    }
    if (precondition_judge(exchange_header(exchange, "If-None-Match"), tag, true, false) == PRECONDITION_MATCHES) {
        exchange_reply_empty(exchange, 304);
        return;
    }
    if (packed) {
        exchange_add_header(exchange, "Content-Encoding", "gzip");
    }
    exchange_reply(exchange, 200, file->type, packed ? file->packed : file->data,
                   packed ? file->packed_size : file->size);
}

void files_home(struct call *call)
{
    reply_file(call, "/index.html");
}

void files_get(struct call *call)
{
    reply_file(call, call->row->path);
}
