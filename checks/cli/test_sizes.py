"""`sizes`: what a size stands for and what it is called elsewhere, by formulas in exact fractions."""

import json
from fractions import Fraction

import pytest

INCH = Fraction(254, 10)

# Last lengths in mm by an encyclopaedia's article on shoe sizes (published): Paris points of 2/3 cm
# from zero; barleycorns of 1/3 in, child = 3 x inches - 12, adult = 3 x inches - 25, US men
# = 3 x inches - 24, US women = 3 x inches - 22.5, US child = 3 x inches - 11 2/3.
LASTS = {
    "EU": (lambda n: n * Fraction(20, 3), ["16", "19", "28", "36", "39.5", "48", "50"]),
    "UK": (lambda n: (n + 25) / 3 * INCH, ["1", "3", "6.5", "12"]),
    "UK child": (lambda n: (n + 12) / 3 * INCH, ["0", "4", "10.5", "13"]),
    "US men": (lambda n: (n + 24) / 3 * INCH, ["1", "6", "10", "12"]),
    "US women": (lambda n: (n + Fraction(45, 2)) / 3 * INCH, ["5", "8", "10"]),
    "US child": (lambda n: (n + Fraction(35, 3)) / 3 * INCH, ["5", "8", "13"]),
}

# Sizes from the foot by the same article; Japan, China and Mondopoint are the foot itself.
FROM_FOOT = {
    "EU": lambda foot: Fraction(15, 100) * foot + 2,
    "UK": lambda foot: 3 * foot / INCH - 23,
    "US men": lambda foot: 3 * foot / INCH - 22,
    "US women": lambda foot: 3 * foot / INCH - Fraction(41, 2),
    "US women gauge": lambda foot: 3 * foot / INCH - 21,
    "Mondopoint": lambda foot: foot,
    "JP": lambda foot: foot / 10,
    "CN": lambda foot: foot,
    "CN old": lambda foot: foot / 5 - 10,
}
STEPS = {"Mondopoint": 5, "CN": 5, "CN old": 1}


@pytest.mark.parametrize("system", LASTS)
def test_lasts_are_those_of_the_formulas(bench, system):
    length, numbers = LASTS[system]
    for number in numbers:
        told = json.loads(bench.done("sizes", f"{system} {number}", "--json"))
        assert told["last_length"] == pytest.approx(float(length(Fraction(number))), abs=1e-9)
        own = [row for row in told["systems"] if row["system"] == system]
        assert [(row["size"], row["approximate"]) for row in own] == [(float(number), False)]
        assert told["foot_length"] == pytest.approx(told["last_length"] - told["allowance"]["value"])


@pytest.mark.parametrize("size", ["EU 36", "EU 39", "UK 7", "US men 8", "JP 24.5", "CN 265", "CN old 40"])
def test_every_other_system_has_the_same_foot(bench, size):
    told = json.loads(bench.done("sizes", size, "--json"))
    foot = Fraction(told["foot_length"]).limit_denominator(10**6)
    rows = {row["system"]: row for row in told["systems"]}
    assert set(FROM_FOOT) <= set(rows)
    for system, number in FROM_FOOT.items():
        row, exact = rows[system], float(number(foot))
        assert row["unrounded"] == pytest.approx(exact, abs=0.006)
        step = STEPS.get(system, 0.5)
        assert (row["size"] / step).is_integer() and abs(row["size"] - exact) <= step / 2 + 1e-6
        assert row["approximate"] == (abs(row["size"] - exact) > 0.005)
        assert row["written"] == f"{system} {row['size']:g}"


def test_a_run_is_told_size_by_size(bench):
    told = json.loads(bench.done("sizes", "EU 36..46", "--json"))["sizes"]
    assert [row["size"] for row in told] == [f"EU {n}" for n in range(36, 47)]
    halves = json.loads(bench.done("sizes", "UK 6..7", "--halves", "--json"))["sizes"]
    assert [row["size"] for row in halves] == ["UK 6", "UK 6.5", "UK 7"]
    for size in ["UK 6", "UK 6.5"]:
        assert size in bench.done("sizes", "UK 6, 6.5")


def test_a_fitting_has_the_girth_of_its_table(bench):
    """JIS S 5037: 245 mm, E: men 240 mm, women 237 mm (published)."""
    told = json.loads(bench.done("sizes", "JP 24.5", "--fitting", "E", "--json"))
    assert told["fitting"]["ball_girth_of_foot"] == {"men": 240.0, "women": 237.0}
    assert "no source" in bench.done("sizes", "UK 6", "--fitting", "F")


REFUSED = {
    "ambiguous": (["US 8"], ["US men 8 (270.9 mm)", "US child 8", "write the one you mean"]),
    "bare": (["39"], ["EU 39", "CN old 39"]),
    "outside": (["EU 51"], ["EU 15..50"]),
    "between": (["UK 6.3"], ["UK 1..14 in half sizes"]),
    "nonsense": (["large"], ['"EU 39"', '"UK 6.5"']),
    "mixed": (["EU 36..UK 8"], ["mixes EU with UK"]),
    "backwards": (["EU 46..36"], ['write "EU 36..46"']),
    "past the end": (["EU 36..39.5"], ['write "EU 36..39"', "half sizes"]),
    "no fitting": (["EU 39", "--fitting", "G"], ["EU has no fitting", "0 is the narrowest"]),
    "no fittings": (["Mondopoint 245", "--fitting", "95"], ["leave the fitting away"]),
    "nothing": ([""], ["names no size"]),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_no_size_is_refused_with_the_mend(bench, name):
    call, says = REFUSED[name]
    bench.refused("sizes", *call, says=says)


# Of a job in EU 39.
RANGES_REFUSED = {
    "other system": ("UK 3..8", ["job.toml", "EU 39", "UK 3", "name the range in EU too"]),
    "mixed": ("EU 36..UK 8", ["mixes EU with UK"]),
    "backwards": ("EU 46..36", ['write "EU 36..46"']),
    "outside": ("EU 46..60", ["EU 15..50"]),
    "ambiguous": ("36..46", ["EU 36 (240.0 mm)"]),
    "children": ("EU 33..36", ["EU 33", "EU 34", "a child's", "wearer.ankle_medial", "nothing was written"]),
    "no foot has them": ("EU 16", ["EU 16", "ball girth", "choose a size or a fitting nearer to the base"]),
}


@pytest.mark.parametrize("name", RANGES_REFUSED)
def test_a_range_that_cannot_be_is_refused_whole(bench, job, name):
    sizes, says = RANGES_REFUSED[name]
    bench.refused("draft", "job", "--sizes", sizes, says=says)


def test_a_range_drafted_again_leaves_no_size_of_before(bench, job):
    bench.done("draft", "job", "--sizes", "EU 38, 40", "--feet", "right")
    (job / "sizes" / "aunt.txt").write_text("Dear aunt,")
    names = {path.name for path in (job / "sizes").iterdir()}
    assert {"EU-38-right.pdf", "EU-40-right-last.stl", "nest-right.svg", "range.pdf"} <= names
    assert not any("left" in name for name in names)
    told = json.loads(bench.done("draft", "job", "--sizes", "EU 38", "--feet", "left", "--json"))
    assert [(piece["size"], piece["foot"]) for piece in told["pieces"]] == [("EU 38", "left")]
    names = {path.name for path in (job / "sizes").iterdir()}
    assert "aunt.txt" in names and "EU-38-left.pdf" in names
    assert not any("right" in name for name in names)


def test_what_was_measured_on_a_wearer_is_no_higher_in_larger_sizes(bench, job):
    bench.done("set", "job", "wearer.ankle_lateral", "46")
    run = bench.run("draft", "job", "--sizes", "EU 36, 39, 42", "--feet", "right", "--json")
    ceilings = {}
    (table,) = json.loads(run.stdout)["tables"]
    (row,) = [row for row in table["rows"] if row["name"] == "ceiling under the outside ankle"]
    for size, value in zip(table["sizes"], row["values"]):
        ceilings[size] = value["value"]
    assert ceilings["EU 42"] == ceilings["EU 39"] > ceilings["EU 36"]
    assert "measured on a wearer of EU 39" in run.stderr and "EU 42" in run.stderr


def test_fittings_are_graded_from_one_that_is_named(bench, job):
    call = ["draft", "job", "--sizes", "EU 39", "--fittings"]
    bench.refused(*call, "7", says=["job.toml", "last.fitting", "in EU there are 0, 1, 2"])
    bench.refused(*call, "G", says=["EU has no fitting", "0, 1, 2"])
    bench.refused(*call, ",", says=["--fittings names none"])
    bench.refused("set", "job", "last.fitting", "G", says=["EU has no fitting", "0, 1, 2"])
    bench.done("set", "job", "last.fitting", "6")
    # A size of another system has other fittings.
    bench.refused("set", "job", "last.size", "UK 6", says=["last.fitting", "UK has no fitting"])
    (job / "job.toml").write_text((job / "job.toml").read_text().replace('"6"', '"66"'))
    bench.refused("check", "job", says=["job.toml, line", "last.fitting", "no fitting", "66"])


def test_ankles_are_those_of_the_survey(bench):
    """Mean and 5th percentile of the outside ankle point at a foot of 240 mm, computed from the
    public data of ANSUR II 2012 (US Army report NATICK/TR-15/007)."""
    ankles = json.loads(bench.done("sizes", "EU 38", "--json"))["ankles"]
    women = [a for a in ankles if (a["sex"], a["side"]) == ("women", "lateral")][0]
    assert women["mean"] == pytest.approx(61.9, abs=0.1)
    assert women["lower_in_5_of_100"] == pytest.approx(54.0, abs=0.1)
    assert not [a for a in ankles if (a["sex"], a["side"]) == ("women", "medial")]
    assert json.loads(bench.done("sizes", "EU 30", "--json"))["ankles"] == []
    assert "children" in bench.done("sizes", "EU 30")
