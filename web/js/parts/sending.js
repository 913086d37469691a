// Sends an ask: what was pressed, and nothing else. Lines that were proposed for another number are
// proposed afresh first; what gets no answer is the caller's to keep.

import { create, read } from "../api.js";
import { bodyOf, isFresh, proposalPath, withProposal } from "../ask_model.js";

/** What the service decided: not to be sent again as it is. Anything else may still be answered. */
const ANSWERED = [400, 403, 404, 409, 422];
export const isAnswered = (result) => result.ok || ANSWERED.includes(result.status);

/**
 * `asked`: { key, path, text, intent?, body?, then? }. Without a body, the lines are made from a
 * fresh proposal for `intent`. `then` is a second ask, made once the first is granted.
 * Returns { asked, result, second }: `asked` as it was sent, to be kept if no answer came.
 */
export async function sendAsk(asked) {
  const { made, result: unread } = asked.body ? { made: asked } : await withLines(asked);
  if (unread) return { asked, result: unread, second: null };
  const result = await create(made.path, made.body, made.key);
  if (!result.ok || !made.then) return { asked: made, result, second: null };
  return { asked: made, result, second: await create(made.then.path, made.then.body, made.then.key) };
}

async function withLines(asked) {
  let { intent } = asked;
  for (let tries = 0; tries < 2 && (tries === 0 || !isFresh(intent)); tries += 1) { // a call that moved is read again
    const proposal = await read(proposalPath(intent));
    if (!proposal.ok) return { result: proposal };
    intent = withProposal(intent, proposal.body);
  }
  return { made: { ...asked, intent, body: bodyOf(intent) } };
}
