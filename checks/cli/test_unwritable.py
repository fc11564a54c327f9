"""Places that cannot be written, and a disk that is full: named, and nothing half-written.

None of these depends on permissions, so they hold for root as well.
"""

import os

import pytest

FLAT = "v 0 0 0\nv 60 0 0\nv 60 40 9\nv 0 40 0\nf 1 2 3\nf 1 3 4\n"

# Below a regular file nothing can be made, and nothing below /proc.
BLOCKED = ["last.stl/there", "/proc/there"]


@pytest.mark.parametrize("place", BLOCKED)
def test_no_job_there(bench, job, place):
    call = ["new", place, "--last", "last.stl", "--size", "EU 39"]
    bench.refused(*call, says=[place, "cannot be written"])
    bench.refused("demo", place, says=[place, "cannot be written"])


@pytest.mark.parametrize("place", BLOCKED)
def test_no_patterns_there(bench, job, place):
    bench.refused("draft", "job", "--out", place, says=[place, "cannot be written", "--out"])


@pytest.mark.parametrize("place", ["last.stl", "job/job.toml"])
def test_a_file_is_no_folder_for_patterns(bench, job, place):
    bench.refused("draft", "job", "--out", place, says=[place, "--out"])


@pytest.mark.parametrize("place", [*BLOCKED, "job", "no-such-folder/flat.obj"])
def test_no_flat_mesh_there(bench, job, place):
    (bench / "wall.obj").write_text(FLAT)
    bench.refused("flatten", "wall.obj", "--out", place, says=[place, "cannot be written"])


def test_flattening_does_not_replace_what_it_reads(bench):
    """A scan is not to be lost by a slip of the hand."""
    (bench / "wall.obj").write_text(FLAT)
    bench.refused("flatten", "wall.obj", "--out", "wall.obj", says=["wall.obj"])
    bench.refused("flatten", "wall.obj", "--out", "./wall.obj", says=["wall.obj"])


def test_flattening_does_not_write_through_links_or_to_devices(bench):
    """A link to the scan is the scan; any other link, device or pipe is not a file to replace."""
    (bench / "wall.obj").write_text(FLAT)
    (bench / "notes.txt").write_text("Dear aunt,")
    (bench / "link.obj").symlink_to("wall.obj")
    os.link(bench / "wall.obj", bench / "same.obj")
    (bench / "elsewhere.obj").symlink_to("notes.txt")
    os.mkfifo(bench.temporary / "pipe.obj")
    for place, says in [
        ("link.obj", "the file being read"),
        ("same.obj", "the file being read"),
        ("elsewhere.obj", "a link"),
        ("/dev/null", "a device"),
    ]:
        bench.refused("flatten", "wall.obj", "--out", place, says=[place, says, "choose another"])
    result = bench.run("flatten", "wall.obj", "--out", ".temporary/pipe.obj")
    assert result.returncode == 1 and "a device or a pipe" in result.stderr
    assert (bench.temporary / "pipe.obj").is_fifo() and (bench / "link.obj").is_symlink()


def test_a_folder_that_is_in_use_is_left_alone(bench, job):
    call = ["new", "job", "--last", "last.stl", "--size", "EU 39"]
    bench.refused(*call, says=["job", "not empty", "choose another folder"])
    (bench / "letters").mkdir()
    (bench / "letters" / "aunt.txt").write_text("Dear aunt,")
    bench.refused("demo", "letters", says=["letters", "not empty", "choose another folder"])


@pytest.mark.parametrize("command", ["undo", "redo", "set"])
def test_a_job_that_cannot_be_saved_stays_as_it_is(bench, job, command):
    bench.done("set", "job", "stiffener.thickness", "2.2")
    if command == "redo":
        bench.done("undo", "job")
    # A folder in the place of the lock: no one can take it, not even root.
    (job / ".lock").unlink()
    (job / ".lock").mkdir()
    value = ["stiffener.thickness", "2.4"] if command == "set" else []
    bench.refused(command, "job", *value, says=["job/job.toml", "cannot be saved"])


# How much fits on the disk, bytes: nothing, less than one file, some files but not the largest.
@pytest.mark.parametrize("room", [0, 1000, 100_000])
def test_a_full_disk_leaves_nothing_behind(bench, job, room):
    bench.done("draft", "job")
    calls = [
        (["new", "other", "--last", "last.stl", "--size", "EU 39"], ["other"]),
        (["draft", "job"], ["job/patterns"]),
        (["draft", "job", "--out", "pieces"], ["pieces"]),
    ]
    if room == 0:
        calls += [
            (["set", "job", "stiffener.thickness", "2.2"], ["job/job.toml"]),
        ]
    for call, says in calls:
        bench.refused(*call, says=[*says, "room"], largest_file=room)
    for name in ("other", "pieces"):
        assert not (bench / name).exists()
    bench.done("set", "job", "stiffener.thickness", "2.2")


@pytest.mark.parametrize("room", [0, 100_000, 2_000_000])
def test_a_full_disk_stops_the_demo(bench, room):
    """The message speaks of the folder that was asked for, not of the program's own files."""
    if room == 2_000_000:  # the largest file of the demo is smaller
        bench.done("demo", "demo-job")
        return
    bench.refused("demo", "demo-job", says=["demo-job", "room"], largest_file=room)
    assert not (bench / "demo-job").exists()


def test_patterns_are_replaced_together_or_not_at_all(bench, job):
    """One file cannot be replaced: no other is either, else sheet and pattern disagree."""
    bench.done("draft", "job")
    (job / "patterns" / "stiffener.pdf").unlink()
    (job / "patterns" / "stiffener.pdf").mkdir()
    (job / "patterns" / "stiffener.pdf" / "mine.txt").write_text("kept")
    bench.done("set", "job", "stiffener.back_height", "50")
    bench.refused("draft", "job", says=["job/patterns", "cannot be written"])


def test_what_lies_beside_the_patterns_stays(bench, job):
    (bench / "desk").mkdir()
    (bench / "desk" / "aunt.txt").write_text("Dear aunt,")
    bench.done("draft", "job", "--out", "desk")
    assert (bench / "desk" / "aunt.txt").read_text() == "Dear aunt,"
    assert (bench / "desk" / "stiffener.pdf").exists()


def test_a_full_disk_leaves_the_flat_mesh_of_yesterday(bench):
    (bench / "wall.obj").write_text(FLAT)
    (bench / "flat.obj").write_text("kept from yesterday\n")
    call = ["flatten", "wall.obj", "--out", "flat.obj"]
    bench.refused(*call, says=["flat.obj", "cannot be written"], largest_file=0)


@pytest.mark.parametrize("place", ["last.stl/flat.obj", "no-such-folder/flat.obj", "folder"])
def test_a_flat_mesh_that_cannot_be_written_says_what_to_do(bench, place):
    """As the other commands do: choose another place, or check the disk."""
    (bench / "wall.obj").write_text(FLAT)
    (bench / "last.stl").write_text("a file, no folder")
    (bench / "folder").mkdir()
    bench.refused("flatten", "wall.obj", "--out", place, says=[place, "choose another"])
