"""What the user says stays; what cannot be measured is refused in plain words."""

import json

import numpy as np
import pytest

GIRTHS = ("ball", "waist", "instep", "short_heel", "long_heel")


@pytest.fixture(scope="module")
def path(build_last):
    path, truth = build_last(sll=260, foot="right", heel=25)
    assert path, truth
    return path


@pytest.fixture
def job(path, featherline, tmp_path):
    job = tmp_path / "job"
    done = featherline("new", job, "--last", path, "--size", "EU 39", "--heel-height", 25)
    assert done.returncode == 0, done.stderr
    return job


def test_keys_and_kinds(path, measured):
    found = measured(path)
    numbers = (
        "length width height heel_height toe_spring seat_width tread_width length_round_heel "
        "standard_last_length"
    ).split() + [f"{name}_girth" for name in GIRTHS]
    for name in numbers:
        assert isinstance(found[name], float) and np.isfinite(found[name]), name
    assert found["unit"] == "mm" and found["foot"] == "right"
    assert found["watertight"] is True and found["triangles"] > 1000
    assert np.array(found["last_from_file"]).shape == (4, 4)
    assert set(found["planes"]) == set(GIRTHS)
    assert {"waist", "instep", "vamp", "toe", "top_front", "top_back", "seat", "breast",
            "joint_medial", "joint_lateral", "centre_back_top"} <= set(found["marks"])
    assert np.array(found["feather_line"]["points"]).shape[1] == 3
    assert found["feather_line"]["edge"] == "sharp"
    for name in [*found["guessed"], *found["marks"], *numbers]:
        assert 0 <= found["confidence"][name] <= 1, name
    assert {"unit", "foot", "heel_height", "standard_last_length"} <= set(found["guessed"])
    assert found["repairs"] == []
    for warning in found["warnings"]:
        assert set(warning) == {"place", "message", "hint"}


def test_options_win_over_what_is_found(path, measured):
    found = measured(path, "--foot", "left", "--unit", "mm", "--heel-height", 40, "--size", "EU 40")
    assert found["foot"] == "left" and found["heel_height"] == pytest.approx(40)
    assert found["standard_last_length"] == pytest.approx(40 * 20 / 3)
    assert not {"unit", "foot", "heel_height", "standard_last_length"} & set(found["guessed"])
    assert any("looks like a right last" in w["message"] for w in found["warnings"])
    # The inside of a left foot lies at -y: the joints change their names, not their places.
    plain = measured(path, "--heel-height", 40)
    assert found["marks"]["joint_medial"] == pytest.approx(plain["marks"]["joint_lateral"])


def test_marks_of_a_job_stay(job, featherline, measured, featherline_json):
    first = measured(job)
    file_from_last = np.linalg.inv(np.array(first["last_from_file"]))
    for name in ("waist", "instep", "vamp", "toe", "top_front", "top_back"):
        at = np.array(first["marks"][name])
        moved = file_from_last @ [*(at + [-4.0, 1.0, 0.5]), 1]
        done = featherline("set", job, f"marks.{name}", *map(str, moved[:3]))
        assert done.returncode == 0, done.stderr
        found = featherline_json("measure", job)
        assert found["given_marks"] == [name]
        assert name not in found["guessed"] and found["confidence"][name] == 1
        assert found["marks"][name] == pytest.approx(list(at + [-4.0, 1.0, 0.5]), abs=1e-6)
        assert found["marks"]["seat"] == pytest.approx(first["marks"]["seat"])
        if name in ("waist", "instep"):
            assert found["planes"][name]["origin"] == pytest.approx(found["marks"][name])
            assert found[f"{name}_girth"] != pytest.approx(first[f"{name}_girth"], abs=1e-3)
        done = featherline("undo", job)
        assert done.returncode == 0, done.stderr
        again = featherline_json("measure", job)
        assert again == first, f"undo of {name}"


def test_a_job_is_not_contradicted(job, featherline, measured):
    for words, said in [
        (("--size", "EU 40"), "the job says EU 39, --size says EU 40"),
        (("--heel-height", "30"), "the job says 25.0 mm, --heel-height says 30.0 mm"),
    ]:
        done = featherline("measure", job, *words, "--json")
        assert done.returncode == 1
        message = json.loads(done.stdout)["error"]["message"]
        assert said in message and "featherline set" in message and "job.toml" in message
    assert measured(job, "--size", "EU 39") == measured(job)
    assert "foot" not in measured(job, "--foot", "right")["guessed"]


@pytest.mark.parametrize(
    "name, content, says",
    [
        ("none.stl", None, "no such file"),
        ("empty.obj", "# nothing\n", "no triangles"),
        ("words.stl", "this is no mesh at all\n" * 9, "words.stl"),
        ("flat.obj", "v 0 0 0\nv 250 0 0\nv 0 90 0\nf 1 2 3\n", "flat.obj"),
    ],
)
def test_what_is_no_last_is_refused(featherline, tmp_path, name, content, says):
    path = tmp_path / name
    if content is not None:
        path.write_text(content)
    done = featherline("measure", path, "--json")
    assert done.returncode == 1, done.stdout
    message = json.loads(done.stdout)["error"]["message"]
    assert says in message and name in message
    assert "panicked" not in done.stderr
    assert featherline("measure", path).stdout == ""


def test_a_folder_that_is_no_job(featherline, tmp_path):
    done = featherline("measure", tmp_path, "--json")
    assert done.returncode == 1
    assert "job.toml" in json.loads(done.stdout)["error"]["message"]


@pytest.mark.parametrize("words", [("--unit", "ell"), ("--foot", "both"), ("--size", "39"), ("--heel-height", "900")])
def test_a_wrong_option_is_named(path, featherline, words):
    done = featherline("measure", path, *words, "--json")
    assert done.returncode in (1, 2)
    message = json.loads(done.stdout)["error"]["message"]
    assert words[1] in message or words[0] in message


def test_the_table_for_people(path, featherline, measured):
    done = featherline("measure", path, "--heel-height", 25)
    found = measured(path, "--heel-height", 25)
    assert done.returncode == 0 and done.stderr == ""
    for name in ("ball_girth", "waist_girth", "instep_girth", "length", "toe_spring"):
        assert f"{found[name]:.1f} mm" in done.stdout
    assert "how it was taken" in done.stdout and "of 100" in done.stdout
    assert max(map(len, done.stdout.splitlines())) < 240
