"""A published scale, built and measured back.

Source: F. Y. Golding, The Manufacture of Boots and Shoes, 1902 (public domain), male scale: size,
length of the last in inches, joint girth, tread and seat in inches. Rows child 8 to adult 6; adult
6 has no tread and no seat in the source.
"""

import pytest

INCH = 25.4
ROWS = [
    ("child 8", 6 + 2 / 3, 5 + 7 / 8, 2 + 1 / 4, 1 + 5 / 8),
    ("child 9", 7, 6 + 1 / 16, 2 + 1 / 3, 1 + 11 / 16),
    ("child 10", 7 + 1 / 3, 6 + 1 / 4, 2 + 5 / 12, 1 + 3 / 4),
    ("child 11", 7 + 2 / 3, 6 + 1 / 2, 2 + 1 / 2, 1 + 13 / 16),
    ("child 12", 8, 6 + 3 / 4, 2 + 7 / 12, 1 + 7 / 8),
    ("child 13", 8 + 1 / 3, 7, 2 + 2 / 3, 1 + 15 / 16),
    ("adult 1", 8 + 2 / 3, 7 + 1 / 4, 2 + 3 / 4, 2),
    ("adult 2", 9, 7 + 1 / 2, 2 + 5 / 6, 2 + 1 / 16),
    ("adult 3", 9 + 1 / 3, 7 + 3 / 4, 2 + 11 / 12, 2 + 1 / 8),
    ("adult 4", 9 + 2 / 3, 8, 3, 2 + 3 / 16),
    ("adult 5", 10, 8 + 1 / 4, 3 + 1 / 12, 2 + 1 / 4),
    ("adult 6", 10 + 1 / 3, 8 + 1 / 2, None, None),
]


@pytest.mark.parametrize("size, length, joint, tread, seat", ROWS, ids=[r[0] for r in ROWS])
def test_measured_back(build_last, as_built, measured, size, length, joint, tread, seat):
    asked = {"girth": joint, "tread": tread, "seat": seat}
    asked = {name: value * INCH for name, value in asked.items() if value}
    path, truth = build_last(sll=length * INCH, **asked)
    assert path, f"the builder refuses {size}: {truth}"
    found = as_built(path, f"UK {size.removeprefix('adult ')}", 25)
    assert found["standard_last_length"] == pytest.approx(length * INCH, abs=0.01)
    assert found["length"] == pytest.approx(length * INCH, abs=0.5)
    assert measured(path, "--heel-height", 25)["length"] == pytest.approx(length * INCH, abs=0.5)
    if tread:
        assert found["tread_width"] == pytest.approx(tread * INCH, abs=0.5)
        assert found["seat_width"] == pytest.approx(seat * INCH, abs=0.5)
    assert found["ball_girth"] == pytest.approx(joint * INCH, abs=0.5)
