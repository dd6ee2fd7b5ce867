/* The propellant files that ship with the program: each reads, checks, and says what its source says. */
#include <criterion/criterion.h>
#include <dirent.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "input/read_propellant.h"
#include "propellant/burnrate.h"
#include "reference/reference.h"

/* One propellant read from its file; it lives in the arena. */
struct shelf {
    struct sm_arena arena;
    struct sm_units *units;
    struct sm_diag diag;
    struct sm_json_doc *doc;
    struct sm_propellant propellant;
};

static void shelf_read(struct shelf *shelf, const char *name)
{
    char path[512];
    struct sm_error err;
    *shelf = (struct shelf){0};
    sm_arena_init(&shelf->arena, NULL);
    cr_assert_eq(sm_units_open(&shelf->units, &err), SM_OK, "%s", err.message);
    snprintf(path, sizeof path, "%s/propellants/%s.json", SM_SOURCE_DIR, name);
    cr_assert_eq(sm_json_read_file(path, &shelf->doc, &err), SM_OK, "%s: %s", path, err.message);
    struct sm_reader reader = {&shelf->arena, shelf->units, &shelf->diag};
    const enum sm_status status =
        sm_read_propellant(&reader, sm_json_root(shelf->doc), "", &shelf->propellant);
    cr_assert_eq(status, SM_OK, "%s: %s", path, shelf->diag.n ? shelf->diag.items[0].message : "?");
}

static void shelf_release(struct shelf *shelf)
{
    sm_json_free(shelf->doc);
    sm_diag_release(&shelf->diag);
    sm_units_free(shelf->units);
    sm_arena_release(&shelf->arena);
}

Test(files, each_reads_and_bears_its_own_name)
{
    DIR *folder = opendir(SM_SOURCE_DIR "/propellants");
    size_t n = 0;
    cr_assert_not_null(folder);
    for (struct dirent *entry = readdir(folder); entry; entry = readdir(folder)) {
        char name[256];
        struct shelf shelf;
        const char *end = strstr(entry->d_name, ".json");
        if (!end)
            continue;
        snprintf(name, sizeof name, "%.*s", (int)(end - entry->d_name), entry->d_name);
        shelf_read(&shelf, name);
        cr_expect_str_eq(shelf.propellant.name, name);
        /* an open source needs more than a word */
        cr_expect(shelf.propellant.standing == SM_STANDING_INVENTED || strlen(shelf.propellant.source) > 40,
                  "%s", name);
        shelf_release(&shelf);
        n++;
    }
    closedir(folder);
    cr_expect_geq(n, 10);
}

/* Segments as in the table of laws. */
Test(files, sugar_burn_rates)
{
    struct ref_table *t = ref_read("sugar-burn-rates.csv");
    static const char *const names[] = {"kndx", "knsb", "knsu"};
    for (size_t k = 0; k < SM_COUNT(names); k++) {
        struct shelf shelf;
        size_t n = 0;
        shelf_read(&shelf, names[k]);
        const struct sm_burn_segment *s = shelf.propellant.burn_rate.items;
        for (size_t i = 0; i < t->n_rows; i++) {
            if (strcmp(ref_text(t, i, "propellant"), names[k]) != 0)
                continue;
            cr_assert_lt(n, shelf.propellant.burn_rate.n);
            ref_expect(t, i, "from", 1e-6 * s[n].from);
            ref_expect(t, i, "to", 1e-6 * s[n].to);
            ref_expect(t, i, "a", 1e3 * s[n].rate * pow(1e6 / s[n].at, s[n].exponent));
            ref_expect(t, i, "exponent", s[n].exponent);
            n++;
        }
        cr_expect_eq(n, shelf.propellant.burn_rate.n);
        shelf_release(&shelf);
    }
    free(t);
}

/* What the generic propellants' sources say of density, rate, c*, gamma and temperature. */
Test(files, generic_propellants)
{
    struct ref_table *t = ref_read("generic-propellants.csv");
    for (size_t i = 0; i < t->n_rows; i++) {
        struct shelf shelf;
        struct sm_burn_law law;
        struct sm_gas gas;
        shelf_read(&shelf, ref_text(t, i, "propellant"));
        const struct sm_propellant *p = &shelf.propellant;
        sm_burn_law_init(&law, p, p->reference_temperature);
        sm_propellant_gas(p, &gas);
        ref_expect(t, i, "rate", 1e3 * sm_burn_law_rate(&law, 0, 1e6 * ref_number(t, i, "pressure"), NULL));
        ref_expect(t, i, "exponent", law.segments[0].exponent);
        ref_expect(t, i, "density", p->density);
        ref_expect(t, i, "cstar", gas.cstar);
        ref_expect(t, i, "gamma", gas.gamma);
        ref_expect(t, i, "sigma", p->temperature_sensitivity);
        shelf_release(&shelf);
    }
    free(t);
}
