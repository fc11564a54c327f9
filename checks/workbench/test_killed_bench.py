"""The program ended in the middle of saving: the job opens, with at most the last edit lost."""

import random

from serving import Bench

KILLS = 20
EDITS = 10


def test_two_hundred_saves_and_kills(tmp_path, featherline_json):
    chance = random.Random(4)
    workshop = tmp_path / "workshop"
    said, done = None, None
    for _ in range(KILLS):
        bench = Bench(workshop)
        try:
            window = bench.window("demo-job")
            until = chance.randrange(EDITS)
            for i in range(EDITS):
                # From the last value on, so that every edit changes something.
                said = round(40 + (((said or 40) - 40) * 10 + 1) % 200 / 10, 1)
                if i == until and chance.random() < 0.8:
                    # Said, and the program ended before, while or after it is saved.
                    window.last_id += 1
                    window.say(
                        say="edit",
                        id=window.last_id,
                        commands=[{"set": "stiffener.back_height", "to": said}],
                    )
                    break
                assert window.set("stiffener.back_height", said)["tell"] == "done"
                done = said
        finally:
            bench.kill()
        job = workshop / "demo-job"
        featherline_json("undo", job)
        featherline_json("redo", job)
        text = (job / "job.toml").read_text()
        line = next(line for line in text.splitlines() if line.startswith("back_height ="))
        kept = float(line.split("=")[1].split("#")[0])
        assert kept in (done, said), "at most the edit under way is lost"
        said = done = kept
        left = [p.name for p in job.iterdir() if p.name not in ("last.stl", "patterns")]
        assert {"job.toml", "history.jsonl"} <= set(left)
