"""With --json standard output is one JSON document and nothing else, warnings or not."""

import json

import pytest

QUAD = "v 0 0 0\nv 60 0 0\nv 60 40 0\nv 0 40 0\nf 1 2 3 4\n"

SUCCESSES = {
    "new": ["new", "other", "--last", "last.stl", "--size", "EU 39"],
    "set": ["set", "job", "stiffener.thickness", "2,2"],
    "set again": ["set", "job", "stiffener.thickness", "default"],
    "undo": ["undo", "job"],
    "redo": ["redo", "job"],
    "draft": ["draft", "job"],
    "check": ["check", "job"],
    "demo": ["demo", "demo-job"],
    "flatten": ["flatten", "wall.obj", "--out", "flat.obj"],
}


@pytest.mark.parametrize("name", SUCCESSES)
def test_a_success_is_one_document(bench, job, name):
    (bench / "wall.obj").write_text(QUAD)
    result = bench.run(*SUCCESSES[name], "--json")
    assert result.returncode == 0, result.stderr
    answer = json.loads(result.stdout)
    assert isinstance(answer, dict) and answer and "error" not in answer


def test_a_demo_that_is_there_already_is_still_one_document(bench):
    bench.done("demo", "demo-job")
    assert "checks" in json.loads(bench.done("demo", "demo-job", "--json"))


def test_warnings_stay_off_standard_output(bench, job):
    (bench / "wall.obj").write_text(QUAD)
    bench.done("set", "job", "last.foot", "left")
    for call, word in [
        (["flatten", "wall.obj", "--out", "flat.obj"], "more than three corners"),
        (["new", "other", "--last", "wall.obj", "--size", "EU 39"], "more than three corners"),
        (["check", "job"], "check the foot"),
        (["draft", "job"], "check the foot"),
    ]:
        result = bench.run(*call, "--json")
        json.loads(result.stdout)
        assert "warning: " in result.stderr and word in result.stderr
        people = bench.run(*[c if c != "other" else "third" for c in call])
        assert "warning: " not in people.stdout


@pytest.mark.parametrize("command", ["check", "draft"])
def test_a_failed_check_ends_with_1_and_still_reports(bench, job, command):
    bench.done("set", "job", "stiffener.medial.behind_joint", "40")
    result = bench.run(command, "job", "--json")
    assert result.returncode == 1
    report = json.loads(result.stdout)
    failed = [c["name"] for c in report["checks"] if c["verdict"] == "fail"]
    assert failed == ["inside wing ends behind the joint"]
    people = bench.run(command, "job")
    assert people.returncode == 1 and "FAILED" in people.stdout


@pytest.mark.parametrize("option", ["--help", "--version"])
def test_help_is_no_error(bench, option):
    result = bench.run(option)
    assert result.returncode == 0 and result.stdout and result.stderr == ""


def test_an_error_in_json_is_the_message_alone(bench):
    """A program shows it as it is: no second "error:" before it, no hint for a terminal behind."""
    result = bench.run("new", "job", "--last", "x.stl", "--size", "US 8", "--json")
    message = json.loads(result.stdout)["error"]["message"]
    assert not message.startswith("error") and "--help" not in message


def test_a_reader_that_left_is_no_failure(bench, job):
    """`featherline check job | head -1`: the pipe closes, nothing falls over."""
    import subprocess

    done = subprocess.run(
        ["sh", "-c", f"{bench.binary} check job --json | head -1; {bench.binary} --help | head -1"],
        cwd=bench.folder,
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert done.returncode == 0 and "panicked" not in done.stderr
