"""What the benchmarks share: invented surveys kept in the build folder, and time and memory of one process."""
import os
import shutil
import sqlite3
import statistics
import subprocess
import sys
import time


def survey_folder(build, stops, polygons, hard=False):
    """Makes the survey unless a whole one is there. `hard`: hardly two stops alike."""
    folder = os.path.join(build, f"{'hard' if hard else 'survey'}_{stops}_{polygons}")
    if not os.path.exists(os.path.join(folder, "whole")):
        shutil.rmtree(folder, ignore_errors=True)
        maker = os.path.join(build, "tests", "bench", "make_large_survey")
        command = [maker, "--stops", str(stops), "--polygons", str(polygons), "--out", folder]
        subprocess.run(command + (["--hard"] if hard else []), check=True)
        with open(os.path.join(folder, "whole"), "w"):
            pass
    return folder


def measure(command, **options):
    """Wall time, user and system CPU in seconds and greatest resident set in bytes of one process and its threads."""
    start = time.perf_counter()
    process = subprocess.Popen(command, **options)
    _, status, usage = os.wait4(process.pid, 0)
    wall = time.perf_counter() - start
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode != 0:
        sys.exit(f"{' '.join(command)} ended with {process.returncode}")
    return {"wall_s": wall, "user_s": usage.ru_utime, "system_s": usage.ru_stime,
        "memory_bytes": usage.ru_maxrss * 1024}


def copy_stops(folder):
    """ogr2ogr's own reprojecting copy of the stops, with its spatial index."""
    copy_file = os.path.join(folder, "copy.gpkg")
    remove(copy_file)
    return measure(["ogr2ogr", "-f", "GPKG", copy_file, os.path.join(folder, "stops.gpkg"), "-t_srs", "EPSG:32633"])


def run_survey(build, folder, threads=None, settings=None):
    """The whole job. `settings`: for a survey file of its own beside the other."""
    survey = os.path.join(folder, "survey.json")
    command = [os.path.join(build, "src", "cli", "subcrop"), "run", settings or survey, "--quiet"]
    if threads:
        command += ["--threads", str(threads)]
    remove(result_file(folder))
    return measure(command)


def result_file(folder):
    return os.path.join(folder, "results", "results.gpkg")


def remove(path):
    for name in (path, path + "-journal", path + "-wal", path + "-shm"):
        if os.path.exists(name):
            os.remove(name)


def rows(path, table):
    with sqlite3.connect(f"file:{path}?mode=ro", uri=True) as connection:
        return connection.execute(f'SELECT count(*) FROM "{table}"').fetchone()[0]


def require_rows(path, table, expected):
    found = rows(path, table)
    if found != expected:
        sys.exit(f"{path}: {table} has {found} rows, {expected} were expected")


def medians(results):
    middle = {key: statistics.median(r[key] for r in results) for key in results[0]}
    middle["cpu_s"] = statistics.median(r["user_s"] + r["system_s"] for r in results)
    return middle


def least(results):
    return {key: min(r[key] for r in results) for key in results[0]}
