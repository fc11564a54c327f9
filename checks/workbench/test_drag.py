"""Marks and handles dragged: the piece follows, and lies where the piece as cut then lies."""

import numpy as np
import pytest
from shapely.geometry import MultiPoint

# What a preview may lie from the piece as it is cut, mm (docs: previews).
UNSEEN = 0.05


def apart(preview, cut):
    """How far the top edge of one lies from that of the other on the last at most, mm."""
    points, line = np.array(preview["edge"]), np.array(cut["edge"])
    start, side = line[:-1], np.diff(line, axis=0)
    share = np.einsum("pij,ij->pi", points[:, None] - start, side) / (side**2).sum(1)
    nearest = start + np.clip(share, 0, 1)[..., None] * side
    return np.linalg.norm(points[:, None] - nearest, axis=2).min(1).max()


def drag(window, number, **what):
    """Says one step of a drag and waits for what follows it."""
    window.say(say="drag", drag=number, **what)
    told = window.until(lambda told: told["tell"] == "dragged" and told["drag"] == number)
    assert told["trouble"] is None, told
    return told


def let_go(window, number):
    """Drops what is held, and waits for the piece as it is cut."""
    assert window.ask(say="drop", drag=number)["tell"] == "done"
    window.until(lambda told: told["tell"] == "piece" and told["drag"] is None)
    window.settled()
    return window.piece


@pytest.mark.parametrize("key", ["joint_medial", "ankle_lateral", "breast"])
def test_the_piece_follows_a_mark(bench, key):
    with bench.window("demo-job") as window:
        window.settled()
        if key == "breast":
            window.set("stiffener.medial.length", "short")
            window.settled()
        mark = f"marks.{key}"
        x, y, z = window.mark(mark)["at"]
        before = window.piece
        for step in range(1, 6):
            drag(window, step, mark=mark, to=[x - 1.5 * step, y, z])
            preview = window.until(lambda told: told["tell"] == "piece" and told["drag"] == step)
        cut = let_go(window, 5)
        assert apart(preview, before) > 0.2, "it moved at all"
        assert apart(preview, cut) <= UNSEEN
        told = window.mark(mark)
        assert told["by"] == "user"
        assert window.entry(mark)["entered"] is not None


def test_a_ray_meets_the_last_where_it_is_seen(bench):
    with bench.window("demo-job") as window:
        window.settled()
        x, y, z = window.mark("marks.ankle_lateral")["at"]
        side = np.sign(y)
        # From far out on that side, level and square to the axis.
        ray = {"from": [x - 4, 300 * side, z], "along": [0, -2 * side, 0]}
        told = drag(window, 1, mark="marks.ankle_lateral", ray=ray)
        assert told["at"][0] == pytest.approx(x - 4) and told["at"][2] == pytest.approx(z)
        assert abs(told["at"][1] - y) < 3
        past = {"from": [x, 300 * side, 900], "along": [0, -1, 0]}
        assert drag(window, 1, mark="marks.ankle_lateral", ray=past)["at"] is None


def test_a_handle_stands_for_a_number(bench):
    with bench.window("demo-job") as window:
        window.settled()
        handle = next(h for h in window.piece["handles"] if h["key"] == "stiffener.back_height")
        assert np.linalg.norm(handle["grows"]) == pytest.approx(1)
        assert handle["flat_grows"][1] > 0.99, "up the centre back"
        told = drag(window, 1, entry=handle["key"], value=handle["value"] - 3.04)
        assert told["value"] == pytest.approx(52.0)
        preview = window.until(lambda told: told["tell"] == "piece")
        cut = let_go(window, 1)
        assert window.entry(handle["key"])["entered"] == 52.0
        assert apart(preview, cut) <= UNSEEN
        moved = next(h for h in cut["handles"] if h["key"] == handle["key"])
        fell = np.dot(np.subtract(handle["at"], moved["at"]), handle["grows"])
        assert fell == pytest.approx(3.0, abs=0.1)


@pytest.mark.parametrize(
    "key, values",
    [
        ("stiffener.back_height", [49, 52.5]),
        ("stiffener.lateral.behind_joint", [13, 18]),
        ("topline.back", [50]),
        ("stiffener.margin", [12]),
    ],
)
def test_an_edit_is_seen_before_it_is_worked_out(bench, key, values):
    with bench.window("demo-job") as window:
        window.settled()
        for value in values:
            # What follows a drag needs a moment to make ready; a drag that comes back waits for it.
            ready = next(h for h in window.piece["handles"] if h["key"].endswith("back_height"))
            drag(window, 1, entry=ready["key"], value=ready["value"])
            window.until(lambda told: told["tell"] == "piece" and told["drag"] == 1)
            window.say(say="leave", drag=1)
            before = window.piece
            assert window.set(key, value)["tell"] == "done"
            ahead = window.until(lambda told: told["tell"] == "piece" and told["drag"] != 1)
            assert ahead["drag"] == 0, "not the piece as cut, which comes later"
            cut = window.until(lambda told: told["tell"] == "piece" and told["drag"] is None)
            assert cut["revision"] == ahead["revision"] == before["revision"] + 1
            assert apart(ahead, cut) <= UNSEEN
            window.settled()


def test_an_edit_that_stands_the_last_anew_shows_nothing_ahead(bench):
    with bench.window("demo-job") as window:
        window.settled()
        assert window.set("last.heel_height", 28)["tell"] == "done"
        first = window.until(lambda told: told["tell"] == "piece")
        assert first["drag"] is None


def test_what_is_left_changes_nothing(bench):
    job = bench.workshop / "demo-job" / "job.toml"
    before = job.read_bytes()
    with bench.window("demo-job") as window:
        window.settled()
        cut = window.piece
        x, y, z = window.mark("marks.joint_medial")["at"]
        drag(window, 1, mark="marks.joint_medial", to=[x - 5, y, z])
        window.until(lambda told: told["tell"] == "piece")
        window.say(say="leave", drag=1)
        window.until(lambda told: told["tell"] == "piece" and told["drag"] is None)
        assert np.array_equal(window.piece["flat"], cut["flat"])
        assert window.ask(say="drop", drag=1)["tell"] == "refused"
    assert job.read_bytes() == before


def test_a_joint_moved_by_hand_does_not_turn_the_last(bench):
    with bench.window("demo-job") as window:
        window.settled()
        before = {mark["key"]: mark["at"] for mark in window.state["last"]["marks"]}
        x, y, z = before["marks.joint_medial"]
        drag(window, 1, mark="marks.joint_medial", to=[x - 12, y, z])
        let_go(window, 1)
        for key in ["toe", "seat", "joint_lateral", "centre_back_top"]:
            key = f"marks.{key}"
            assert np.allclose(window.mark(key)["at"], before[key], atol=1e-6), key


def test_a_job_of_the_command_line_is_held_when_a_joint_is_let_go(bench, featherline):
    """Its last stands as it is found, so a joint would turn it: no preview, then it is held."""
    folder = bench.workshop / "by-command"
    last = bench.workshop / "demo-job" / "last.stl"
    words = ["--size", "EU 39", "--heel-height", "25"]
    assert featherline("new", folder, "--last", last, *words).returncode == 0
    with bench.window("by-command") as window:
        window.settled()
        mark = window.mark("marks.joint_medial")
        assert not mark["live"] and window.mark("marks.ankle_medial")["live"]
        x, y, z = mark["at"]
        drag(window, 1, mark=mark["key"], to=[x - 12, y, z])
        let_go(window, 1)
        assert window.mark("marks.joint_medial")["live"]
        # The last held as it stood and the mark are one step back.
        assert window.entry("last.pose")["entered"] is not None
        assert window.ask(say="undo")["tell"] == "done"
        window.settled()
        assert window.entry("last.pose")["entered"] is None
        assert window.entry("marks.joint_medial")["entered"] is None


def test_another_unit_lets_the_last_stand_anew(bench):
    with bench.window("demo-job") as window:
        window.settled()
        assert window.entry("last.pose")["entered"] is not None
        assert window.set("last.unit", None)["tell"] == "done"
        window.settled()
        assert window.entry("last.pose")["entered"] is None
        assert window.state["trouble"] is None
        assert window.ask(say="undo")["tell"] == "done"
        window.settled()
        assert window.entry("last.pose")["entered"] is not None
        assert window.entry("last.unit")["entered"] == "mm"


def test_flat_and_last_belong_together(bench):
    with bench.window("demo-job") as window:
        window.settled()
        piece = window.piece
        hull = MultiPoint(piece["flat"]).convex_hull
        low, high = (np.array(piece["bounds"][end]) for end in ("low", "high"))
        assert (piece["flat"].min(0) >= low - 1e-3).all() and (piece["flat"].max(0) <= high + 1e-3).all()
        for handle in piece["handles"]:
            assert hull.buffer(0.1).covers(MultiPoint([handle["flat"]])), handle["key"]
            nearest = np.linalg.norm(piece["on_last"] - handle["at"], axis=1).argmin()
            assert np.linalg.norm(piece["flat"][nearest] - handle["flat"]) < 4, handle["key"]
