"""`crossload judge` as a script calls it: a file in, JSON out, the exit status says which."""

import json

import pytest

from program import run, run_together

AT = "2026-11-26T{}:00:00Z"
CASE = {
    "capacity": 8, "prep_s": 1800, "check_in_s": 3600,
    "claims": [{"start": AT.format("12"), "end": AT.format("20"), "quantity": 4}],
}  # fmt: skip


def an_ask(quantity):
    return {"start": AT.format("14"), "end": AT.format("15"), "quantity": quantity}


CASES = {
    "fits": json.dumps(CASE | {"asks": [an_ask(4)]}),
    "short": json.dumps(CASE | {"asks": [an_ask(5)]}),
    "a field": json.dumps(CASE | {"asks": [an_ask("five")]}),
    "no JSON": '{"capacity": 8,',
    "accents": json.dumps(
        {"items": ["é"], "asks": [{"start": AT.format("14"), "end": AT.format("15"), "items": ["à"]}]},
        ensure_ascii=False,
    ),
}  # fmt: skip


@pytest.fixture(scope="module")
def judged(tmp_path_factory):
    """What the program said of each case, in a folder that it must leave as it is."""
    folder = tmp_path_factory.mktemp("cases")
    for name, text in CASES.items():
        (folder / f"{name}.json").write_text(text)
    done = run_together([("judge", f"{name}.json") for name in CASES], folder)
    assert sorted(path.stem for path in folder.iterdir()) == sorted(CASES)
    return dict(zip(CASES, done, strict=True))


def test_a_case_that_fits_and_one_that_does_not_are_both_answers(judged):
    for name, fits in (("fits", True), ("short", False)):
        done = judged[name]
        assert (done.returncode, done.stderr) == (0, "")
        (answer,) = json.loads(done.stdout)["answers"]
        assert (answer["fits"], answer["free"]) == (fits, 4)
    # What it would occupy: half an hour before, an hour after (`prep_s`, `check_in_s`).
    assert answer["short"] == [
        {"start": "2026-11-26T13:30:00Z", "end": "2026-11-26T16:00:00Z", "by": 1}
    ]


@pytest.mark.parametrize(
    ("name", "pointer", "says"),
    [
        ("a field", "#/asks/0/quantity", "five"),
        ("no JSON", "#", "line 1"),
        ("accents", "#/asks/0/items", "à"),
    ],
)
def test_a_bad_case_exits_2_with_problem_details_that_name_the_field(name, pointer, says, judged):
    done = judged[name]
    assert (done.returncode, done.stderr) == (2, "")
    (fault,) = json.loads(done.stdout)["errors"]
    assert fault["pointer"] == pointer
    assert says in fault["detail"]


def test_what_it_writes_is_json_in_any_terminal(tmp_path):
    done = run(
        "judge", "-", cwd=tmp_path, given=CASES["accents"].encode(), PYTHONIOENCODING="ascii"
    )
    assert "à" in json.loads(done.stdout)["detail"]
