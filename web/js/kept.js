// What could not be sent waits on this phone, with the key it was pressed with, until somebody
// sends it again or throws it away. It is never sent by itself: hours later it may be wrong.

const PLACE = "crossload-kept";

/** Everything kept, oldest first: { key, path, text, kept_at, body? (what was sent), intent? (an ask) }. */
export function keptAsks() {
  try {
    return JSON.parse(localStorage.getItem(PLACE)) ?? [];
  } catch {
    return [];
  }
}

/** Keeps one; the same key again replaces it. False when this browser keeps nothing. */
export function keep(ask) {
  return store([...keptAsks().filter((kept) => kept.key !== ask.key), ask]);
}

export function dropKept(key) {
  return store(keptAsks().filter((kept) => kept.key !== key));
}

function store(asks) {
  try {
    localStorage.setItem(PLACE, JSON.stringify(asks));
    dispatchEvent(new Event("kept"));
    return true;
  } catch {
    return false;
  }
}
