/* The ceiling to compare homework reads with: libmicrohttpd as the server uses it, answering a fixed body of the size
 * given, with no routing, no rights and no store. bench_bare PORT BYTES; runs until SIGTERM. */
#include <microhttpd.h>
#include <netinet/in.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

struct body {
    char *text;
    size_t size;
};

static enum MHD_Result answer(void *context, struct MHD_Connection *connection, const char *url, const char *method,
                              const char *version, const char *upload, size_t *upload_size, void **state)
{
    static int begun;
    const struct body *body = context;
    (void)url;
    (void)method;
    (void)version;
    (void)upload;
    (void)upload_size;
    if (*state == NULL) {
        *state = &begun;
        return MHD_YES;
    }
    struct MHD_Response *response = MHD_create_response_from_buffer(body->size, body->text, MHD_RESPMEM_PERSISTENT);
    MHD_add_response_header(response, "Content-Type", "application/json");
    enum MHD_Result result = MHD_queue_response(connection, MHD_HTTP_OK, response);
    MHD_destroy_response(response);
    return result;
}

int main(int argc, char **argv)
{
    if (argc != 3) {
        fprintf(stderr, "usage: bench_bare PORT BYTES\n");
        return 2;
    }
    struct body body = {NULL, (size_t)strtoul(argv[2], NULL, 10)};
    struct sockaddr_in address = {.sin_family = AF_INET, .sin_port = htons((uint16_t)strtoul(argv[1], NULL, 10))};
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    body.text = malloc(body.size + 1);
    if (body.text == NULL) {
        return 1;
    }
    memset(body.text, 'x', body.size);
    sigset_t stop;
    sigemptyset(&stop);
    sigaddset(&stop, SIGTERM);
    sigaddset(&stop, SIGINT);
    sigprocmask(SIG_BLOCK, &stop, NULL);
    long cores = sysconf(_SC_NPROCESSORS_ONLN);
    struct MHD_Daemon *daemon =
        MHD_start_daemon(MHD_USE_EPOLL_INTERNAL_THREAD | MHD_ALLOW_SUSPEND_RESUME, 0, NULL, NULL, answer, &body,
                         MHD_OPTION_SOCK_ADDR, &address, MHD_OPTION_THREAD_POOL_SIZE, (unsigned)(cores > 1 ? cores : 2),
                         MHD_OPTION_CONNECTION_LIMIT, 1024U, MHD_OPTION_END);
    if (daemon == NULL) {
        fprintf(stderr, "bench_bare: can't listen on port %s\n", argv[1]);
        return 1;
    }
    int signal_number;
    sigwait(&stop, &signal_number);
    MHD_stop_daemon(daemon);
    free(body.text);
    return 0;
}
