"""Debian's Chromium, drawing in software, so that it needs no graphics card."""

import shutil

# What Playwright starts it with.
CHROMIUM = {
    "executable_path": shutil.which("chromium"),
    "args": [
        "--no-sandbox",
        "--use-gl=angle",
        "--use-angle=swiftshader",
        "--enable-unsafe-swiftshader",
    ],
}
