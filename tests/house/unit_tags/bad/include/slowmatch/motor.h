struct sm_motor {
    double length;
    double width; /* without one */
    const double height;    /* first of values[3], or f(x)[2], or a[0][1] */
    double rate; /* [] */
    double ratio; /* [-] */
    double moments[3],
        more; /* of inertia */
    double *series;
    int n; /* [m] */
    double next;
    struct {
        double inner; int k; double outer; /* both bare */
    } in;
    double good; /* [m] */ double shared;
};

union sm_value
{
    double si;
};
