/* SPDX-License-Identifier: GPL-3.0-or-later */
/* tools/manual/completion.c - scripts whose lists are those of the tables. */
#include "tools/manual/completion.h"

#include <string.h>

#include "tools/base/command.h"
#include "tools/base/command_table.h"
#include "tools/base/status.h"

static uint64_t options_of(const struct command *command) {
    return command->options | OPTIONS_ALWAYS;
}

/* ---- bash ---- */

static const char bash_begin[] =
    "# bash completion for loopwright; made by: loopwright completion bash\n"
    "\n"
    "# The scenario that stands on the line, or that of the run that does.\n"
    "_loopwright_scenario() {\n"
    "    local word\n"
    "    for word in \"${words[@]:2}\"; do\n"
    "        if [[ -f $word && $word == *.y?(a)ml ]]; then echo \"$word\"; return; fi\n"
    "        if [[ -f $word/scenario.yaml ]]; then echo \"$word/scenario.yaml\"; return; fi\n"
    "    done\n"
    "}\n"
    "\n"
    "# Offers what a word of the kind $1 may be that begins with $2.\n"
    "_loopwright_offer() {\n"
    "    local IFS=$'\\n' scenario\n"
    "    case $1 in\n"
    "    directory) compopt -o filenames; COMPREPLY=($(compgen -d -- \"$2\")) ;;\n"
    "    file) compopt -o filenames; COMPREPLY=($(compgen -f -- \"$2\")) ;;\n"
    "    scenario)\n"
    "        compopt -o filenames\n"
    "        COMPREPLY=($(compgen -f -X '!*.y?(a)ml' -- \"$2\"; compgen -d -- \"$2\")) ;;\n"
    "    run)\n"
    "        compopt -o filenames\n"
    "        COMPREPLY=($(compgen -f -X '!*.capsule' -- \"$2\"; compgen -d -- \"$2\")) ;;\n"
    "    change)\n"
    "        scenario=$(_loopwright_scenario)\n"
    "        [[ -n $scenario ]] || return\n"
    "        compopt -o nospace\n"
    "        COMPREPLY=($(compgen -W \"$(\"${words[0]}\" paths \"$scenario\" 2>/dev/null)\" -- "
    "\"$2\")) ;;\n"
    "    value) ;; # a number, a time: nothing can be offered\n"
    "    *) COMPREPLY=($(compgen -W \"${1// /$'\\n'}\" -- \"$2\")) ;;\n"
    "    esac\n"
    "}\n"
    "\n"
    "# The kind of the value that the option $2 of the command $1 takes; nothing: it takes none.\n"
    "_loopwright_value() {\n"
    "    case $1,$2 in\n";

static const char bash_end[] =
    "_loopwright() {\n"
    "    local words cur prev kind options operand\n"
    "    local shopts=$(shopt -p extglob)\n"
    "    shopt -s extglob\n"
    "    read -ra words <<<\"${COMP_LINE:0:COMP_POINT}\"\n"
    "    [[ ${COMP_LINE:COMP_POINT-1:1} != ' ' ]] || words+=('')\n"
    "    cur=${words[-1]} prev=${words[-2]} COMPREPLY=()\n"
    "    if ((${#words[@]} == 2)); then\n"
    "        _loopwright_offer \"$_loopwright_commands --help --version\" \"$cur\"\n"
    "    elif [[ $cur == --*=* ]]; then\n"
    "        kind=$(_loopwright_value \"${words[1]}\" \"${cur%%=*}\")\n"
    "        [[ -z $kind ]] || _loopwright_offer \"$kind\" \"${cur#*=}\"\n"
    "        cur=${cur#*=}\n"
    "    elif kind=$(_loopwright_value \"${words[1]}\" \"$prev\"); [[ -n $kind ]]; then\n"
    "        _loopwright_offer \"$kind\" \"$cur\"\n"
    "    else\n"
    "        _loopwright_command \"${words[1]}\"\n"
    "        case $cur in\n"
    "        -*) _loopwright_offer \"$options\" \"$cur\" ;;\n"
    "        *) [[ -z $operand ]] || _loopwright_offer \"$operand\" \"$cur\" ;;\n"
    "        esac\n"
    "    fi\n"
    "    # The shell puts in what follows the last =, where that parts words.\n"
    "    if [[ $cur == *=* && $COMP_WORDBREAKS == *=* ]]; then\n"
    "        COMPREPLY=(\"${COMPREPLY[@]#\"${cur%=*}=\"}\")\n"
    "    fi\n"
    "    $shopts\n"
    "}\n"
    "complete -F _loopwright loopwright\n";

/* What the scripts call the kind of a word; NULL: nothing can be offered. */
static const char *kind_name(enum word_kind kind) {
    switch (kind) {
    case WORD_DIRECTORY: return "directory";
    case WORD_FILE: return "file";
    case WORD_SCENARIO: return "scenario";
    case WORD_RUN: return "run";
    case WORD_CHANGE: return "change";
    case WORD_COMMAND: return "$_loopwright_commands";
    case WORD_SHELL: return "bash zsh";
    case WORD_ALL: return "all";
    case WORD_NONE:
    case WORD_NUMBER:
    case WORD_DURATION:
    case WORD_TIME:
    case WORD_OTHER: break;
    }
    return NULL;
}

static void print_bash_value(FILE *out, const struct command *command, int option) {
    const struct option_row *row = option_table_row((enum option)option);
    const char *kind = kind_name(row->kind);
    if (row->kind == WORD_NONE || row->kind == WORD_ALL)
        return;
    fprintf(out, "    %s,%s", command->name, row->name);
    if (row->letter != '\0')
        fprintf(out, "|%s,-%c", command->name, row->letter);
    fprintf(out, ") echo %s ;;\n", kind != NULL ? kind : "value");
}

static void print_bash_options(FILE *out, const struct command *command) {
    fprintf(out, "    %s)\n        options='", command->name);
    const char *before = "";
    for (int option = 0; option < OPTIONS; option++) {
        if ((options_of(command) & OPTION_BIT(option)) == 0)
            continue;
        fprintf(out, "%s%s", before, option_table_row((enum option)option)->name);
        before = " ";
    }
    const char *kind = command->operand != NULL ? kind_name(command->kind) : NULL;
    fprintf(out, "'\n        operand=\"%s\" ;;\n", kind != NULL ? kind : "");
}

void completion_bash(FILE *out) {
    fputs(bash_begin, out);
    for (int i = 0; i < command_table_count(); i++)
        for (int option = 0; option < OPTIONS; option++)
            if ((options_of(command_table_row(i)) & OPTION_BIT(option)) != 0)
                print_bash_value(out, command_table_row(i), option);
    fputs("    esac\n}\n\n_loopwright_commands='", out);
    for (int i = 0; i < command_table_count(); i++)
        fprintf(out, "%s%s", i > 0 ? " " : "", command_table_row(i)->name);
    fputs("'\n\n# Sets `options` and `operand` to what the command $1 takes.\n"
          "_loopwright_command() {\n    case $1 in\n",
          out);
    for (int i = 0; i < command_table_count(); i++)
        print_bash_options(out, command_table_row(i));
    fputs("    esac\n}\n\n", out);
    fputs(bash_end, out);
}

/* ---- zsh ---- */

static const char zsh_begin[] =
    "#compdef loopwright\n"
    "# zsh completion for loopwright; made by: loopwright completion zsh\n"
    "\n"
    "# The paths of the scenario that stands on the line, or of that of the run that does.\n"
    "_loopwright_paths() {\n"
    "    local word scenario\n"
    "    local -a found\n"
    "    for word in $words; do\n"
    "        [[ -f $word && $word == *.(yaml|yml) ]] && scenario=$word\n"
    "        [[ -f $word/scenario.yaml ]] && scenario=$word/scenario.yaml\n"
    "    done\n"
    "    [[ -n $scenario ]] || return 1\n"
    "    found=(${(f)\"$(loopwright paths $scenario 2>/dev/null)\"})\n"
    "    compadd -S '' -a found\n"
    "}\n"
    "\n"
    "_loopwright() {\n"
    "    local context state line\n"
    "    local -a commands\n"
    "    commands=(\n";

static const char zsh_middle[] = "    )\n"
                                 "    _arguments -C '(- *)'{-h,--help}'[say how it is used]' "
                                 "'(- *)'{-V,--version}'[say which version this is]' "
                                 "'1:command:->command' '*::argument:->argument' && return\n"
                                 "    if [[ $state == command ]]; then\n"
                                 "        _describe command commands\n"
                                 "        return\n"
                                 "    fi\n"
                                 "    case $words[1] in\n";

/* What zsh completes a word of a kind with. */
static const char *zsh_action(enum word_kind kind) {
    switch (kind) {
    case WORD_DIRECTORY: return "_directories";
    case WORD_FILE: return "_files";
    case WORD_SCENARIO: return "_files -g \"*.(yaml|yml)\"";
    case WORD_RUN: return "_files -g \"*.capsule\" -g \"*(/)\"";
    case WORD_CHANGE: return "_loopwright_paths";
    case WORD_COMMAND: return "_describe command commands";
    case WORD_SHELL: return "(bash zsh)";
    case WORD_ALL: return "(all)";
    case WORD_NONE:
    case WORD_NUMBER:
    case WORD_DURATION:
    case WORD_TIME:
    case WORD_OTHER: break;
    }
    return " ";
}

/* A text within the brackets of a specification, which stands in single quotes. */
static void print_zsh_text(FILE *out, const char *text) {
    for (const char *at = text; *at != '\0'; at++) {
        if (strchr("[]:\\", *at) != NULL)
            fputc('\\', out);
        fputs(*at == '\'' ? "'\\''" : (char[]){*at, '\0'}, out);
    }
}

static void print_zsh_option(FILE *out, const struct option_row *row) {
    bool many = row->kind == WORD_CHANGE;
    const char *equals = row->kind == WORD_NONE ? "" : row->kind == WORD_ALL ? "=-" : "=";
    if (row->letter != '\0')
        fprintf(out, " \\\n            '(-%c %s)'{-%c,%s%s}'[", row->letter, row->name, row->letter,
                row->name, equals);
    else
        fprintf(out, " \\\n            '%s%s%s[", many ? "*" : "", row->name, equals);
    print_zsh_text(out, row->says);
    fputc(']', out);
    if (row->kind != WORD_NONE)
        fprintf(out, "%s%s:%s", row->kind == WORD_ALL ? "::" : ":", row->value,
                zsh_action(row->kind));
    fputc('\'', out);
}

static void print_zsh_command(FILE *out, const struct command *command) {
    fprintf(out, "    %s)\n        _arguments", command->name);
    for (int option = 0; option < OPTIONS; option++)
        if ((options_of(command) & OPTION_BIT(option)) != 0)
            print_zsh_option(out, option_table_row((enum option)option));
    if (command->operand != NULL)
        fprintf(out, " \\\n            '%s%s:%s'",
                command->operand[0] == '[' ? "1::" : "1:", command->operand,
                zsh_action(command->kind));
    fputs(" ;;\n", out);
}

void completion_zsh(FILE *out) {
    fputs(zsh_begin, out);
    for (int i = 0; i < command_table_count(); i++) {
        fprintf(out, "        '%s:", command_table_row(i)->name);
        print_zsh_text(out, command_table_row(i)->summary);
        fputs("'\n", out);
    }
    fputs(zsh_middle, out);
    for (int i = 0; i < command_table_count(); i++)
        print_zsh_command(out, command_table_row(i));
    fputs("    esac\n}\n\n_loopwright \"$@\"\n", out);
}

int completion_command(const struct options *options) {
    if (strcmp(options->operand, "bash") == 0)
        completion_bash(stdout);
    else if (strcmp(options->operand, "zsh") == 0)
        completion_zsh(stdout);
    else {
        fprintf(stderr,
                "loopwright completion: there is none for `%s`\n    help: SHELL is bash or "
                "zsh\n",
                options->operand);
        return STATUS_USAGE;
    }
    return STATUS_HOLDS;
}
