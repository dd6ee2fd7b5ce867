/* double bare; in a comment is no field. struct x { double bare; }; neither. */
struct sm_nozzle {
    double throat; /* diameter [m] */
    const double gamma; /* ratio of specific heats [1] */
    double *area, *pressure;          /* n of them [m2], [Pa] */
    double moments[3][6]; // about the head end [kg m2]
    double flux;   /* what goes through the throat, from values[i] and values[i + 1] on, in a comment that
                      takes two lines [kg/(m2 s)] */
    /* The station's "mean", over all of the length that burns [%] */
    double a_name_so_long_that_no_comment_would_fit_beside_it_in_a_line_of_a_hundred_and_ten;
    double another_name_so_long_that_no_comment_would_fit_beside_it_in_a_line_of_a_hundred;
    /* with its unit on the next line
     * [1/s] */
    double
        split; /* [N] */
    double (*eval)(double w, void *user);
    enum sm_status (*solve)(double from, double to,
                            double *root, void *user);
    union {
        double si; /* [Pa] */
        int whole;
    } either;
};
double sm_nozzle_area(double eps, double throat);
