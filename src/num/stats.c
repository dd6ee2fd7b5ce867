#include "num/stats.h"

#include <gsl/gsl_cdf.h>
#include <math.h>

/* Makes the median absolute deviation of a normal sample its standard deviation: 1 / quantile(3/4). */
#define MAD_TO_DEVIATION 1.482602218505602

double sm_stats_mean(const double *x, size_t n)
{
    double sum = 0.0;
    for (size_t i = 0; i < n; i++)
        sum += x[i];
    return n > 0 ? sum / (double)n : SM_NAN;
}

double sm_stats_deviation(const double *x, size_t n)
{
    if (n < 2)
        return SM_NAN;
    const double mean = sm_stats_mean(x, n);
    double sum = 0.0;
    for (size_t i = 0; i < n; i++)
        sum += (x[i] - mean) * (x[i] - mean);
    return sqrt(sum / (double)(n - 1));
}

/* ---- order ---- */

static void swap(double *a, double *b)
{
    const double kept = *a;
    *a = *b;
    *b = kept;
}

/* Puts the k-th smallest of x at its place, smaller ones before it and larger ones behind.
 * Reference: C. Hoare, Comm. ACM 4 (1961) 321, FIND; with the middle of three as pivot. */
static double select_place(double *x, size_t n, size_t k)
{
    size_t low = 0, high = n - 1;
    while (low < high) {
        const size_t middle = low + (high - low) / 2;
        if (x[middle] < x[low])
            swap(&x[middle], &x[low]);
        if (x[high] < x[low])
            swap(&x[high], &x[low]);
        if (x[high] < x[middle])
            swap(&x[high], &x[middle]);
        const double pivot = x[middle];
        size_t i = low, j = high;
        for (;;) {
            while (x[i] < pivot)
                i++;
            while (pivot < x[j])
                j--;
            if (i >= j)
                break;
            swap(&x[i++], &x[j--]);
        }
        if (k <= j)
            high = j;
        else
            low = j + 1;
    }
    return x[k];
}

double sm_stats_median(double *x, size_t n)
{
    if (n == 0)
        return SM_NAN;
    const double upper = select_place(x, n, n / 2);
    if (n % 2 == 1)
        return upper;
    double lower = x[0];
    for (size_t i = 1; i < n / 2; i++)
        lower = fmax(lower, x[i]);
    return 0.5 * (lower + upper);
}

double sm_stats_scatter(double *x, size_t n, double center)
{
    for (size_t i = 0; i < n; i++)
        x[i] = fabs(x[i] - center);
    return MAD_TO_DEVIATION * sm_stats_median(x, n);
}

/* ---- lines and correlation ---- */

int sm_stats_line_fit(const double *t, const double *y, size_t n, struct sm_stats_line *out)
{
    if (n < 3)
        return 0;
    const double middle = sm_stats_mean(t, n), mean = sm_stats_mean(y, n);
    double tt = 0.0, ty = 0.0, rest = 0.0;
    for (size_t i = 0; i < n; i++) {
        tt += (t[i] - middle) * (t[i] - middle);
        ty += (t[i] - middle) * (y[i] - mean);
    }
    if (!(tt > 0.0))
        return 0;
    const double slope = ty / tt;
    for (size_t i = 0; i < n; i++) {
        const double r = y[i] - mean - slope * (t[i] - middle);
        rest += r * r;
    }
    *out = (struct sm_stats_line){middle, mean, slope, sqrt(rest / (double)(n - 2))};
    return 1;
}

double sm_stats_correlation_length(const double *y, size_t n)
{
    const double window = 5.0; /* lags a correlation length that the sum takes in: Sokal gives 4 to 10 */
    const double mean = sm_stats_mean(y, n);
    double power = 0.0, length = 1.0;
    for (size_t i = 0; i < n; i++)
        power += (y[i] - mean) * (y[i] - mean);
    if (n < 4 || !(power > 0.0))
        return 1.0;
    for (size_t lag = 1; lag <= n / 2 && (double)lag <= window * length; lag++) {
        double sum = 0.0;
        for (size_t i = lag; i < n; i++)
            sum += (y[i] - mean) * (y[i - lag] - mean);
        length += 2.0 * sum / power;
        if (length < 1.0)
            length = 1.0;
    }
    return length;
}

/* ---- distributions ---- */

double sm_stats_normal_below(double z)
{
    return gsl_cdf_ugaussian_P(z);
}

static int is_share(double p)
{
    return p > 0.0 && p < 1.0;
}

double sm_stats_normal_quantile(double p)
{
    return is_share(p) ? gsl_cdf_ugaussian_Pinv(p) : SM_NAN;
}

double sm_stats_student_quantile(double p, double freedom)
{
    return is_share(p) && freedom > 0.0 ? gsl_cdf_tdist_Pinv(p, freedom) : SM_NAN;
}

double sm_stats_chi_squared_quantile(double p, double freedom)
{
    return is_share(p) && freedom > 0.0 ? gsl_cdf_chisq_Pinv(p, freedom) : SM_NAN;
}

double sm_stats_chi_squared_above(double x, double freedom)
{
    return x >= 0.0 && freedom > 0.0 ? gsl_cdf_chisq_Q(x, freedom) : SM_NAN;
}

double sm_stats_tolerance_factor(size_t n, double content, double confidence)
{
    if (n < 2 || !is_share(content) || !is_share(confidence))
        return SM_NAN;
    const double freedom = (double)(n - 1);
    const double z = sm_stats_normal_quantile(0.5 * (1.0 + content));
    const double chi = sm_stats_chi_squared_quantile(1.0 - confidence, freedom);
    return z * sqrt(freedom * (1.0 + 1.0 / (double)n) / chi);
}

/* ---- tests ---- */

int sm_stats_grubbs(const double *x, size_t n, double alpha, size_t *place, double *statistic,
                    double *critical)
{
    const double deviation = sm_stats_deviation(x, n), mean = sm_stats_mean(x, n);
    if (n < 3 || !(deviation > 0.0) || !is_share(alpha))
        return 0;
    *place = 0;
    for (size_t i = 1; i < n; i++)
        if (fabs(x[i] - mean) > fabs(x[*place] - mean))
            *place = i;
    const double count = (double)n;
    const double t = sm_stats_student_quantile(1.0 - alpha / (2.0 * count), count - 2.0);
    *statistic = fabs(x[*place] - mean) / deviation;
    *critical = (count - 1.0) / sqrt(count) * sqrt(t * t / (count - 2.0 + t * t));
    return 1;
}

double sm_stats_runs(const double *y, size_t n)
{
    double plus = 0.0, minus = 0.0, runs = 0.0;
    int last = 0;
    for (size_t i = 0; i < n; i++) {
        const int sign = (y[i] > 0.0) - (y[i] < 0.0);
        if (sign == 0)
            continue;
        plus += sign > 0;
        minus += sign < 0;
        runs += sign != last;
        last = sign;
    }
    if (plus < 1.0 || minus < 1.0)
        return plus + minus > 0.0 ? -SM_INF : SM_NAN;
    const double all = plus + minus, product = 2.0 * plus * minus;
    const double expected = product / all + 1.0;
    const double variance = product * (product - all) / (all * all * (all - 1.0));
    return variance > 0.0 ? (runs - expected) / sqrt(variance) : 0.0;
}

double sm_stats_durbin_watson(const double *y, size_t n)
{
    double steps = 0.0, squares = 0.0;
    for (size_t i = 0; i < n; i++) {
        squares += y[i] * y[i];
        if (i > 0)
            steps += (y[i] - y[i - 1]) * (y[i] - y[i - 1]);
    }
    return squares > 0.0 ? steps / squares : SM_NAN;
}
