"""How many people's ankles the edge would reach, from the files of each size by numpy and scipy.

Surveyed heights: computed from the public data of ANSUR II (2012; US Army report
NATICK/TR-15/007) by foot length; printed to 0.1 mm.
"""

import json
import shutil

import numpy as np
import pytest
import scipy.stats

from piece_drafted import NamedSurface

# Foot length, mean and fifth percentile of the outside ankle point, mm.
SURVEY = {
    "Women": [(220.0, 59.4, 51.4), (240.0, 61.9, 54.0), (250.0, 63.2, 55.2), (270.0, 65.8, 57.8)],
    "Men": [(240.0, 68.4, 59.6), (260.0, 71.3, 62.5), (280.0, 74.2, 65.4), (300.0, 77.1, 68.3)],
}
FIFTH = scipy.stats.norm.ppf(0.05)


def share(sex, foot, height):
    """Of a hundred with feet so long, those whose ankle point lies below `height`."""
    feet, means, fifths = np.array(SURVEY[sex]).T
    # Straight lines through the rows, since they are printed from such lines.
    mean, fifth = (np.polyval(np.polyfit(feet, rows, 1), foot) for rows in (means, fifths))
    return 100.0 * scipy.stats.norm.cdf((height - mean) / ((fifth - mean) / FIFTH))


def edge_above_the_seat(last, wall, length):
    """The highest edge within 18 mm of the outside ankle of a right foot (0.22 of the last's
    length), and the feather line there, over the lowest place between seat and breast (a quarter of the
    length): square to the feather line of the heel, seen from the side."""
    feather, edge = wall.line("feather_line"), wall.line("free_edge")
    breast = 0.25 * length

    def at(side, x):
        line = feather[feather[:, 1] * side > 0]
        line = line[np.argsort(line[:, 0])]
        return np.array([np.interp(x, line[:, 0], line[:, k]) for k in range(3)])

    seat = wall.line("centre_back")[0]
    run = (at(1, breast) + at(-1, breast)) / 2 - seat
    up = np.array([-run[2], 0.0, run[0]])
    up /= np.linalg.norm(up)
    heel = last.vertices[(last.vertices[:, 0] >= 0) & (last.vertices[:, 0] <= breast)]
    floor = (heel @ up).min()
    ankle = 0.22 * length
    near = edge[(edge[:, 1] < 0) & (np.abs(edge[:, 0] - ankle) <= 18.0)]
    return (near @ up).max() - floor, at(-1, ankle) @ up - floor


@pytest.mark.parametrize("eu", range(36, 47))
def test_shares_are_those_of_the_files(drafted, eu):
    told = drafted.report(f"EU {eu}")["ankles"]
    length = eu * 20 / 3
    assert told["foot_length"] == pytest.approx(length - 40 / 3, abs=1e-6)
    wall = NamedSurface(drafted.file(f"EU {eu}", "right", "-wall.obj"))
    height, feather = edge_above_the_seat(drafted.last(f"EU {eu}"), wall, length)
    [outside] = [side for side in told["sides"] if side["side"] == "lateral"]
    assert outside["edge_height"] == pytest.approx(height, abs=0.2)
    assert outside["feather_height"] == pytest.approx(feather, abs=0.2)
    asked = {"Women", "Men"} - ({"Men"} if told["foot_length"] < 242 else set())
    asked -= {"Women"} if told["foot_length"] > 276 else set()
    shares = {found["sex"].capitalize(): found["percent"] for found in outside["shares"]}
    assert set(shares) == asked
    for sex, percent in shares.items():
        counted = share(sex, told["foot_length"], outside["edge_height"] + told["drop"])
        assert percent == pytest.approx(counted, rel=0.1, abs=0.1), sex
    assert "No survey here measured the inside ankle of women." in told["not_known"]


def test_drop_and_feather_height_can_be_changed(demo_job, featherline, tmp_path):
    job = tmp_path / "job"
    shutil.copytree(demo_job, job)

    def told():
        assert featherline("draft", job).returncode == 0
        report = json.loads((job / "patterns" / "report.json").read_text())
        [outside] = [side for side in report["ankles"]["sides"] if side["side"] == "lateral"]
        return report, outside

    _, before = told()
    assert featherline("set", job, "wearer.ankle_drop", "20").returncode == 0
    assert featherline("set", job, "wearer.feather_height", "3").returncode == 0
    report, after = told()
    assert after["edge_height"] - before["edge_height"] == pytest.approx(3 - before["feather_height"])
    foot = report["ankles"]["foot_length"]
    for found in after["shares"]:
        counted = share(found["sex"].capitalize(), foot, after["edge_height"] + 20)
        assert found["percent"] == pytest.approx(counted, rel=0.1, abs=0.1)
    # Many women: the check is left open, and says what it rests on.
    [check] = [c for c in report["checks"] if c["name"] == "women whose outside ankle the edge would reach"]
    assert check["verdict"] == "unsure" and check["value"] > 20 and "20.0 mm below" in check["reason"]


def test_of_children_nothing_is_said(demo_job, featherline, tmp_path):
    job = tmp_path / "job"
    assert featherline("new", job, "--last", demo_job / "last.stl", "--size", "EU 34").returncode == 0
    for side in ("medial", "lateral"):
        assert featherline("set", job, f"wearer.ankle_{side}", "42").returncode == 0
    featherline("draft", job)
    told = json.loads((job / "patterns" / "report.json").read_text())["ankles"]
    assert all(side["shares"] == [] for side in told["sides"])
    assert told["not_known"] == [
        "No survey here measured children's ankles: nothing is said of how many the edge would reach."
    ]
