#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""data.py PROGRAM - reads every table of a run, a soak and a sweep with pandas and with R, with
their defaults, and holds columns, types and values against what `loopwright columns` says and what
stands in the files, read as plain text. Status 77: neither is installed."""
import csv
import itertools
import json
import math
import os
import re
import shutil
import subprocess
import sys
import tempfile

PROGRAM = os.path.abspath(sys.argv[1])
SWEPT = "arms.sweeper.swing"
SCENARIO = os.path.abspath("tests/manual/every-key.yaml")
# Of each column: its class and, as text with all digits, the sum of its numbers or, of texts, of
# their lengths; one line a column, after one with the number of rows.
R_SCRIPT = """
for (file in commandArgs(TRUE)) {
    table <- read.csv(file)
    cat(file, nrow(table), "\\n")
    for (name in names(table)) {
        column <- table[[name]]
        value <- if (is.numeric(column)) sum(column, na.rm = TRUE)
                 else if (is.character(column)) sum(nchar(column))
                 else 0
        cat(name, class(column), sprintf("%.17g", value), "\\n")
    }
}
"""


def loopwright(*words):
    """Status 1: it does not hold, which is no matter here."""
    done = subprocess.run([PROGRAM, *words], capture_output=True, text=True)
    if done.returncode > 1:
        sys.exit(f"{words}: {done.stderr}")
    return done.stdout


def described(file, known):
    """The columns that a file has, by what is known of its table: one for each product, path, and
    lane, those of a lane side by side."""
    lanes = ["ring/outer", "ring/inner", "ramp"]
    names = {"PRODUCT": ["lantern"], "PATH": [SWEPT], "LANE": lanes}
    columns = known[file]["columns"]
    for word, group in itertools.groupby(columns, lambda column: next(
            (word for word in names if word in column["name"]), "")):
        group = list(group)
        for name in names.get(word, [""]):
            for column in group:
                yield {**column, "name": column["name"].replace(word, name)}


def plain(path):
    with open(path, encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def expected(column, rows):
    """The sum that a reader must find."""
    values = [row[column["name"]] for row in rows]
    if column["type"] == "string":
        return sum(len(value) for value in values)
    return math.fsum(float(value) for value in values if value)


def check(holds, what):
    if not holds:
        sys.exit(what)


def check_sum(who, file, column, rows, found):
    wanted = expected(column, rows)
    check(math.isclose(found, wanted, rel_tol=1e-12, abs_tol=1e-9),
          f"{who}: {file}: {column['name']}: {found} is not {wanted}")


def try_pandas(tables):
    import pandas
    for path, columns, rows in tables:
        frame = pandas.read_csv(path)
        check(list(frame.columns) == [column["name"] for column in columns], f"pandas: {path}")
        check(len(frame) == len(rows), f"pandas: {path}: {len(frame)} rows")
        for column in columns:
            series = frame[column["name"]]
            filled = any(row[column["name"]] for row in rows)
            if column["type"] == "string":
                check(series.dtype == object or not filled, f"pandas: {path}: {column['name']}")
                found = series.dropna().astype(str).str.len().sum() if filled else 0
            else:
                whole = column["type"] == "integer" and not column["may_be_empty"]
                check(series.dtype.kind == ("i" if whole else "f"),
                      f"pandas: {path}: {column['name']} is {series.dtype}")
                found = series.sum()
            check_sum("pandas", path, column, rows, float(found))
    return "pandas " + pandas.__version__


def try_r(tables):
    done = subprocess.run(["Rscript", "-e", R_SCRIPT, *[path for path, _, _ in tables]],
                          capture_output=True, text=True, check=True)
    lines = iter(done.stdout.splitlines())
    for path, columns, rows in tables:
        check(next(lines).split() == [path, str(len(rows))], f"R: {path}")
        for column in columns:
            name, kind, value = next(lines).split()
            filled = any(row[column["name"]] for row in rows)
            check(name == re.sub("[^A-Za-z0-9._]", ".", column["name"]),
                  f"R: {path}: {name} is not {column['name']}")
            kinds = {"string": ["character"], "integer": ["integer", "numeric"],
                     "number": ["numeric"]}[column["type"]]
            check(kind in kinds or (kind == "logical" and not filled),
                  f"R: {path}: {name} is {kind}")
            if filled:
                check_sum("R", path, column, rows, float(value))
    return "R"


def page_lines(before):
    """The indented lines of docs/files.md that follow a line which ends so."""
    with open("docs/files.md", encoding="utf-8") as file:
        block = file.read().split(before + "\n\n", 1)[1].split("\n\n", 1)[0]
    return "\n".join(line[4:] for line in block.splitlines())


def try_plots(place):
    """What docs/files.md shows in five lines makes a picture."""
    tried = []
    if shutil.which("Rscript"):
        subprocess.run(["Rscript", "-e", page_lines("and in R:")], cwd=place, check=True,
                       capture_output=True)
        check(os.path.getsize(place + "/lanes.png") > 1000, "R makes no picture")
        os.remove(place + "/lanes.png")
        tried.append("R")
    if subprocess.run([sys.executable, "-c", "import matplotlib, pandas"],
                      capture_output=True).returncode == 0:
        subprocess.run([sys.executable, "-c", page_lines("as a picture, in Python:")], cwd=place,
                       check=True, env={**os.environ, "MPLBACKEND": "Agg"})
        check(os.path.getsize(place + "/lanes.png") > 1000, "Python makes no picture")
        tried.append("Python")
    return tried


def main():
    known = json.loads(loopwright("columns"))
    with tempfile.TemporaryDirectory() as place:
        loopwright("run", SCENARIO, "--moves", "--quiet", "--out", place + "/run")
        os.rename(place + "/run", place + "/run-1")
        plots = try_plots(place)
        loopwright("soak", SCENARIO, "--runs", "5", "--quiet", "--out", place + "/soak")
        loopwright("sweep", SCENARIO, "--runs", "2", "--quiet", "--over", SWEPT + "=1 s,2 s",
                   "--out", place + "/sweep")
        places = {"runs.csv": "soak", "sweep.csv": "sweep"}
        tables = []
        for file in known:
            path = f"{place}/{places.get(file, 'run-1')}/{file}"
            columns, rows = list(described(file, known)), plain(path)
            check(rows and list(rows[0]) == [column["name"] for column in columns],
                  f"{file}: {list(rows[0])}")
            for column in columns:
                check(column["may_be_empty"] or all(row[column["name"]] for row in rows),
                      f"{file}: {column['name']} is empty")
            tables.append((path, columns, rows))
        tried = []
        try:
            tried.append(try_pandas(tables))
        except ImportError:
            print("no pandas for " + sys.executable)
        if shutil.which("Rscript"):
            tried.append(try_r(tables))
    if not tried:
        print("neither pandas nor R on this machine")
        sys.exit(77)
    print(f"{sum(len(columns) for _, columns, _ in tables)} columns of {len(tables)} tables are "
          f"read by {' and '.join(tried)}; the page's pictures are made in "
          f"{' and '.join(plots) or 'nothing'}")


main()
