"""`featherline set`, killed at any moment: the job opens every time, in a state it really had."""

import random
import signal
import subprocess
import time
import tomllib

KILLS = 60

# Heel heights, set in turn.
HEIGHTS = [20.0, 31.25, 42.5]

# What a job holds besides its patterns. What a killed writer left is gone after the next save.
CONTENT = {".lock", "history.jsonl", "job.toml", "last.stl"}


def heel_height(job):
    return tomllib.loads((job / "job.toml").read_text())["last"]["heel_height"]


def test_a_killed_set_leaves_a_whole_job(bench, job):
    call = lambda height: [bench.binary, "set", "job", "last.heel_height", str(height)]
    quiet = {"cwd": bench.folder, "stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    took = []
    for height in HEIGHTS:
        begin = time.perf_counter()
        subprocess.run(call(height), check=True, **quiet)
        took.append(time.perf_counter() - begin)

    # A fixed seed for the moments; what the machine makes of them still differs.
    dice = random.Random(39)
    killed = changed = 0
    for turn in range(KILLS):
        before = heel_height(job)
        wanted = HEIGHTS[turn % len(HEIGHTS)]
        writer = subprocess.Popen(call(wanted), **quiet)
        time.sleep(dice.uniform(0, 1.2 * max(took)))
        writer.kill()
        killed += writer.wait(timeout=60) == -signal.SIGKILL

        now = heel_height(job)
        assert now in (before, wanted), turn
        changed += now != before
        # Opens without a word, and takes the next edit.
        opened = bench.run("undo", "job")
        assert (opened.returncode, opened.stderr) == (0, ""), turn
        assert heel_height(job) in HEIGHTS, turn
        again = bench.run("redo", "job")
        assert (again.returncode, again.stderr) == (0, ""), turn
        assert heel_height(job) == now, turn
    assert killed > KILLS // 10, "hardly a writer was still running when it was killed"
    assert changed, "no writer ever got anywhere"
    bench.done("set", "job", "note", "after all that")
    assert {path.name for path in job.iterdir()} == CONTENT
    bench.done("check", "job")


def started(bench, *call):
    quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    return subprocess.Popen([bench.binary, *call], cwd=bench.folder, **quiet)


def kill_at_any_moment(bench, call, seconds, dice):
    writer = started(bench, *call)
    time.sleep(dice.uniform(0.2, 1.1) * seconds)
    writer.kill()
    writer.wait(timeout=60)


def files(folder):
    return {path.name: path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_a_killed_draft_leaves_all_of_its_files_or_none(bench, job):
    begin = time.perf_counter()
    bench.done("draft", "job", "--out", "whole")
    seconds = time.perf_counter() - begin
    whole = files(bench / "whole")
    dice = random.Random(40)
    for turn in range(12):
        kill_at_any_moment(bench, ["draft", "job", "--out", f"pieces-{turn}"], seconds, dice)
        assert files(bench / f"pieces-{turn}") in ({}, whole), turn


def test_what_a_killed_draft_left_beside_goes_with_the_next(bench, job):
    left = lambda: [p.name for p in job.iterdir() if p.name not in CONTENT | {"patterns"}]
    for _ in range(40):
        # Killed while it writes: as soon as something stands beside the job's files.
        writer = started(bench, "draft", "job")
        while writer.poll() is None and not left():
            pass
        writer.kill()
        writer.wait(timeout=60)
        if left():
            break
    assert left(), "never killed while it wrote"
    bench.done("draft", "job")
    assert left() == []


def test_a_killed_new_leaves_a_whole_job_or_nothing(bench, demo_last):
    (bench / "last.stl").write_bytes(demo_last)
    call = ["new", "job", "--last", "last.stl", "--size", "EU 39"]
    begin = time.perf_counter()
    bench.done("new", "first", *call[2:])
    seconds = time.perf_counter() - begin
    dice = random.Random(42)
    for turn in range(12):
        call[1] = f"job-{turn}"
        kill_at_any_moment(bench, call, seconds, dice)
        if (bench / call[1]).exists():
            bench.done("check", call[1])
        else:
            bench.done(*call)
