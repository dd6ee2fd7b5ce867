/* Puts the test's process under a locale with a decimal comma, so that a place which reads or writes numbers by the
 * locale shows. */
#ifndef TESTS_COMMA_LOCALE_H
#define TESTS_COMMA_LOCALE_H

#include <criterion/criterion.h>
#include <locale.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static inline int has_comma(const char *name)
{
    return setlocale(LC_ALL, name) && strcmp(localeconv()->decimal_point, ",") == 0;
}

/* Compiles a locale that differs from POSIX by its decimal sign alone; needs the system's localedef and its data. */
static inline int make_comma_locale(void)
{
    char folder[] = "/tmp/sm-locale-XXXXXX", path[64], command[256];
    if (!mkdtemp(folder))
        return 0;
    snprintf(path, sizeof path, "%s/source", folder);
    FILE *file = fopen(path, "w");
    if (!file)
        return 0;
    fputs(
        "comment_char %\nescape_char /\nLC_NUMERIC\ndecimal_point \",\"\nthousands_sep \".\"\ngrouping 3;3\n"
        "END LC_NUMERIC\n",
        file);
    static const char *const categories[] = {"CTYPE", "COLLATE", "MONETARY", "TIME", "MESSAGES"};
    for (size_t i = 0; i < sizeof categories / sizeof categories[0]; i++)
        fprintf(file, "LC_%s\ncopy \"POSIX\"\nEND LC_%s\n", categories[i], categories[i]);
    fclose(file);
    snprintf(command, sizeof command, "localedef -c -f ANSI_X3.4-1968 -i %s %s/comma >%s/log 2>&1", path,
             folder, folder);
    const int ran = system(command); /* its code is 1 for the categories that are left out */
    setenv("LOCPATH", folder, 1);
    const int works = ran != -1 && has_comma("comma");
    snprintf(command, sizeof command, "rm -r %s", folder);
    return system(command) == 0 && works;
}

/* Call first in a test; skips it if no such locale can be had. */
static inline void enter_comma_locale(void)
{
    static const char *const names[] = {"de_DE.UTF-8", "fr_FR.UTF-8", "nl_NL.UTF-8", "de_DE", "fr_FR"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        if (has_comma(names[i]))
            return;
    if (!make_comma_locale())
        cr_skip_test("no locale with a decimal comma is installed, and none can be made (package locales)");
}

#endif
