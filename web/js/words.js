// The words of the first page and of what stands round every page; all others stand in all_words.js,
// which a first page on a phone does without. Functions hold the plurals.

/** A number with its noun: 1 piece, 2 pieces, 1,000 pieces. */
export const many = (one, more) => (n) => `${n.toLocaleString("en-GB")} ${n === 1 ? one : more}`;
const ORDINALS = ["first", "second", "third", "fourth", "fifth"];

const and = (list) =>
  list.length < 2 ? list.join("") : `${list.slice(0, -1).join(", ")} and ${list.at(-1)}`;
const sentences = (list) => list.filter(Boolean).join(" ");
const sentence = (text) => `${text.charAt(0).toUpperCase()}${text.slice(1)}${/[.?]$/.test(text) ? "" : "."}`;
const dotted = (list) => list.filter(Boolean).join(" · ");
const of = (quantity, name) => `${quantity} × ${name}`;
const unit = (name) => (/unit/i.test(name) ? name : `${name} unit`);
const ordinal = (place) => ORDINALS[place - 1] ?? `${place}th`;

const radios = many("radio", "radios");
const ways = many("way", "ways");
const pieces = many("piece", "pieces");
const lines = many("line", "lines");
const days = many("day", "days");

export const words = {
  and, sentences, dotted, of, unit, ordinal, radios, ways, pieces, lines, days,
  more: (n) => `${n} more`,
  capital: (text) => text.charAt(0).toUpperCase() + text.slice(1),

  time: {
    weekdays: ["Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"],
    months: ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"],
    long: {
      weekdays: ["Sunday", "Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday"],
      months: ["January", "February", "March", "April", "May", "June", "July", "August",
        "September", "October", "November", "December"],
    },
    forever: "until further notice",
    on: (from) => `from ${from}, until further notice`,
    to: (from, to) => `${from} to ${to}`,
    until: (moment) => (moment === "until further notice" ? moment : `until ${moment}`),
    minutes: (n) => `${n} min`,
    hours: (n) => `${n} h`,
    exactly: (s) => [s >= 3600 && `${Math.floor(s / 3600)} h`, s % 3600 >= 60 && `${Math.floor((s % 3600) / 60)} min`].filter(Boolean).join(" ") || "1 min",
    days,
    dayNumber: (n) => `D${n}`,
  },

  problem: {
    title: (status) => `The service answered ${status}`,
    /** Nothing came back: without a network, or with one. */
    unheard: (online = navigator.onLine) => (online
      ? { title: "The service does not answer", detail: "There is a network, but the service does not answer. Try again in a minute, or ring the coordinator." }
      : { title: "No signal", detail: "Nothing was sent. Try again where there is signal." }),
    other: (problem) => sentences([
      sentence(problem.detail || problem.title),
      ...(problem.errors ?? []).map((error) => error.detail).filter((text) => text !== problem.detail).map(sentence),
      problem.request_id && !problem.detail ? `Request ${problem.request_id}.` : "",
    ]),
    stale: "Somebody changed this meanwhile. It is shown afresh: press again if it still holds.",
  },

  forms: {
    wholeNumber: "Give a whole number.",
    between: (least, most) => `Give a number from ${least} to ${most}.`,
    missing: (name) => `Give ${name}.`,
    tooLong: (name, most) => `Shorten ${name} to ${most} characters.`,
    day: "Give a day as 2026-11-26.",
    time: "Give a time as 06:00.",
  },

  bar: {
    whose: (productions, pool) => dotted([and(productions), productions.length ? `pool at ${pool.name}` : pool.name]),
    account: (account) => `${account.name}, ${account.role}`,
    reader: (name) => `${name}, read-only link`,
    asOf: (time) => `as of ${time}`,
    unheard: (time, online = navigator.onLine) => `${online ? "no answer" : "no signal"} · as of ${time}`,
    night: "Night",
    day: "Day",
    lightHint: { night: "Show the page for night", day: "Show the page for day" },
    title: (page) => `${page} · crossload`,
    waits: (n) => `${n === 1 ? "1 thing waits" : `${n} things wait`} on this phone, not sent yet.`,
    seeWaiting: "See what waits",
    mine: "Mine",
    allBookings: "Bookings",
    signIn: "Sign in",
  },

  strip: {
    late: (n) => `${n} late`,
    clashes: many("clash", "clashes"),
    atRisk: (n) => `${n} at risk`,
    working: (names) => (names.length ? `${and(names)} working` : "nobody works"),
    days: "Days",
    earlier: "Earlier days",
    later: "Later days",
    today: "today",
  },

  now: {
    title: "Now",
    decide: (n) => (n ? `To decide · ${n}` : "To decide"),
    nothingToDecide: "Nothing waits for an answer.",
    goingOut: "Going out",
    comingBack: "Coming back",
    reminders: "Reminders",
    onOtherDays: (n, here) => `${n} ${here ? "more " : ""}on other days`,
    begins: (moment) => `from ${moment}`,
    promised: (moment) => `promised ${moment}`,
    expected: (moment) => `expected ${moment}`,
    toGo: "to go out",
    past: "That day is past: it shows no more here.",
    nothingOut: "Nothing goes out.",
    nothingBack: "Nothing comes back.",
    noReminders: "Nothing is due.",
    counts: ({ out, overdue, due_today: due }) => dotted([
      `${out} out`, overdue ? `${overdue} late` : "", due ? `${due} due today` : "",
    ]),
    daysLink: "Free, day by day",
    outRow: (row) => `${row.unit} · ${lines(row.lines)}, ${pieces(row.pieces)}`,
    boxes: (boxes) => `${boxes.length === 1 ? "box" : "boxes"} ${and(boxes)}`,
    states: { prepare: "prepare", part_out: "part out", out: "out" },
    kit: (kit) => (kit.length > 2
      ? `${kit.slice(0, 2).map((line) => of(line.quantity, line.kit_type)).join(", ")} and ${kit.length - 2} more`
      : and(kit.map((line) => of(line.quantity, line.kit_type)))),
    backRow: (row) => [row.unit, row.person].filter(Boolean).join(" · "),
    late: "late",
    out: "out",
    more: (n) => `and ${n} more`,
  },

  decide: {
    frames: { clash: "clash", behind: "behind a pencil", at_risk: (n) => `short ${n}`, overdue: (late) => `late ${late}` },
    clash: (d, span) => `${d.unit} pencilled ${of(d.quantity, d.kit_type)}, ${span}`,
    clashReason: (left, of_) => `When all that is ahead of it is kept, it gets ${left || "none"} of its ${of_}.`,
    atRisk: (d, span) => `${d.unit} lacks ${of(d.short_by, d.kit_type)}, ${span}`,
    atRiskReason: (d) => `${d.quantity} confirmed, ${d.short_by} of them not there.`,
    overdue: (d) => `${d.quantity > 1 ? of(d.quantity, d.kit_type) : d.kit_type}${d.tags.length ? ` ${and(d.tags)}` : ""}, still with ${d.unit ?? "somebody"}`,
    due: (moment) => `Due ${moment}.`,
    promisedFor: (moment) => `Promised ${moment}.`,
    promiseBroken: (moment) => `Promised ${moment}, and not back.`,
    has: (person) => `${person} has it.`,
    decides: (name) => `${name} or the coordinator decides.`,
    confirm: (n) => `Confirm ${n}`,
    confirmOver: "Confirm over the pencil",
    release: "Release it",
    who: "Who holds it",
    works: "What would work",
    looking: "Looking",
    nothingWorks: "Nothing in the pool can stand in. Sub-hire, or go without.",
    changeTo: (parts, rest) => `Change to ${parts.join(" + ")}${rest ? "; the rest stays" : ""}`, // names hold commas
    straight: (texts) => `Take ${texts.join("; ")}`,
    takeOff: (parts) => `Take off ${parts.join(" + ")}`,
    otherPieces: (n) => (n === 1 ? "Change to another piece" : `Change to ${n} other pieces`),
    goWithout: (n, name) => `Go without ${of(n, name)}`,
    changedAndConfirmed: "Changed and confirmed.",
    promise: "They promise it for…",
    promiseDay: "day",
    promiseTime: "time",
    notePromise: "Note it",
    promised: "Noted.",
    back: "It is back",
    open: "Open the booking",
  },

  holder: {
    somebody: "Somebody",
    pencilled: (h, until) => `${h.unit ?? "Somebody"} has a ${h.place ? `${ordinal(h.place)} ` : ""}pencil on ${h.quantity}${until ? `, lapses ${until}` : ""}.`,
    confirmed: (h, until) => `${h.unit ?? "Somebody"} holds ${h.quantity} (confirmed) ${until}${h.idle ? `, ${h.idle} of them idle` : ""}.`,
    out: (h, until) => `${h.unit ?? h.person ?? "Somebody"} has ${h.quantity} out, ${until}${h.idle ? `, ${h.idle} of them idle` : ""}.`,
    overdue: (h, due) => `${h.unit ?? h.person ?? "Somebody"} still has ${h.out || h.quantity}, due ${due}.`,
    outOfService: (h, until) => `${h.quantity} out of service ${until}.`,
    own: {
      pencilled: (h, until) => `You have a ${h.place ? `${ordinal(h.place)} ` : ""}pencil on ${h.quantity}${until ? `, lapses ${until}` : ""}.`,
      confirmed: (h, until) => `You hold ${h.quantity} ${until}${h.idle ? `, ${h.idle} of them idle` : ""}.`,
      out: (h, until) => `You have ${h.quantity} out, ${until}${h.idle ? `, ${h.idle} of them idle` : ""}.`,
      overdue: (h, due) => `You still have ${h.out || h.quantity}, due ${due}.`,
    },
    more: (n) => (n === 1 ? "One more holds some." : `${n} more hold some.`),
    idle: (n) => `${n} idle`,
    lapses: (moment) => `lapses ${moment}`,
    states: { confirmed: "confirmed", pencilled: "pencilled", out_of_service: "out of service", out: "out", overdue: "late" },
    place: (place) => `${ordinal(place)} pencil`,
    call: (person) => `Call ${person.split(" ")[0]}`,
    callNumber: "Call",
  },

  reminder: {
    titles: {
      return_due: {
        ahead: (what, unit) => `${unit}: ${what} due back`,
        due: (what, unit) => `${unit}: bring back ${what}`,
        late: (what, unit) => `${unit}: ${what} not back`,
        escalated: (what, unit) => `${unit}: ${what} still not back`,
      },
      charge: (what, unit) => `${unit ? `${unit}: ` : ""}put ${what} on charge`,
      prepare: (what, unit) => `Prepare ${what}${unit ? ` for ${unit}` : ""}`,
      service_ending: (what) => `${words.capital(what)}: out of service ends`,
      reorder: (what) => `Reorder ${what}`,
    },
    kit: "the kit",
    straight: (what, unit) => `${what} of it straight to ${unit}`,
    at: (moment) => `by ${moment}`,
    to: { house: "for the house", unit: "for the unit's assistant" },
    tags: (tags) => (tags.length > 4 ? `${tags.slice(0, 4).join(", ")} and ${tags.length - 4} more` : and(tags)),
    seen: "Seen",
    done: "Done",
    seenState: "seen",
    doneState: "done",
    frames: { info: "ahead", soon: "due", late: "late" },
    answered: { seen: "Marked as seen.", done: "Marked as done." },
  },

  nowhere: { title: "Nothing here", body: "There is no such page. Use the places at the edge of the screen." },
  loading: "Loading",
  again: "Try again",
};
