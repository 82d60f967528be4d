/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/loopwright.c - the program: finds the command and does what all of them share. */
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_errno.h>
#include <jansson.h>

#include "tools/base/command_table.h"
#include "tools/base/interrupt.h"
#include "tools/base/options.h"
#include "tools/base/standard_output.h"
#include "tools/base/status.h"
#include "tools/base/terminal.h"
#include "tools/base/version.h"
#include "tools/manual/help.h"

static void print_version(void) { puts("loopwright " LOOPWRIGHT_VERSION); }

static int run_words(const struct command *command, int count, char *const *word) {
    struct options options;
    if (!options_read(&options, command->name, command->operand, command->options, count, word))
        return STATUS_USAGE;
    int status = STATUS_HOLDS;
    if (options.value[OPTION_HELP] != NULL)
        help_print_all(command, stdout);
    else if (options.given[OPTION_HELP])
        help_print_command(command, stdout);
    else if (options.given[OPTION_VERSION])
        print_version();
    else
        status = command->run(&options);
    options_free(&options);
    return status;
}

static int dispatch(int count, char *const *word) {
    if (count < 2) {
        help_print(stderr);
        return STATUS_USAGE;
    }
    if (strcmp(word[1], "--help") == 0 || strcmp(word[1], "-h") == 0)
        help_print(stdout);
    else if (strcmp(word[1], "--version") == 0 || strcmp(word[1], "-V") == 0)
        print_version();
    else if (command_table_named(word[1]) == NULL)
        return help_unknown(word[1]);
    else
        return run_words(command_table_named(word[1]), count - 2, word + 2);
    return STATUS_HOLDS;
}

enum { OUTPUT_BUFFER_BYTES = 1 << 16 };

/* What GSL finds wrong it also returns, and that is looked at where it is called; but a vector for
 * which there is no memory would be NULL. */
static void gsl_failed(const char *reason, const char *file, int line, int error) {
    (void)reason, (void)file, (void)line;
    if (error == GSL_ENOMEM)
        require_no_memory("GSL");
}

/* jansson leaves out a key for which it has no memory, and does not say so. */
static void *json_memory(size_t bytes) { return require_memory(bytes, 1); }

int main(int count, char **word) {
    terminal_guard();
    setvbuf(stdout, NULL, _IOFBF, OUTPUT_BUFFER_BYTES); /* written when all is done */
    gsl_set_error_handler(gsl_failed);
    json_set_alloc_funcs(json_memory, free);
    interrupt_watch();
    return standard_output_finish(dispatch(count, word));
}
