"""Every type of problem: its slug and status are for ever, its words are what its page says."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Kind:
    """One type of problem. `meaning` and `mend` are what its page says."""

    slug: str
    status: int
    title: str
    meaning: str
    mend: str


KINDS = {
    kind.slug: kind
    for kind in (
        Kind("bad-request", 400, "The request cannot be read",
             "The request itself is malformed: its JSON, a header, or its encoding.",
             "Mend what the detail names and send it again."),
        Kind("no-key", 400, "An Idempotency-Key is missing",
             "A request that makes something carries a key of its own, so that sending it twice"
             " makes one thing.",
             'Send a header such as Idempotency-Key: "a-uuid", a new one for each new thing.'),
        Kind("not-signed-in", 401, "Nobody is signed in",
             "The request came without a session or a token, with one that is no longer valid, or with a"
             " name and a password that do not belong together.",
             "Sign in again, or ask the coordinator for a new link or token."),
        Kind("forbidden", 403, "This is not yours to do",
             "The role of whoever is signed in does not reach that far.",
             "Ask the kit coordinator to do it, or to widen your role or your units."),
        Kind("cross-site", 403, "The request came from another site",
             "A browser sent this from a page of another site, with this site's cookie.",
             "Do it from the board itself, or use an API token."),
        Kind("not-found", 404, "There is no such thing",
             "This pool has nothing at that address. What belongs to another pool is not found"
             " either.",
             "Check the address or the id."),
        Kind("method-not-allowed", 405, "That cannot be done here",
             "The thing exists and takes other methods, named in the Allow header.",
             "Use one of the methods named in Allow."),
        Kind("not-acceptable", 406, "No such form of it",
             "What was asked for in the Accept header cannot be given.",
             "Accept application/json, or a form that the interface names for this address."),
        Kind("conflict", 409, "What is recorded stands against it",
             "The request is well formed, but the state of things bars it.",
             "The detail says what bars it."),
        Kind("short", 409, "Not enough kit",
             "At some instant of the window there would be less than was asked for, or no piece is"
             " free throughout. Nothing was booked. `short` says when, by how many and who has the"
             " kit; `options` holds whole bookings that fit.",
             "Post the body of one of the options, or ask for another window."),
        Kind("behind-pencil", 409, "Only a pencil stands in the way",
             "There is enough beside what is confirmed, but not beside earlier pencils of others.",
             "Pencil behind them, take an option, or ask the coordinator to decide."),
        Kind("undecided", 409, "Not decided in time",
             "Whether the same pieces could serve everybody was not found within the search's"
             " limit. What is not proven is not promised.",
             "Take one of the options, or name fewer pieces."),
        Kind("shown-once", 409, "A secret is shown once",
             "The same request came before and made it; its secret is not kept and cannot be"
             " shown again.",
             "End what was made and make another, with a new key."),
        Kind("stale", 412, "It has changed meanwhile",
             "Somebody changed the thing after you read it, so If-Match does not hold.",
             "Read it again and make the change on what stands there now."),
        Kind("too-large", 413, "Too much at once",
             "The body is larger than this address takes.",
             "Send less, or in parts."),
        Kind("wrong-media-type", 415, "Not a form that is read here",
             "The Content-Type is not one that this address reads.",
             "Send application/json, or the type that the interface names for this address."),
        Kind("invalid", 422, "Some values do not hold",
             "The request can be read, but values in it break a rule. Nothing was changed."
             " `errors` names each with a JSON pointer and a sentence.",
             "Mend each value that `errors` names."),
        Kind("key-reused", 422, "The key came before with another body",
             "An Idempotency-Key belongs to one request; this one came with another body.",
             "Make a new key for a new request."),
        Kind("no-if-match", 428, "If-Match is missing",
             "A change names the version it was made on, so that nobody's change is lost.",
             "Try using If-Match with the ETag that came with the thing."),
        Kind("too-many-tries", 429, "Too many tries",
             "Sign-in failed too often for this name or from this address.",
             "Wait as long as Retry-After says."),
        Kind("http", 400, "The request cannot be served",
             "The request is not one that this service serves.",
             "The detail says why."),
        Kind("failed", 500, "The service failed",
             "Something went wrong inside the service. Nothing was changed.",
             "Try again; if it stays, tell whoever runs the service the request id."),
        Kind("unavailable", 503, "The database did not answer",
             "The database could not be reached or was busy for too long. Nothing was changed.",
             "Try again in a few seconds with the same Idempotency-Key."),
    )
}  # fmt: skip
