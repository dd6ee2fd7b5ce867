/* The server: sockets and HTTP, by libmicrohttpd. */
#ifndef WEB_SERVER_H
#define WEB_SERVER_H

#include "bench.h"
#include "guard.h"

struct web_server {
    struct MHD_Daemon *daemon;
    struct web_bench *bench;
    char token[WEB_TOKEN_TEXT];
    unsigned port;
    atomic_int n_long; /* long answers under way */
};

/* Listens on the loopback address alone; port 0 takes a free one. False if the port is taken, or the system refuses. */
bool web_server_start(struct web_server *server, struct web_bench *bench, unsigned port);
/* Stops all work, and comes back when no thread is left. */
void web_server_stop(struct web_server *server);

#endif
