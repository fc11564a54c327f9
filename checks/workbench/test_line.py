"""What a window says and is told: edits, values as typed, undo, changes from outside, papers."""

import json

import numpy as np
import pytest
import trimesh

from serving import Bench


def test_the_demo_is_there_at_first_and_worked_out(bench):
    with bench.window("demo-job") as window:
        state = window.settled()
        assert state["last"]["foot"] == "right"
        assert state["trouble"] is None
        assert all(check["verdict"] != "fail" for check in state["report"]["checks"])
        piece = window.piece
        # The flat wall is the wall on the last, laid flat: the same triangles, hardly strained.
        on_last = trimesh.Trimesh(piece["on_last"], piece["triangles"], process=False)
        flat = np.column_stack([piece["flat"], np.zeros(len(piece["flat"]))])
        flat = trimesh.Trimesh(flat, piece["triangles"], process=False)
        assert flat.area == pytest.approx(on_last.area, rel=0.08)
        assert np.abs(piece["strain"]).max() < 40
        assert {handle["key"] for handle in piece["handles"]} >= {
            "stiffener.back_height",
            "stiffener.medial.end_height",
            "stiffener.lateral.behind_joint",
        }


def test_papers_are_what_the_command_line_writes(bench, featherline, tmp_path):
    with bench.window("demo-job") as window:
        window.settled()
        assert window.set("stiffener.back_height", 50)["tell"] == "done"
        assert window.ask(say="typed", key="stiffener.margin", text="1/2 in", keep=True)[
            "tell"
        ] == "done"
    listed = json.loads(bench.get("/api/jobs/demo-job/papers"))
    out = tmp_path / "by-command"
    done = featherline("draft", bench.workshop / "demo-job", "--out", out)
    assert done.returncode == 0, done.stderr
    written = {str(p.relative_to(out)): p.read_bytes() for p in out.rglob("*") if p.is_file()}
    assert {paper["file"] for paper in listed["files"]} == set(written)
    for paper in listed["files"]:
        served = bench.get(f"/api/jobs/demo-job/papers/{paper['file']}")
        assert served == written[paper["file"]], paper["file"]
        assert len(served) == paper["bytes"]


def test_values_as_typed(bench):
    with bench.window("demo-job") as window:
        window.settled()

        def typed(text, keep=False):
            return window.ask(say="typed", key="stiffener.thickness", text=text, keep=keep)

        for text, value in [("2", 2), ("2,5", 2.5), ("0,25 cm", 2.5), ("1/8 in", 3.175)]:
            told = typed(text)
            assert (told["tell"], told["value"]) == ("understood", pytest.approx(value)), text
        for text in ["1,250", "thick", "900", "-1", "2 ft", ""]:
            told = typed(text, keep=True)
            assert told["tell"] == "refused", text
            assert told["trouble"]["message"]
            # In the words of the bench: with the entry to go to, and no file or line.
            assert told["trouble"]["entries"] == ["stiffener.thickness"]
            assert "job.toml" not in told["trouble"]["message"]
        assert window.entry("stiffener.thickness")["entered"] is None
        assert typed("2,2 mm", keep=True)["tell"] == "done"
        window.until(lambda told: told["tell"] == "state")
        assert window.entry("stiffener.thickness")["entered"] == 2.2


def test_fifty_edits_are_taken_back_even_after_a_restart(bench):
    job = bench.workshop / "demo-job" / "job.toml"
    first = job.read_bytes()
    with bench.window("demo-job") as window:
        window.settled()
        for i in range(25):
            assert window.set("stiffener.back_height", 45 + i / 10)["tell"] == "done"
            assert window.set("stiffener.medial.length", ["long", "short"][i % 2])[
                "tell"
            ] == "done"
        # Two keys in one edit are one step back.
        both = [{"set": "name", "to": "other"}, {"set": "stiffener.settling", "to": 2}]
        assert window.ask(say="edit", commands=both)["tell"] == "done"
        for _ in range(10):
            assert window.ask(say="undo")["tell"] == "done"
        for _ in range(4):
            assert window.ask(say="redo")["tell"] == "done"
    bench.kill()
    again = Bench(bench.workshop)
    try:
        with again.window("demo-job") as window:
            window.settled()
            steps = 0
            while window.ask(say="undo")["tell"] == "done":
                steps += 1
            # 25 lengths of which the first was there already, 25 heights, one of two keys.
            assert steps == 25 + 24 + 1 - 10 + 4
            assert job.read_bytes() == first
    finally:
        again.kill()


def test_two_windows_see_each_other(bench):
    with bench.window("demo-job") as one, bench.window("demo-job") as other:
        one.settled()
        other.settled()
        one.set("stiffener.back_height", 49)
        other.until(lambda told: told["tell"] == "state" and told["revision"] > 1)
        assert other.entry("stiffener.back_height")["entered"] == 49
        other.set("stiffener.margin", 12)
        one.until(lambda told: told["tell"] == "state" and told["revision"] > 2)
        assert one.entry("stiffener.back_height")["entered"] == 49
        assert one.entry("stiffener.margin")["entered"] == 12


def test_a_change_from_outside_is_told_and_kept(bench, featherline):
    folder = bench.workshop / "demo-job"
    with bench.window("demo-job") as window:
        window.settled()
        assert featherline("set", folder, "stiffener.margin", "14").returncode == 0
        window.until(lambda told: told["tell"] == "elsewhere")
        window.until(lambda told: told["tell"] == "state")
        assert window.entry("stiffener.margin")["entered"] == 14
        # At the same moment: neither change is lost.
        assert featherline("set", folder, "stiffener.settling", "2").returncode == 0
        window.set("stiffener.back_height", 50)
        text = (folder / "job.toml").read_text()
        assert "margin = 14" in text and "settling = 2" in text and "back_height = 50" in text


def test_lengths_as_typed(bench):
    with bench.window("demo-job") as window:
        told = window.ask(say="lengths", texts=["-2,5", "1.25 cm", '3"'])
        assert (told["tell"], told["value"]) == ("understood", [-2.5, 12.5, 76.2])
        told = window.ask(say="lengths", texts=["12", "1,250"])
        assert told["tell"] == "refused" and "1.25 or 1250" in told["trouble"]["message"]


def test_a_job_broken_from_outside_is_told_at_once(bench):
    """Nobody touches the page: it says what is wrong, and goes on when it is put right."""
    job = bench.workshop / "demo-job" / "job.toml"
    first = job.read_bytes()
    with bench.window("demo-job") as window:
        window.settled()
        for broken in (first + b"margin = = 3\n", None):
            if broken is None:
                job.unlink()
            else:
                job.write_bytes(broken)
            told = window.until(lambda told: told["tell"] == "broken")
            assert "job.toml" in told["trouble"]["message"]
            assert "put it right" in told["trouble"]["hint"]
            if broken:
                with bench.window("demo-job") as other:
                    other.until(lambda told: told["tell"] == "broken")
            assert window.set("stiffener.margin", 12)["tell"] == "refused"
            job.write_bytes(first)
            window.until(lambda told: told["tell"] == "state")
        assert window.set("stiffener.margin", 12)["tell"] == "done"


def test_a_scan_that_goes_and_comes_is_told_at_once(bench):
    scan = bench.workshop / "demo-job" / "last.stl"
    with bench.window("demo-job") as window:
        at_first = window.settled()
        away = scan.rename(bench.workshop / "away.stl")
        window.until(lambda told: told["tell"] == "elsewhere")
        window.settled()
        trouble = window.state["trouble"]
        assert trouble["step"] == "last" and "last.stl" in trouble["trouble"]["message"]
        away.rename(scan)
        window.until(lambda told: told["tell"] == "elsewhere")
        window.settled()
        assert window.state["trouble"] is None
        assert window.state["report"] == at_first["report"]


def test_a_conflict_names_each_entry_of_the_topline(bench):
    with bench.window("demo-job") as window:
        window.settled()
        rows = [{"along": 40, "medial": 20, "lateral": 20}]
        window.ask(say="edit", commands=[{"set": "topline.heights", "to": rows}])
        window.settled()
        assert window.state["trouble"]["trouble"]["entries"][-1] == "topline.heights"
        window.set("topline.back", 60)
        window.settled()
        entries = window.state["trouble"]["trouble"]["entries"]
        assert {"topline.back", "topline.heights"} < set(entries)


def test_what_cannot_be_drawn_is_told_with_its_station(bench):
    with bench.window("demo-job") as window:
        window.settled()
        before = window.piece["revision"]
        window.set("stiffener.medial.ceiling", 10)
        window.settled()
        trouble = window.state["trouble"]
        assert trouble["step"] == "stiffener"
        assert "conflict by" in trouble["trouble"]["message"]
        mended = ["stiffener.medial.end_height", "stiffener.medial.ceiling"]
        assert trouble["trouble"]["entries"] == mended
        assert window.piece["revision"] == before, "the piece before is still shown"
        window.ask(say="undo")
        window.settled()
        assert window.state["trouble"] is None
