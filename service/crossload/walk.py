"""The demo day over HTTP, as its people live it: what was asked, answered and shown.

Joins the floors: it knows nothing of the service but its address.
"""

import uuid
from collections.abc import Callable, Iterable
from typing import Any
from urllib.parse import quote, urlencode

import requests
from requests.adapters import HTTPAdapter
from urllib3.util import Retry

Say = Callable[[str], None]
Told = dict[str, Any]
WAIT_S = 20
TOMORROW = 9
"""The number of the shoot day after the one that the demo takes for today."""


class WalkFailed(Exception):
    """The service did not do what the demo promises; the text says what was expected."""


class Person:
    """One of the demo's people, signed in on a browser of their own."""

    def __init__(self, base: str, login: str):
        self.base = f"{base}/api/v1"
        self.http = requests.Session()
        self.http.mount("http://", HTTPAdapter(max_retries=Retry(total=3, backoff_factor=0.2)))
        told = self.ask("POST", "/session", 201, json={"demo": login})
        self.name = told["account"]["name"]
        self.units = {unit["name"]: unit["id"] for unit in told["units"]}

    def ask(self, method: str, path: str, *expected: int, **more: Any) -> Told:
        """The JSON of one call; WalkFailed when its status is none of the expected."""
        answer = self.answer(method, path, **more)
        if answer.status_code not in (expected or (200,)):
            detail = answer.json().get("detail") if "json" in answer.headers["Content-Type"] else ""
            raise WalkFailed(f"{method} {path} answered {answer.status_code}: {detail}")
        told: Told = answer.json()
        return told | {"_status": answer.status_code, "_etag": answer.headers.get("ETag", "")}

    def answer(self, method: str, path: str, **more: Any) -> requests.Response:
        return self.http.request(method, self.base + path, timeout=WAIT_S, **more)

    def book(self, body: Told) -> Told:
        key = {"Idempotency-Key": f'"{uuid.uuid4()}"'}
        return self.ask("POST", "/bookings", 201, 409, json=body, headers=key)

    def record(self, kind: str, happened_at: str, *pieces: Told, **more: Any) -> Told:
        event = {
            "key": str(uuid.uuid4()),
            "kind": kind,
            "happened_at": happened_at,
            "pieces": pieces,
        }
        return self.ask("POST", "/custody-events", 201, 409, json=event | more)


def walk(base: str, say: Say = print) -> None:
    """Walk the demo day against the service at `base`, saying each step.

    Raises WalkFailed where the service breaks a promise of the demo, requests' errors where it
    cannot be reached.
    """
    base = base.rstrip("/")
    mixer, house = Person(base, "tobin"), Person(base, "hale")
    say(f"{mixer.name}, mixer of the second unit, signs in on a phone.")
    booking = _ask_for_radios(mixer, say)
    _look_at_the_board(base, booking, say)
    _hand_out(house, booking, say)
    _will_be_reminded(mixer, booking, say)
    _answer_a_reminder(base, say)
    _take_back_what_is_late(house, say)
    _give_it_up(mixer, house, booking, say)


def _ask_for_radios(mixer: Person, say: Say) -> Told:
    unit = mixer.units["Second"]
    days = mixer.ask("GET", f"/shoot-days?unit={unit}")["shoot_days"]
    day = next(day for day in days if day["number"] == TOMORROW)
    span = urlencode({"start": day["call"], "end": day["wrap"]})
    proposal = mixer.ask("GET", f"/radio-proposal?unit={unit}&quantity=6&{span}")
    window, held = proposal["window"], proposal["held"]
    say(
        f"Tomorrow is day {day['number']}, {_when(window['start'])} to {_when(window['end'])} at"
        f" {day['location']}; the unit has {held['radios']} radios and {held['ways']} ways then."
    )
    with_each = ", ".join(f"{line['quantity']} {line['name']}" for line in proposal["lines"][1:])
    say(f"Six more radios are asked for; with them go {with_each}.")
    body = {
        "unit_id": unit,
        "purpose": "extra radios",
        "start": window["start"],
        "end": window["end"],
        "lines": [
            {"kit_type_id": line["kit_type_id"], "quantity": line["quantity"]}
            for line in proposal["lines"]
        ],
    }
    refused = mixer.book(body)
    if refused["_status"] != 409:
        raise WalkFailed(
            "six extra radios for the second unit were to be refused, and were granted"
        )
    say(f"The answer is no: {refused['detail']}.")
    for short in refused["short"]:
        _say_why(short, say)
    return _take_the_best(mixer, refused, say)


def _take_the_best(mixer: Person, refused: Told, say: Say) -> Told:
    """Take the first option that the refusal offers; the booking that it makes."""
    if not refused["options"]:
        raise WalkFailed("a refusal was to come with options that work")
    say("What would work: " + "; ".join(map(_option, refused["options"])) + ".")
    option = refused["options"][0]
    yes = mixer.book(option["body"])
    if yes["_status"] != 201:
        raise WalkFailed(f"an option that was offered was refused when taken: {yes['detail']}")
    say(f"The first of them is taken: {_kit(option['lines'])}. The answer is yes.")
    _say_handover(yes["handover"], say)
    for caution in yes["cautions"]:
        say(f"Caution: {caution}")
    booking: Told = yes["booking"]
    return booking


def _say_why(short: Told, say: Say) -> None:
    when = ", ".join(
        f"{each['by']} short from {_when(each['start'])} to {_when(each['end'])}"
        for each in short["stretches"]
    )
    say(
        f"  {short['name']}: {short['quantity']} asked, {short['free']} free; {when or short['why']}."
    )
    for holder in short["holders"][:4]:
        who = holder["unit"] or "the bench"
        call = f", call {holder['person'] or who} on {holder['phone']}" if holder["phone"] else ""
        idle = f", {holder['idle']} of them idle" if holder["idle"] else ""
        say(f"    {holder['quantity']} with {who} ({holder['state']}){idle}{call}.")


def _option(option: Told) -> str:
    shift = f", starting {_when(option['start'])}" if option["shift_s"] else ""
    place = f", in place {option['place']}" if option["place"] else ""
    return f"{option['kind'].replace('_', ' ')}{shift}{place} ({_kit(option['lines'])})"


def _kit(lines: Iterable[Told]) -> str:
    return ", ".join(f"{line['quantity']} {line['name']}" for line in lines)


def _say_handover(handover: Told, say: Say) -> None:
    for pickup in handover["pickups"]:
        if pickup["at"] is None:
            say(f"  {pickup['place']}: {pickup['note']}.")
            continue
        whom = f"; ask for {pickup['ask_for']}, {pickup['phone']}" if pickup["phone"] else ""
        boxes = sorted({box for line in pickup["lines"] for box in line["boxes"]}, key=len)
        say(f"  By {_when(pickup['at'])} at {pickup['place']}{whom}; boxes {', '.join(boxes)}.")
    given = ", ".join(each["label"] for each in handover["frequencies"])
    if given:
        say(f"  Frequencies: {given} MHz.")


def _hand_out(house: Person, booking: Told, say: Say) -> None:
    """All of the booking that can be carried: pieces by tag from the shelf, the rest by number."""
    now = house.ask("GET", "/board")["as_of"]
    carried = [line for line in booking["lines"] if not line["frequencies"]]
    for line in carried:
        if line["tracking"] == "serial":
            _scan_out(house, booking, line, now)
        else:
            piece = {"kit_type_id": line["kit_type_id"], "quantity": line["quantity"]}
            house.record("out", now, piece, booking_id=booking["id"])
    say(f"{house.name} hands it out: {_kit(carried)}.")


def _scan_out(house: Person, booking: Told, line: Told, now: str) -> None:
    kit_type = line["kit_type_id"]
    out = {one["tag"] for one in house.ask("GET", "/custody")["custody"]}
    found = house.ask("GET", f"/items?kit_type={kit_type}&condition=fit&limit=500")["items"]
    shelf = [item["tag"] for item in found if item["tag"] not in out]
    left = line["quantity"]
    while left and shelf:
        tag = shelf.pop(0)
        told = house.record("out", now, {"tag": tag}, booking_id=booking["id"])
        left -= told["_status"] == 201
    if left:
        raise WalkFailed(f"{left} of {line['kit_type']} were promised and are not on the shelf")


def _will_be_reminded(mixer: Person, booking: Told, say: Say) -> None:
    told = mixer.ask("GET", "/board")["reminders"]
    ours = [one for one in told if one["unit_id"] == booking["unit_id"]]
    back = [one for one in ours if one["booking_id"] == booking["id"]]
    missing = {"return_due", "charge"} - {one["kind"] for one in ours}
    if not back or missing:
        raise WalkFailed(f"the booking was to bring reminders: {', '.join(sorted(missing))}")
    say(f"{mixer.name} sees what it will bring.")
    for one in ours:
        if one in back or one["kind"] == "charge":
            say(f"  {_when(one['due_at'])}: {_what(one)}.")


def _look_at_the_board(base: str, booking: Told, say: Say) -> None:
    coordinator = Person(base, "ines")
    board = coordinator.ask("GET", "/board")
    say(f"{coordinator.name} looks at the board, as of {_when(board['as_of'])}.")
    for one in board["decide"][:6]:
        say(f"  To decide: {one['kind'].replace('_', ' ')}, {one['kit_type']}, {one['unit']}.")
    for one in board["going_out"][:6]:
        say(f"  Going out {_when(one['at'])}: {one['unit']}, {_pieces(one['pieces'])}.")
    if booking["id"] not in {one["booking_id"] for one in board["going_out"]}:
        raise WalkFailed("the new booking was to stand on the board under going out")
    again = coordinator.answer("GET", "/board", headers={"If-None-Match": board["_etag"]})
    if again.status_code != 304:
        raise WalkFailed(f"an unchanged board was to answer 304, and answered {again.status_code}")
    say("  Asked again, it answers that nothing has changed.")
    start = booking["start"][:10]
    days = coordinator.ask("GET", f"/availability?from={start}&to={start}&category=pack")
    for kit in days["kit_types"]:
        cell = kit["cells"][0]
        say(f"  {kit['name']} on {start}: {cell['free']} free of {cell['capacity']}.")


def _answer_a_reminder(base: str, say: Say) -> None:
    assistant = Person(base, "joss")
    board = assistant.ask("GET", "/board")
    due = [one for one in board["reminders"] if one["state"] == "due"]
    coming = [one for one in board["reminders"] if one["state"] == "coming"]
    say(f"{assistant.name} has {len(due)} reminders due and {len(coming)} coming.")
    for one in [*due, *coming][:6]:
        say(f"  {_when(one['due_at'])}: {_what(one)}.")
    if not due:
        raise WalkFailed("the demo was to have a reminder due: is the scheduler running?")
    seen = assistant.ask("POST", f"/reminders/{due[0]['id']}/seen")
    say(f"  The first is marked as seen by {assistant.name} ({seen['state']}).")


def _pieces(number: int) -> str:
    return "1 piece" if number == 1 else f"{number} pieces"


def _what(reminder: Told) -> str:
    first = [f"{one['quantity']} {one['kit_type']}" for one in reminder["kit"][:3]]
    more = len(reminder["kit"]) - len(first)
    kit = [*first, f"{more} more kinds"] if more else first
    return f"{reminder['kind'].replace('_', ' ')}, {', '.join(kit) or 'kit'}"


def _take_back_what_is_late(house: Person, say: Say) -> None:
    late = house.ask("GET", "/custody?overdue=true")["custody"]
    tagged = [one for one in late if one["tag"]]
    if not tagged:
        say("Nothing is late any more: a walk before this one took it back.")
        return
    piece = tagged[0]
    say(
        f"{piece['tag']}, {piece['kit_type']}, is late: due back {_when(piece['due_at'])}"
        f" from {piece['unit']}."
    )
    now = house.ask("GET", "/board")["as_of"]
    house.record("back", now, {"tag": piece["tag"]})
    left = house.ask("GET", "/custody?overdue=true")["custody"]
    if piece["tag"] in {one["tag"] for one in left}:
        raise WalkFailed(f"{piece['tag']} came back and is still shown as late")
    found = house.ask("GET", f"/scan/{quote(piece['tag'])}")
    say(
        f"{house.name} scans it back: {found['tag']} is {found['condition']}, {found['where']['text']}."
    )


def _give_it_up(mixer: Person, house: Person, booking: Told, say: Say) -> None:
    """The walk leaves the demo as it found it, but for what was late."""
    path = f"/bookings/{booking['id']}"
    now = house.ask("GET", "/board")["as_of"]
    out = house.ask("GET", f"/custody?booking={booking['id']}")["custody"]
    for one in out:
        piece = {"tag": one["tag"]} if one["tag"] else {"kit_type_id": one["kit_type_id"]}
        piece["quantity"] = one["quantity"]
        house.record("back", now, piece, booking_id=booking["id"])
    if house.ask("GET", f"/custody?booking={booking['id']}")["custody"]:
        raise WalkFailed("all of the booking came back, and some of it is still shown as out")
    say(f"All of it comes back: {len(out)} scans.")
    etag = mixer.ask("GET", path)["_etag"]
    released = mixer.ask("POST", f"{path}/release", headers={"If-Match": etag})
    say(f"{mixer.name} releases the booking: it is {released['state']}.")


def _when(instant: str) -> str:
    """The wall time in an instant: `2026-11-26 06:00`."""
    return f"{instant[:10]} {instant[11:16]}"
