"""Every measure against its definition, taken again with numpy on what the builder knows.

Sources: the truth that the builder writes beside its mesh; numpy; trimesh for the section of the
back. Definitions without another source are those the program states: common practice.
"""

import numpy as np
import pytest
import trimesh

CASES = [
    dict(sll=260, foot="right", heel=25),
    dict(sll=240, foot="left", heel=45, radius=2),
    dict(sll=300, foot="right", heel=60, girth=258, spring=15),
    dict(sll=140, foot="left", heel=5),
]


@pytest.fixture(scope="module", params=CASES, ids=lambda c: f"{c['sll']}-{c['foot']}-h{c['heel']}")
def last(request, build_last, measured):
    path, truth = build_last(**request.param)
    assert path, truth
    return path, truth, request.param, measured(path, "--heel-height", request.param["heel"])


def in_frame(found, points):
    turn = np.array(found["last_from_file"])
    return np.atleast_2d(points) @ turn[:3, :3].T + turn[:3, 3]


def test_what_the_builder_was_asked_for(last, as_built):
    path, _, case, found = last
    seat = 57.15 + (case["sll"] - 254) * 3 / 16
    tread = 78.32 + (case["sll"] - 254) / 4
    girth = case.get("girth", 5 * (case["sll"] * 3 / 20 + 6))
    fixed = as_built(path, f"EU {case['sll'] * 3 / 20:g}", case["heel"])
    for scan in (found, fixed):
        assert scan["length"] == pytest.approx(case["sll"], abs=0.5)
        assert scan["heel_height"] == pytest.approx(case["heel"], abs=1e-6)
        assert scan["toe_spring"] == pytest.approx(case.get("spring", 12.0), abs=0.5)
    assert fixed["seat_width"] == pytest.approx(seat, abs=0.2)
    assert fixed["tread_width"] == pytest.approx(tread, abs=0.2)
    assert fixed["ball_girth"] == pytest.approx(girth, abs=0.5)


def test_widths_of_the_feather_line(last):
    _, truth, _, found = last
    line = in_frame(found, truth["feather_line"])
    reach = line[:, 0].max()
    seat, tread = line[line[:, 0] < 0.3 * reach], line[line[:, 0] > 0.5 * reach]
    assert found["seat_width"] == pytest.approx(np.ptp(seat[:, 1]), abs=0.2)
    assert found["tread_width"] == pytest.approx(np.ptp(tread[:, 1]), abs=0.2)


def test_length_round_heel(last):
    """Along the builder's own feather line, between the feet of the printed ends."""
    _, truth, _, found = last
    line = in_frame(found, truth["feather_line"])
    steps = np.linalg.norm(np.diff(line, axis=0, append=line[:1]), axis=1)
    arc = np.r_[0, np.cumsum(steps)]
    ends = found["length_round_heel_ends"]
    at = {side: arc[np.linalg.norm(line - ends[side], axis=1).argmin()] for side in ends}
    # The line runs from the seat round the inside, so the outside end comes last.
    assert found["length_round_heel"] == pytest.approx(at["medial"] + arc[-1] - at["lateral"], abs=2.0)
    for side in ends:
        joint = np.array(found["marks"][f"joint_{side}"])
        there = arc[np.linalg.norm(line - joint, axis=1).argmin()]
        assert abs(there - at[side]) == pytest.approx(15.0, abs=1.5)


def test_joints_as_shares(last):
    path, _, _, found = last
    mesh = trimesh.load(path, process=False)
    mesh.apply_transform(np.array(found["last_from_file"]))
    for side in ("medial", "lateral"):
        x = found["marks"][f"joint_{side}"][0]
        assert found["joint_shares"][side] == pytest.approx(
            (x - mesh.bounds[0][0]) / mesh.extents[0], abs=1e-6
        )


def test_back_curve(last):
    """Set-backs every 10 mm, read off trimesh's section in the plane of the centre back."""
    path, truth, _, found = last
    mesh = trimesh.load(path, process=False)
    mesh.apply_transform(np.array(found["last_from_file"]))
    segments = trimesh.intersections.mesh_plane(mesh, [0, 1, 0], [0, 0, 0])
    heights = [point["height"] for point in found["back_curve"]]
    assert heights == [10.0 * k for k in range(len(heights))]
    assert heights[-1] > float(truth["top_back"][2]) - 12
    for point in found["back_curve"][1:]:
        z = point["height"]
        crossed = segments[(segments[:, 0, 2] - z) * (segments[:, 1, 2] - z) < 0]
        share = (z - crossed[:, 0, 2]) / (crossed[:, 1, 2] - crossed[:, 0, 2])
        x = crossed[:, 0, 0] + share * (crossed[:, 1, 0] - crossed[:, 0, 0])
        assert point["set_back"] == pytest.approx(x.min(), abs=0.05), z


def test_marks_lie_on_the_surface(last):
    path, truth, _, found = last
    mesh = trimesh.load(path, process=False)
    mesh.apply_transform(np.array(found["last_from_file"]))
    names = [n for n in found["marks"] if not n.startswith("ankle")]
    _, off, _ = trimesh.proximity.closest_point(mesh, [found["marks"][n] for n in names])
    assert dict(zip(names, off)) == {n: pytest.approx(0, abs=0.05) for n in names}


def test_ends_of_the_top(last):
    """The flat top of a built last ends where its edge crosses the plane of the centre line."""
    path, truth, _, found = last
    mesh = trimesh.load(path, process=False)
    back, front = truth["top_back"], truth["top_front"]
    up = np.cross(front - back, [0, 1, 0])
    flat = mesh.vertices[np.abs((mesh.vertices - back) @ up) < 0.01 * np.linalg.norm(up)]
    flat = in_frame(found, flat)
    near = flat[np.abs(flat[:, 1]) < 3]
    assert found["marks"]["top_back"][0] == pytest.approx(near[:, 0].min(), abs=1.0)
    assert found["marks"]["top_front"][0] == pytest.approx(near[:, 0].max(), abs=1.5)


def test_points_of_the_ridge(last):
    """The uppermost line, taken again: the highest of trimesh's sections across."""
    path, _, _, found = last
    mesh = trimesh.load(path, process=False)
    mesh.apply_transform(np.array(found["last_from_file"]))
    marks = {name: np.array(p) for name, p in found["marks"].items()}
    for name in ("vamp", "waist", "instep"):
        section = mesh.section([1, 0, 0], [marks[name][0], 0, 0]).vertices
        top = section[section[:, 2].argmax()]
        assert marks[name][2] == pytest.approx(top[2], abs=0.5), name
        assert marks[name][1] == pytest.approx(top[1], abs=6.0), name
    ball = (marks["joint_medial"][0] + marks["joint_lateral"][0]) / 2

    def way(a, b):
        """Length over the last from a to b, in the upright plane through both."""
        across = np.cross(marks[b] - marks[a], [0, 0, 1])
        section = mesh.section(across, marks[a]).vertices
        x = np.linspace(marks[a][0], marks[b][0], 60)
        order = section[:, 2] > min(marks[a][2], marks[b][2]) - 5
        section = section[order][section[order][:, 0].argsort()]
        run = np.column_stack([np.interp(x, section[:, 0], section[:, k]) for k in range(3)])
        return np.linalg.norm(np.diff(run, axis=0), axis=1).sum()

    assert way("vamp", "waist") == pytest.approx(0.15 * ball, abs=0.6)
    assert way("waist", "instep") == pytest.approx(0.15 * ball, abs=0.6)


def test_sizes(last, measured):
    """EU: length x 3/20; UK adult: length in inches x 3 - 25 (both published)."""
    path, _, case, found = last
    sll = found["standard_last_length"]
    assert found["size"]["eu"] == f"EU {round(sll * 0.3) / 2:g}"
    uk = round(2 * (sll / 25.4 * 3 - 25)) / 2
    if uk >= 1:
        assert found["size"]["uk"] == f"UK {uk:g}"
    else:
        assert found["size"]["uk"] == f"UK child {round(2 * (sll / 25.4 * 3 - 12)) / 2:g}"
    given = measured(path, "--heel-height", case["heel"], "--size", "EU 30")
    assert given["standard_last_length"] == pytest.approx(200)
    assert given["size"]["given"] == "EU 30" and given["size"]["words"] == "EU 30"
