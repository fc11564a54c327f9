"""A workbench on a port of its own, and the line that a window has to it."""

import json
import os
import pathlib
import re
import struct
import subprocess
import urllib.request

import numpy as np
from websockets.sync.client import connect

ROOT = pathlib.Path(__file__).resolve().parent.parent.parent
BINARY = os.environ.get("FEATHERLINE_BIN", str(ROOT / "target" / "release" / "featherline"))


class Bench:
    """The program, serving the jobs in a folder."""

    def __init__(self, workshop, *words):
        self.workshop = pathlib.Path(workshop)
        command = [BINARY, *words, "--no-browser"]
        if not words:
            command += ["--workshop", str(workshop)]
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
        line = self.process.stdout.readline()
        self.address = re.search(r"http://\S+", line).group()
        self.origin, self.key = self.address.split("/?key=")
        self.port = int(self.origin.rsplit(":", 1)[1])
        self.cookie = f"featherline-{self.port}={self.key}"

    def get(self, path):
        request = urllib.request.Request(self.origin + path, headers={"Cookie": self.cookie})
        with urllib.request.urlopen(request) as answer:
            return answer.read()

    def post(self, path, body):
        if not isinstance(body, bytes):
            body = json.dumps(body).encode()
        headers = {
            "Cookie": self.cookie,
            "Origin": self.origin,
            "Content-Type": "application/json",
        }
        request = urllib.request.Request(self.origin + path, body, headers)
        with urllib.request.urlopen(request) as answer:
            return json.loads(answer.read())

    def window(self, job):
        return Window(self, job)

    def kill(self):
        """Ends the program at once, as a power cut would."""
        self.process.kill()
        self.process.wait()
        self.process.stdout.close()


class Window:
    """A window on a job: what it was told last, and what it says."""

    def __init__(self, bench, job):
        address = f"ws://127.0.0.1:{bench.port}/api/jobs/{job}/live"
        headers = {"Cookie": bench.cookie}
        self.opened = connect(
            address, additional_headers=headers, origin=bench.origin, max_size=None
        )
        self.line = self.opened.__enter__()
        self.state = self.piece = None
        self.last_id = 0

    def __enter__(self):
        return self

    def __exit__(self, *why):
        self.opened.__exit__(*why)

    def hear(self, timeout=120):
        """The next thing told; a piece with its wall as arrays."""
        told = self.line.recv(timeout=timeout)
        told = json.loads(told) if isinstance(told, str) else piece_of(told)
        if told["tell"] == "state":
            self.state = told
        if told["tell"] == "piece":
            self.piece = told
        return told

    def until(self, wanted):
        while True:
            told = self.hear()
            if wanted(told):
                return told

    def settled(self):
        """Waits until everything that follows from the job is worked out."""
        self.until(lambda told: told["tell"] == "doing" and told["doing"] is None)
        return self.state

    def say(self, **said):
        self.line.send(json.dumps(said))

    def ask(self, **said):
        """Says something that is answered, and returns the answer."""
        self.last_id += 1
        self.say(id=self.last_id, **said)
        return self.until(lambda told: told.get("id") == self.last_id)

    def set(self, key, value):
        return self.ask(say="edit", commands=[{"set": key, "to": value}])

    def entry(self, key):
        return next(entry for entry in self.state["entries"] if entry["key"] == key)

    def mark(self, key):
        return next(mark for mark in self.state["last"]["marks"] if mark["key"] == key)


def piece_of(told):
    """A piece from its bytes, as web/src/wire.ts says."""
    (length,) = struct.unpack_from("<I", told)
    piece = json.loads(told[4 : 4 + length])
    n, m = struct.unpack_from("<II", told, 4 + length)
    at = 12 + length
    shapes = [("on_last", "<f4", (n, 3)), ("flat", "<f4", (n, 2)), ("strain", "<f4", (m,))]
    for name, kind, shape in [*shapes, ("triangles", "<u4", (m, 3))]:
        count = int(np.prod(shape))
        piece[name] = np.frombuffer(told, kind, count, at).reshape(shape)
        at += 4 * count
    assert at == len(told), "nothing is left over"
    return piece
