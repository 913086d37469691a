"""The judge on a file, without a database: what it answers, and what it says of a bad case."""

import json
import subprocess
import sys
from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from crossload.domain.instants import format_instant, parse_instant
from crossload.formats.cases import BadCase, run_judge
from domain import slow_pool
from domain.pools import many, randoms

NOON = parse_instant("2026-11-26T12:00:00Z")


def at(minutes):
    return format_instant(NOON + 60 * minutes, None)


def span(start, end, quantity=None, *items):
    """A window of a case, in minutes from noon."""
    wanted = {"items": list(items)} if items else {"quantity": quantity}
    return {"start": at(start), "end": at(end), **wanted}


def a_case(*asks, **members):
    return {"capacity": 8, "prep_s": 0, "check_in_s": 0, "out_of_service": [], "claims": [],
            "asks": list(asks)} | members  # fmt: skip


def judged(case):
    return run_judge(json.dumps(case))["answers"]


def faults(case):
    """{pointer: sentence} of a bad case."""
    with pytest.raises(BadCase) as caught:
        run_judge(case if isinstance(case, str | bytes) else json.dumps(case))
    return dict(caught.value.wrong)


def test_the_described_case_is_answered_as_described():
    case = a_case(
        span(0, 60, 6), span(0, 60, 3), prep_s=1800, check_in_s=3600,
        out_of_service=[span(-600, 600, 1)], claims=[span(0, 600, 4)],
    )  # fmt: skip
    assert judged(case) == [
        {"fits": False, "why": "numbers", "free": 3,
         "short": [{"start": "2026-11-26T11:30:00Z", "end": "2026-11-26T14:00:00Z", "by": 3}]},
        {"fits": True, "why": None, "free": 3, "short": []},
    ]  # fmt: skip


def test_prep_and_check_in_surround_claims_and_asks_and_not_what_is_out_of_service():
    times = {"capacity": 1, "prep_s": 600, "check_in_s": 1200}
    assert judged(a_case(span(0, 9, 1), claims=[span(39, 50, 1)], **times))[0]["fits"]
    assert not judged(a_case(span(0, 9, 1), claims=[span(38, 50, 1)], **times))[0]["fits"]
    assert judged(a_case(span(0, 9, 1), out_of_service=[span(29, 50, 1)], **times))[0]["fits"]
    short = judged(a_case(span(0, 9, 1), out_of_service=[span(28, 50, 1)], **times))[0]["short"]
    assert short == [{"start": at(28), "end": at(29), "by": 1}]


def test_asks_are_judged_each_by_itself():
    assert [answer["fits"] for answer in judged(a_case(span(0, 9, 8), span(0, 9, 8)))] == [True] * 2


def test_one_instant_written_in_two_zones_is_one_instant():
    ask = span(0, 60, 8) | {"start": "2026-11-26T13:00:00+01:00"}
    assert judged(a_case(ask, claims=[span(-60, 0, 8)]))[0]["fits"]
    assert not judged(a_case(ask, claims=[span(-60, 1, 8)]))[0]["fits"]


def test_claims_beyond_capacity_leave_less_than_nothing():
    (answer,) = judged(a_case(span(0, 9, 1), capacity=2, claims=[span(0, 5, 4)]))
    assert (answer["free"], answer["short"]) == (-2, [{"start": at(0), "end": at(5), "by": 3}])


def test_what_a_case_leaves_out_is_none_and_what_it_adds_is_left_be():
    case = {
        "capacity": 1,
        "asks": [span(0, 9, 1) | {"note": "for the second unit"}],
        "colour": None,
    }
    assert judged(case) == [{"fits": True, "why": None, "free": 1, "short": []}]
    assert judged(a_case()) == []


def with_pieces(*asks, **members):
    case = a_case(*asks, **({"items": ["p1", "p2"]} | members))
    del case["capacity"]
    return case


def test_enough_at_each_instant_but_no_piece_throughout_is_names():
    claims = [span(0, 2, None, "p1"), span(7, 9, None, "p2"), span(1, 4, 1), span(5, 8, 1)]
    case = with_pieces(span(3, 6, 1), span(3, 5, 1), span(3, 6, None, "p1"), claims=claims)
    assert [(answer["fits"], answer["why"], answer["free"]) for answer in judged(case)] == [
        (False, "names", 1), (True, None, 1), (False, "names", 1),
    ]  # fmt: skip
    assert judged(case)[0]["short"] == []
    assert run_judge(json.dumps(case), limit_s=0)["answers"][0]["why"] == "undecided"


def test_a_piece_out_of_service_is_not_to_be_had_and_the_other_is():
    out = [span(0, 9, None, "p1")]
    asks = [span(5, 12, None, "p1"), span(5, 12, None, "p2"), span(5, 12, 2), span(9, 12, 2)]
    found = judged(with_pieces(*asks, out_of_service=out))
    assert [answer["why"] for answer in found] == ["names", None, "numbers", None]


@pytest.mark.parametrize(
    ("case", "pointer", "says"),
    [
        pytest.param("", "", "not JSON", id="nothing"),
        pytest.param(b"\xff\xfe{}", "", "not UTF-8", id="bytes"),
        pytest.param("[]", "", "is a list", id="no object"),
        pytest.param('{"asks": [', "", "line 1, column 11", id="cut off"),
        pytest.param('{"capacity": NaN, "asks": []}', "", "NaN", id="not a number"),
        pytest.param('{"asks": [], "asks": []}', "", "asks stands twice", id="a member twice"),
        pytest.param("[" * 100_000, "", "deep", id="deep"),
        pytest.param('{"capacity": ' + "9" * 5000 + "}", "", "digits", id="a number without end"),
        pytest.param({"asks": []}, "/capacity", "missing", id="no capacity"),
        pytest.param({"capacity": 1}, "/asks", "missing", id="no asks"),
        pytest.param(a_case(capacity=-1), "/capacity", "0 or more", id="negative capacity"),
        pytest.param(a_case(capacity=2**53), "/capacity", "or less", id="capacity past 2^53 - 1"),
        pytest.param(a_case(capacity=True), "/capacity", "true", id="capacity true"),
        pytest.param(a_case(capacity=8.0), "/capacity", "8.0", id="capacity 8.0"),
        pytest.param(a_case(capacity=None), "/capacity", "null", id="capacity null"),
        pytest.param(a_case(prep_s=-1), "/prep_s", "-1", id="negative prep"),
        pytest.param(a_case(prep_s=None), "/prep_s", "null", id="prep null"),
        pytest.param(a_case(check_in_s=10**12), "/check_in_s", "or less", id="check-in of ages"),
        pytest.param(a_case(claims={}), "/claims", "an object", id="claims no list"),
        pytest.param(a_case(claims=None), "/claims", "null", id="claims null"),
        pytest.param(a_case(7), "/asks/0", "7 is no object", id="an ask no object"),
        pytest.param(a_case(span(0, 9, 0)), "/asks/0/quantity", "1 or more", id="quantity 0"),
        pytest.param(a_case(span(0, 9)), "/asks/0/quantity", "null", id="quantity null"),
        pytest.param(a_case(span(0, 9, 1), {}), "/asks/1/start", "missing", id="an empty ask"),
        pytest.param(a_case(span(9, 9, 1)), "/asks/0/end", "not after", id="an empty window"),
        pytest.param(a_case(span(9, 8, 1)), "/asks/0/end", "not after", id="a window backwards"),
        pytest.param(a_case(span(0, 9, 1) | {"start": 5}), "/asks/0/start", "is 5", id="start a number"),
        pytest.param(
            a_case(span(0, 9, 1) | {"start": "2026-11-26T12:00:00"}), "/asks/0/start", "offset",
            id="no offset",
        ),
        pytest.param(
            a_case(span(0, 9, 1) | {"end": "2026-11-26T12:00:00.5Z"}), "/asks/0/end", "fraction",
            id="half a second",
        ),
        pytest.param(
            a_case(span(0, 9, None, "p1")), "/asks/0/items", "no items", id="names without pieces"
        ),
        pytest.param(
            a_case(items=["p1"]), "/capacity", "beside items", id="items beside capacity"
        ),
        pytest.param(
            with_pieces(span(0, 9, None, "p1") | {"quantity": 1}), "/asks/0/quantity", "beside items",
            id="quantity beside items",
        ),
        pytest.param(
            with_pieces(span(0, 9, None, "p1", "p3")), "/asks/0/items", "p3 is none",
            id="an unknown piece",
        ),
        pytest.param(
            with_pieces(claims=[span(0, 9, None, "p1", "p1")]), "/claims/0/items/1",
            "p1 stands twice", id="a piece twice",
        ),
        pytest.param(
            with_pieces({"start": at(0), "end": at(9), "items": []}), "/asks/0/items", "1 or more",
            id="no piece",
        ),
        pytest.param(
            with_pieces(span(0, 9, None, 4)), "/asks/0/items/0", "4 is no name", id="a number"
        ),
        pytest.param(
            with_pieces(items=["p1", "p1"]), "/items/1", "p1 stands twice", id="pieces twice"
        ),
        pytest.param(
            with_pieces(out_of_service=[span(0, 9, 1)]), "/out_of_service/0/items", "missing",
            id="out of service without names",
        ),
    ],
)  # fmt: skip
def test_a_bad_case_names_the_field_and_what_to_mend(case, pointer, says):
    found = faults(case)
    assert says in found[pointer]
    assert len(found) == 1 or case == a_case(span(0, 9, 1), {})


def test_all_faults_are_told_at_once_as_problem_details():
    with pytest.raises(BadCase) as caught:
        run_judge(json.dumps(a_case(span(9, 0, 0), capacity="8")))
    problem = caught.value.problem()
    assert (problem["type"], problem["status"]) == ("/problems/invalid", 422)
    assert [fault["pointer"] for fault in problem["errors"]] == [
        "#/capacity", "#/asks/0/end", "#/asks/0/quantity",
    ]  # fmt: skip
    assert problem["detail"].endswith("and 2 more")
    json.dumps(problem)


@given(st.recursive(
    st.none() | st.booleans() | st.integers() | st.text() | st.just(at(0)) | st.just("p1"),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(
        st.sampled_from(("capacity", "items", "asks", "claims", "out_of_service", "start", "end",
                         "quantity", "prep_s")), inner, max_size=5),
))  # fmt: skip
def test_any_json_is_answered_or_refused(value):
    refused = None
    try:
        assert "answers" in run_judge(json.dumps(value))
    except BadCase as bad:
        refused = bad
    if refused:
        assert all(pointer == "" or pointer.startswith("/") for pointer, _ in refused.wrong)
        assert json.dumps(refused.problem())


def test_a_case_is_answered_as_by_trying_everything():
    words = Counter()

    @given(randoms)
    @many
    def check(random):
        count = random.randint(1, 3)
        prep, check_in = random.randrange(3), random.randrange(3)
        stands, asks = a_world(random, count, prep, check_in)
        case = with_pieces(
            *map(written, asks), items=["p0", "p1", "p2"][:count],
            prep_s=60 * prep, check_in_s=60 * check_in,
            out_of_service=[written(one) for one in stands if one[-1] == 0],
            claims=[written(one) for one in stands if one[-1] == 1],
        )  # fmt: skip
        beside = [occupying(one, prep, check_in) for one in stands]
        for ask, answer in zip(asks, judged(case), strict=True):
            expected = slow_pool.judged(count, beside, [occupying(ask, prep, check_in)])
            assert (answer["why"] or "yes", answer["free"], by_minute(answer)) == expected
            words[expected[0]] += 1

    check()
    assert min(words["yes"], words["names"], words["numbers"]) >= 10


def a_world(random, count, prep, check_in):
    """What stands and can be served, and two asks, in minutes and as the slow model takes them."""
    stands, asks = [], []
    for kind in ("claim", "claim", "service", "claim", "claim", "ask", "ask"):
        start = random.randrange(11)
        end = random.randint(start + 1, 12)
        some = tuple(random.sample(range(count), random.randint(1, count)))
        loose = kind != "service" and random.random() < 0.6
        one = (start, end, len(some), () if loose else some, 0 if kind == "service" else 1)
        if kind == "ask":
            asks.append(one)
        elif slow_pool.can_all(
            count, [occupying(other, prep, check_in) for other in (*stands, one)]
        ):
            stands.append(one)
    return stands, asks


def occupying(one, prep, check_in):
    start, end, *rest = one
    return one if one[-1] == 0 else (start - prep, end + check_in, *rest)


def written(one):
    start, end, quantity, names, _ = one
    return span(start, end, quantity, *(f"p{piece}" for piece in names))


def by_minute(answer):
    return {
        minute: part["by"]
        for part in answer["short"]
        for minute in range(minutes(part["start"]), minutes(part["end"]))
    }


def minutes(text):
    return (parse_instant(text) - NOON) // 60


@pytest.mark.parametrize(("text", "status"), [("{}", 2), ('{"capacity": 1, "asks": []}', 0)])
def test_the_command_answers_json_and_exits_2_on_a_bad_case(text, status):
    done = subprocess.run(
        [sys.executable, "-m", "crossload.cli", "judge", "-"],
        input=text.encode(), capture_output=True, check=False,
    )  # fmt: skip
    assert done.returncode == status
    assert ("errors" if status else "answers") in json.loads(done.stdout)
