// Out and back as events: what was scanned, where it goes, and in what condition. Pure.

/** What an answer of GET /scan is: "item", "box" or "kit". */
export function scanKind(found) {
  if (found.item) return "item";
  return found.box ? "box" : "kit";
}

/** The pieces of a whole box, as a custody event takes them. */
export function piecesOfBox(box) {
  return [
    ...box.items.map((item) => ({ tag: item.tag })),
    ...box.counts.map((count) => ({ kit_type_id: count.kit_type_id, quantity: count.quantity })),
  ];
}

/**
 * The body of POST /custody-events. `choice`: { mode, booking, unit, person, condition, words };
 * the booking wins over the unit. `anyway` records what would otherwise be refused.
 */
export function custodyEvent({ key, at, pieces, choice, anyway = false }) {
  const event = { key, happened_at: at, pieces, kind: choice.mode };
  if (choice.mode === "out") {
    if (choice.booking) event.booking_id = choice.booking;
    else event.unit_id = choice.unit;
    if (choice.person) event.person = choice.person;
  } else {
    event.condition = choice.condition;
    if (choice.words && choice.condition !== "fit") event.words = choice.words;
  }
  if (anyway) event.anyway = true;
  return event;
}

/** "PL01 Pack, 470 to 548 MHz", "16 × AA, rechargeable": what was moved, in words. */
export function movedText(moved, of) {
  if (moved.length > 3) return `${moved.reduce((sum, one) => sum + one.quantity, 0)} pieces`;
  return moved.map((one) => (one.tag ? `${one.tag} ${one.kit_type}` : of(one.quantity, one.kit_type))).join(", ");
}
