"""The sums of a term, computed once more by DuckDB from the same data file, and compared.

    python3 -m venv venv
    venv/bin/pip install -r loadtest/reference/requirements.txt
    venv/bin/python loadtest/reference/term.py FOLDER

FOLDER is one that `myonym-loadtest term --folder FOLDER` has left: the data file and report.json.
Whatever differs is told, and the exit code is then 1.
"""

import json
import re
import sys
import time
from pathlib import Path

import duckdb
from duckdb_extensions import import_extension

ANSWERS = """
CREATE OR REPLACE TABLE answers AS
SELECT review,
       (body->>'round')::INT AS round,
       body->>'said' AS said,
       (body->>'exact')::BOOL AS is_right,
       (body->>'elapsed_ms')::BIGINT AS elapsed_ms
FROM term.event WHERE kind = 'answered'
"""
ROUNDS = """
CREATE OR REPLACE TABLE rounds AS
SELECT opened.review, (opened.body->>'round')::INT AS round, opened.body->>'muscle' AS asked,
       json_array_length(closed.body, '$.silent') AS silent
FROM (SELECT review, body FROM term.event WHERE kind = 'round_opened') AS opened
JOIN (SELECT review, body FROM term.event WHERE kind = 'round_closed') AS closed
  ON opened.review = closed.review AND (opened.body->>'round') = (closed.body->>'round')
"""
REVIEWS = """
CREATE OR REPLACE TABLE reviews AS
SELECT review, body->'settings'->>'section' AS section FROM term.event WHERE kind = 'opened'
"""
MUSCLES = """
WITH answered AS (
    SELECT asked, count(*) AS answers, count(*) FILTER (is_right) AS is_right,
           floor(median(elapsed_ms) FILTER (is_right))::BIGINT AS median_ms
    FROM answers JOIN rounds USING (review, round) GROUP BY asked),
silences AS (SELECT asked, sum(silent)::BIGINT AS silent FROM rounds GROUP BY asked)
SELECT asked, answers + silent, is_right, silent, median_ms
FROM answered JOIN silences USING (asked) ORDER BY asked
"""
PAIRS = """
SELECT asked, said, count(*) FROM answers JOIN rounds USING (review, round)
GROUP BY asked, said ORDER BY asked, said
"""
SECTIONS = """
WITH answered AS (
    SELECT review, count(*) AS answers, count(*) FILTER (is_right) AS is_right
    FROM answers GROUP BY review),
silences AS (SELECT review, sum(silent)::BIGINT AS silent FROM rounds GROUP BY review)
SELECT section, lower(hex(review)), is_right, answers + silent
FROM answered JOIN silences USING (review) JOIN reviews USING (review) ORDER BY ALL
"""


def sums(base):
    return [base.sql(query).fetchall() for query in (MUSCLES, PAIRS, SECTIONS)]


def from_report(report):
    """The same three tables as the program tells them."""
    silent = lambda item: item["omitted"] + item["timed_out"]
    muscles = sorted(
        (item["muscle"]["key"], item["asked"], item["right"], silent(item), item["median_ms"])
        for item in report["items"]
    )
    keys = [muscle["key"] for muscle in report["map"]["muscles"]]
    pairs = sorted((keys[c["asked"]], keys[c["said"]], c["count"]) for c in report["map"]["cells"])
    sections = sorted(
        (line["section"], line["review"].replace("-", ""), line["right"], line["asked"])
        for line in report["basis"]["reviews"]
    )
    return [muscles, pairs, sections]


def timed(work):
    began = time.perf_counter()
    return work(), time.perf_counter() - began


def main():
    folder = Path(sys.argv[1])
    report = json.loads((folder / "report.json").read_text())
    log = (folder / "report.log").read_text()
    own = {name: int(ms) / 1000 for name, ms in re.findall(r"(\w+)_ms=(\d+)", log)}
    import_extension("sqlite_scanner")
    base = duckdb.connect()
    base.execute("LOAD sqlite_scanner")
    base.execute(f"ATTACH '{folder / 'myonym.sqlite'}' AS term (TYPE sqlite, READ_ONLY)")

    def from_file():
        for query in (ANSWERS, ROUNDS, REVIEWS):
            base.execute(query)
        return sums(base)

    found, file_seconds = min((timed(from_file) for _ in range(3)), key=lambda one: one[1])
    tables = ("answers", "rounds", "reviews")
    for table in tables:
        base.execute(f"COPY {table} TO '{folder / table}.parquet' (FORMAT parquet)")
        base.execute(f"DROP TABLE {table}")
        base.execute(f"CREATE VIEW {table} AS FROM '{folder / table}.parquet'")
    again, parquet_seconds = min((timed(lambda: sums(base)) for _ in range(3)), key=lambda o: o[1])

    wrong = 0
    for name, ours, theirs in zip(("muscles", "pairs", "reviews"), from_report(report), found):
        different = set(ours) ^ set(theirs)
        wrong += len(different)
        print(f"{name}: {len(theirs)} rows, {len(different)} different")
        for row in sorted(different, key=str)[:5]:
            print(f"  {row}")
    assert again == found, "DuckDB disagrees with itself"
    print(f"| from | DuckDB {duckdb.__version__} (s) | myonym, reading (s) | ratio |")
    print("|---|---|---|---|")
    for name, seconds in (("the data file", file_seconds), ("Parquet, parsed before", parquet_seconds)):
        print(f"| {name} | {seconds:.2f} | {own['reading']:.2f} | {own['reading'] / seconds:.2f} |")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
