/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/manual/man.c - pages with the sections that mdoc(7) names, in its order. */
#include "tools/manual/man.h"

#include <ctype.h>
#include <string.h>

#include "model/scenario/catalogue.h"
#include "tools/base/version.h"
#include "tools/manual/roff.h"

static void print_head(FILE *out, const char *name, int section, const char *says) {
    fputs(".\\\" Made by loopwright manual.\n.Dd " LOOPWRIGHT_DATE "\n.Dt ", out);
    for (const char *at = name; *at != '\0'; at++)
        fputc(toupper((unsigned char)*at), out);
    fprintf(out, " %d\n.Os\n.Sh NAME\n.Nm %s\n.Nd ", section, name);
    roff_words(out, says);
    fputc('\n', out);
}

static void print_statuses(FILE *out) {
    fputs(".Sh EXIT STATUS\n.Bl -tag -width 128\n"
          ".It 0\ndone, and what was asked holds\n"
          ".It 1\ndone, and it does not hold: a jam, not drained, a rule broken\n"
          ".It 2\nthe command line is wrong\n"
          ".It 3\nthe scenario is wrong, or a path or value of\n.Fl \\-set\n"
          ".It 4\na file could not be read or written, or the directory was refused\n"
          ".It 5\na bug: the program found one of its own conditions violated\n"
          ".It 128+n\nstopped by signal n\n.El\n",
          out);
}

/* The command whose name follows that of another; of NULL, the first; NULL: there is none. */
static const struct command *next_by_name(const struct command *last) {
    const struct command *next = NULL;
    for (int i = 0; i < command_table_count(); i++) {
        const struct command *command = command_table_row(i);
        if ((last == NULL || strcmp(command->name, last->name) > 0) &&
            (next == NULL || strcmp(command->name, next->name) < 0))
            next = command;
    }
    return next;
}

/* The other pages, in alphabetical order within a section. */
static void print_see_also(FILE *out, const char *but) {
    fputs(".Sh SEE ALSO\n", out);
    const char *after = strcmp(but, "loopwright-scenario") == 0 ? "" : " ,";
    if (strcmp(but, "loopwright") != 0)
        fprintf(out, ".Xr loopwright 1%s\n", after);
    const struct command *command = strcmp(but, "loopwright") == 0 ? next_by_name(NULL) : NULL;
    for (; command != NULL; command = next_by_name(command))
        fprintf(out, ".Xr loopwright-%s 1 ,\n", command->name);
    if (after[0] != '\0')
        fputs(".Xr loopwright-scenario 5\n", out);
}

/* ---- options ---- */

static void print_option(FILE *out, const struct option_row *row) {
    fputs(".It ", out);
    if (row->letter != '\0')
        fprintf(out, "Fl %c , ", row->letter);
    fprintf(out, "Fl \\-%s", row->name + 2);
    if (row->value != NULL && row->kind != WORD_ALL)
        fprintf(out, " Ar %s", row->value);
    fputc('\n', out);
    char text[1024];
    snprintf(text, sizeof text, "%s%s%s%s%s%s%s", row->says, row->preset != NULL ? " (" : "",
             row->preset != NULL ? row->preset : "", row->preset != NULL ? ")" : "",
             row->more != NULL ? ". " : "", row->more != NULL ? row->more : "",
             row->more != NULL ? "" : ".");
    text[0] = (char)toupper((unsigned char)text[0]);
    roff_text(out, text);
}

static void print_options(FILE *out, uint64_t set) {
    fputs(".Bl -tag -width Ds\n", out);
    for (int option = 0; option < OPTIONS; option++)
        if ((set & OPTION_BIT(option)) != 0)
            print_option(out, option_table_row((enum option)option));
    fputs(".El\n", out);
}

/* ---- one command ---- */

static void print_files(FILE *out, const struct command *command) {
    if (command->file[0].name == NULL)
        return;
    fputs(".Sh FILES\nIn the directory of\n.Fl \\-out :\n.Bl -tag -width Ds\n", out);
    for (int i = 0; i < COMMAND_FILES_MAX && command->file[i].name != NULL; i++) {
        fputs(".It Pa ", out);
        roff_words(out, command->file[i].name);
        fputc('\n', out);
        roff_text(out, command->file[i].says);
    }
    fputs(".El\n", out);
}

static void print_examples(FILE *out, const struct command *command) {
    fputs(".Sh EXAMPLES\n", out);
    for (int i = 0; i < COMMAND_EXAMPLES_MAX && command->example[i] != NULL; i++) {
        fputs(".Dl ", out);
        roff_words(out, command->example[i]);
        fputc('\n', out);
    }
}

void man_command(FILE *out, const struct command *command) {
    char name[80];
    snprintf(name, sizeof name, "loopwright-%s", command->name);
    print_head(out, name, 1, command->summary);
    fprintf(out, ".Sh SYNOPSIS\n.Nm loopwright %s\n", command->name);
    if (command->operand != NULL)
        fprintf(out, ".Ar %s\n", command->operand);
    fputs(".Op Ar option ...\n.Sh DESCRIPTION\n", out);
    roff_text(out, command->about);
    fputs(".Pp\nThe value of an option is its next word, or follows an equals sign.\n", out);
    print_options(out, command->options | OPTIONS_ALWAYS);
    print_files(out, command);
    print_statuses(out);
    print_examples(out, command);
    print_see_also(out, name);
}

/* ---- the program ---- */

static void print_commands(FILE *out) {
    fputs(".Bl -tag -width Ds\n", out);
    for (int i = 0; i < command_table_count(); i++) {
        const struct command *command = command_table_row(i);
        fprintf(out, ".It Cm %s", command->name);
        if (command->operand != NULL)
            fprintf(out, " Ar %s", command->operand);
        fputc('\n', out);
        char text[256];
        snprintf(text, sizeof text, "%s.", command->summary);
        text[0] = (char)toupper((unsigned char)text[0]);
        roff_text(out, text);
    }
    fputs(".El\n", out);
}

static const char program_about[] =
    "It works out on a model how a conveyor loop will run that many kinds of parts share: what it "
    "carries, where it starves, why it jams, and whether it runs empty and starts again. A "
    "workshop is written down in a scenario, a file in YAML: loops and lines, chests, stations, "
    "arms that move items, gates, supplies, demands, and incidents. The same scenario with the "
    "same seed gives the same results, to the byte, on every machine.\n\n"
    "Results go to standard output; progress, warnings and errors go to standard error. A page for "
    "each command says more.";

static const char set_about[] =
    "Commands that read a scenario change it by --set PATH=VALUE, which may be given many times. "
    "PATH is section.name.key, or deeper; VALUE is read as YAML; null takes a key or a part away; "
    "a map for a name that is not there adds that part. An incident is named by its name, or by "
    "its position from 0.";

void man_program(FILE *out) {
    print_head(out, "loopwright", 1, "works out how a loop conveyor will run");
    fputs(".Sh SYNOPSIS\n.Nm\n.Ar command\n.Op Ar operand\n.Op Ar option ...\n.Sh DESCRIPTION\n",
          out);
    roff_text(out, program_about);
    print_commands(out);
    fputs(".Pp\n", out);
    roff_text(out, set_about);
    fputs(".Sh ENVIRONMENT\n.Bl -tag -width Ds\n"
          ".It Ev NO_COLOR\nWhere it is set and not empty, nothing is coloured.\n"
          ".It Ev TERM\nWhere it is\n.Cm dumb ,\nnothing is coloured and no line is drawn anew.\n"
          ".It Ev SLURM_ARRAY_TASK_ID\nThe shard of a planned soak, where\n.Fl \\-shard\nis not "
          "given.\n.El\n",
          out);
    print_statuses(out);
    fputs(".Sh EXAMPLES\nWhat a workshop does, why it jams, and how often in a hundred nights:\n"
          ".Dl loopwright run ring.yaml --out run-1\n.Dl loopwright cause run-1\n"
          ".Dl loopwright soak ring.yaml --for 12h\n",
          out);
    print_see_also(out, "loopwright");
    fputs(".Sh CAVEATS\nA simulation approves nothing.\nGuarding, lockout, emergency stops and "
          "everything electrical follow the law and\nthe standards of the place where the loop "
          "will stand.\n",
          out);
}

/* ---- scenarios ---- */

static const char scenario_about[] =
    "A scenario is a file in YAML, a map of the sections of the first list below. A scenario "
    "without loops, or without arms, is valid.\n\n"
    "Names have letters, digits, - and _, begin with a letter, and are at most 64 long. Loops, "
    "lines, chests, stations, arms, supplies, demands and incidents share one set of names; items "
    "have a set of their own, and so have the lanes of each loop.\n\n"
    "Durations are a number of seconds (90), a number with one of the units ms, s, min, h, d (1.5 "
    "s, 20min), or a clock time H:MM:SS with decimals if wanted (1:02:03.5). They are rounded to "
    "ticks exactly as they are written. In place of some of them a distribution may stand, from "
    "which a new value is drawn each time.\n\n"
    "Places are CHEST, STATION, LOOP/LANE@CELL, LOOP@CELL where the loop has one lane, and "
    "LINE@CELL.\n\n"
    "An unknown key, a name that nothing has, a wrong type, a number out of range, a key written "
    "twice, and YAML's aliases and merge keys are errors.";

static const char scenario_example[] =
    "items: [comb, box]\n"
    "loops: [{name: ring, cells: 60, rate: 4}]\n"
    "chests:\n"
    "- {name: bin, start: {comb: 500}}\n"
    "- {name: shelf}\n"
    "stations:\n"
    "- {name: bench, takes: {comb: 2}, makes: {box: 1}, time: 4 s}\n"
    "arms:\n"
    "- {name: feeder, from: bin, to: ring@0, swing: 2 s}\n"
    "- {name: taker, from: ring@30, to: bench, swing: 1 s}\n"
    "- {name: shelver, from: bench, to: shelf, swing: 1 s}\n";

static void print_key(FILE *out, const struct catalogue_key *key) {
    char wants[CATALOGUE_WANTS_SIZE], text[1024];
    const char *absent = key->absent != NULL ? key->absent : key->preset;
    const char *needed = key->required ? "needed" : absent;
    fprintf(out, ".It Cm %s\n", key->name);
    snprintf(text, sizeof text, "%s. It wants %s%s%s.", key->says, catalogue_wants(key, wants),
             needed == NULL  ? ""
             : key->required ? "; it is "
                             : "; if left out: ",
             needed == NULL ? "" : needed);
    text[0] = (char)toupper((unsigned char)text[0]);
    roff_text(out, text);
}

static void print_map(FILE *out, const struct catalogue_map *map) {
    fputs(".Ss ", out);
    for (const char *at = map->name; *at != '\0'; at++)
        if (*at != '`')
            fputc(*at, out);
    fputc('\n', out);
    char text[256];
    snprintf(text, sizeof text, "%s:", map->says);
    text[0] = (char)toupper((unsigned char)text[0]);
    roff_text(out, text);
    fputs(".Bl -tag -width Ds\n", out);
    for (uint32_t i = 0; i < map->key_count; i++)
        print_key(out, &map->key[i]);
    fputs(".El\n", out);
}

void man_scenario(FILE *out) {
    print_head(out, "loopwright-scenario", 5, "what a scenario may contain");
    fputs(".Sh DESCRIPTION\n", out);
    roff_text(out, scenario_about);
    for (int kind = 0; kind < CATALOGUE_KINDS; kind++)
        print_map(out, catalogue_map((enum catalogue_kind)kind));
    fputs(".Sh EXAMPLES\n.Bd -literal -offset indent\n", out);
    fputs(scenario_example, out);
    fputs(".Ed\n", out);
    print_see_also(out, "loopwright-scenario");
}
