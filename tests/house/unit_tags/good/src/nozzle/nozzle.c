static const struct {
    const char *name;
    double factor; /* [1] */
} table[] = {
    {"a ; { /* struct y { double bare; ", 1.0},
    {"b \" {", '{' / 2.0 /* open
    struct z { double bare; }; */},
};

struct sm_nozzle sm_nozzle_of(const struct sm_nozzle *other)
{
    double local = 1.0;
    struct sm_nozzle copy = {
        .throat = (double)local,
    };
    double after;
    return copy;
}
