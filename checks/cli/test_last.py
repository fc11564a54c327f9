"""`last`: a sheet of tape measures that cannot be used is told with its place and its mend, and nothing
is overwritten or left half written."""

import json
import shlex

import pytest


@pytest.fixture
def sheet(featherline, tmp_path):
    path = tmp_path / "tape.toml"
    done = featherline("last", path, "--blank")
    assert done.returncode == 0 and f"featherline last {path} --out" in done.stdout
    return path


def test_the_blank_sheet_makes_a_last_that_becomes_a_job(featherline, sheet, tmp_path):
    out = tmp_path / "last.stl"
    done = featherline("last", sheet, "--out", out, "--json")
    assert done.returncode == 0, done.stderr
    said = json.loads(done.stdout)
    assert "approximation" in said["approximation"] and out.stat().st_size > 500_000
    assert [m["name"] for m in said["measures"] if m["entered"] is not None] == ["heel height"]
    words = shlex.split(said["next"])
    assert words[:3] == ["featherline", "new", "my-job"]
    job = tmp_path / "job"
    done = featherline("new", job, *words[3:])
    assert done.returncode == 0, done.stderr
    assert featherline("draft", job).returncode == 0
    table = featherline("last", sheet, "--out", out)
    assert "follows" in table.stdout and "Hold it, or the first piece, against the real last" in table.stdout


def test_the_blank_sheet_overwrites_nothing(featherline, sheet):
    sheet.write_text("mine")
    done = featherline("last", sheet, "--blank")
    assert done.returncode == 1 and "is there already" in done.stderr
    assert sheet.read_text() == "mine"


@pytest.mark.parametrize(
    "line, words",
    [
        ("bal_girth = 220", ["line 4", 'did you mean "ball_girth"']),
        ("ball_girth = 22,5", ["line 4", "ball_girth = 225.0"]),
        ('ball_girth = "220"', ["line 4", "no number", "without quotes"]),
        ("ball_girth = 120", ["ball girth of 120 mm", "standard last length of 260", "must lie between"]),
        ("heel_height = 150", ["heel height is 150 mm", "must lie between"]),
        ("length = 300\ntoe_extension = 0", ["length of 300.0 mm", "260.0 mm"]),
        ("back_curve = [[20, -6], [10, 0]]", ["back curve", "10 mm", "must rise"]),
        ("back_curve = 5", ["line 4", "list of pairs"]),
    ],
)
def test_a_wrong_line(featherline, tmp_path, line, words):
    path, out = tmp_path / "tape.toml", tmp_path / "last.stl"
    path.write_text(f'# invented\nfoot = "right"\nsize = "EU 39"\n{line}\n')
    done = featherline("last", path, "--out", out)
    assert done.returncode == 1 and str(path) in done.stderr
    assert all(word in done.stderr for word in words), done.stderr
    assert not out.exists()


def test_places_that_cannot_be_used(featherline, sheet, tmp_path):
    for out, words in [
        (tmp_path, "it is a folder"),
        (tmp_path / "last.obj", "let the name end in .stl"),
        (tmp_path / "none" / "last.stl", "cannot be written"),
    ]:
        done = featherline("last", sheet, "--out", out)
        assert done.returncode == 1 and words in done.stderr, done.stderr
    for read, words in [
        (tmp_path / "none.toml", "--blank"),
        (tmp_path, "no sheet of measures"),
    ]:
        done = featherline("last", read, "--out", tmp_path / "last.stl")
        assert done.returncode == 1 and words in done.stderr, done.stderr
    binary = tmp_path / "binary.toml"
    binary.write_bytes(bytes(range(256)))
    done = featherline("last", binary, "--out", tmp_path / "last.stl")
    assert done.returncode == 1 and "no text" in done.stderr
